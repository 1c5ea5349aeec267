"""Each option of `event` writes the word or the column that it stands for."""

import pytest

from bubblerate.diary.reading import read

from scenes import EXAMPLES


@pytest.fixture
def shelf(tmp_path):
    (tmp_path / "quince.csv").write_bytes((EXAMPLES / "quince.csv").read_bytes())
    return tmp_path


@pytest.mark.parametrize(
    ("words", "event", "cells"),
    [
        ("topped-up --with wine --added 0.3", "topped-up", {"added_l": 0.3}),
        ("topped-up --with juice --added 300ml", "fed", {"added_l": 0.3}),
        ("topped-up --with water", "diluted", {}),
        ("fed --sugar 50g", "fed", {"sugar_g": 50.0}),
        ("fed --with starter", "starter", {}),
        ("moved --to cold", "chilled", {}),
        ("moved --to warm", "warmed", {}),
        ("airlock --tight", "bung-tight", {}),
        ("airlock --leaked", "bung-leaked", {}),
        ("fined --two-part", "fined-two-part", {}),
        ("bottled --bottles 5x75cl --closure cork", "bottled",
         {"bottles": "5x75", "closure": "cork"}),
        ("bottled --sparkling --sugar 30g --closure crown", "bottled-sparkling",
         {"sugar_g": 30.0, "closure": "crown"}),
        ("opened --all", "poured-back", {}),
    ],
)  # fmt: skip
def test_an_option_writes_a_word_of_the_diary(run, shelf, words, event, cells):
    at = ("--when", "2026-11-15T21:00", "--shelf", str(shelf))
    said = run("event", "quince", *words.split(), *at)
    assert said.code == 0
    row = read(shelf / "quince.csv").live[-1]
    assert row.event == event
    names = ("added_l", "sugar_g", "bottles", "closure")
    assert {n: getattr(row, n) for n in names if getattr(row, n)} == cells


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("racked --to cold", "write moved --to cold or moved --to warm"),
        ("topped-up --with starter", "write topped-up --with wine or"),
        ("racked --added 0.3", "--added goes with"),
        ("bottled --bottles many", "as bottles"),
        ("bottled --closure glue", "no closure"),
    ],
)
def test_an_option_that_does_not_go_with_the_event_writes_nothing(run, shelf, words, message):
    before = (shelf / "quince.csv").read_bytes()
    said = run("event", "quince", *words.split(), "--shelf", str(shelf))
    assert (said.code, said.err.count("\n")) == (2, 1)
    assert message in said.err
    assert (shelf / "quince.csv").read_bytes() == before


def test_bottling_a_wine_at_work_is_written_and_said_to_burst(run, shelf):
    (shelf / "jam.csv").write_text(
        "when,bubbles,seconds,sg,event\n2026-10-01T21:00,,,1.085,pitched\n"
        "2026-10-04T21:00,40,60,,\n2026-10-05T21:00,38,60,,\n"
    )
    at = ("--when", "2026-10-06T21:00", "--shelf", str(shelf))
    said = run("event", "jam", "bottled", "--bottles", "6x75cl", *at)
    assert said.code == 0
    assert "bottles will burst" in said.err
    assert read(shelf / "jam.csv").live[-1].event == "bottled"
