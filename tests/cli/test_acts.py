"""Each option of `event` writes the word or the column that it stands for."""

import pytest

from bubblerate.diary.reading import read

from kept import Kept
from kept import event as on
from scenes import EXAMPLES, evening, written


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
        ("opened --size 37.5cl", "opened", {"bottles": "1x37.5"}),
        ("opened --bottles 2x75cl", "opened", {"bottles": "2x75"}),
        ("sulphited --sulphite 440mg", "sulphited", {"sulphite_g": 0.44}),
        ("stabilised --sulphite 0.5tablet --sorbate 1g", "stabilised",
         {"sulphite_g": 0.22, "sorbate_g": 1.0}),
        ("fined --two-part --finings 2.5ml", "fined-two-part", {"finings_amount": "2.5ml"}),
    ],
)  # fmt: skip
def test_an_option_writes_a_word_of_the_diary(run, shelf, words, event, cells):
    at = ("--when", "2026-11-15T21:00", "--shelf", str(shelf))
    said = run("event", "quince", *words.split(), *at)
    assert said.code == 0
    row = read(shelf / "quince.csv").live[-1]
    assert row.event == event
    names = (
        *("added_l", "sugar_g", "bottles", "closure", "sulphite_g", "sorbate_g", "finings_amount"),
    )
    assert {n: getattr(row, n) for n in names if getattr(row, n)} == cells


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("racked --to cold", "write moved --to cold or moved --to warm"),
        ("topped-up --with starter", "write topped-up --with wine or"),
        ("racked --added 0.3", "--added goes with"),
        ("bottled --bottles many", "as bottles"),
        ("bottled --closure glue", "no closure"),
        ("opened --size big", "write 75cl or 37.5cl"),
        ("racked --size 75cl", "--size goes with opened"),
        ("sulphited --sulphite 1", 'write "1g" or "1 tablet"'),
        ("racked --sulphite 1g", "--sulphite goes with"),
        ("sulphited --sorbate 1g", "--sorbate goes with stabilised"),
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


@pytest.fixture
def two_sizes(run, shelf):
    at = ("--shelf", str(shelf), "--when")
    run("event", "quince", "bottled", "--bottles", "5x75cl + 1x37.5cl", *at, "2026-11-15T21:00")
    return lambda *words: run("event", "quince", "opened", *words, *at, "2027-11-15T21:00")


def test_where_two_sizes_lie_the_size_of_an_opened_bottle_is_asked(two_sizes, shelf):
    said = two_sizes()
    assert said.code == 0
    assert (
        "Bottles of 75 cl and 37.5 cl lie there: strike it, and write it again with its size."
        in " ".join(said.err.split())
    )
    said = two_sizes("--size", "37,5 cl")
    assert "4 bottles left: 5 of 75 cl, less 1" not in said.out
    assert "4 bottles left" in said.out
    assert "lie there" not in said.err
    assert "There are only bottles of 75 cl left." in two_sizes("--size", "37.5cl").err


def test_a_person_at_a_terminal_is_asked_before_the_row_is_written(two_sizes, shelf, monkeypatch):
    monkeypatch.setattr("bubblerate.cli.acts.is_terminal", lambda: True)
    answers = iter(["small\n", "37,5 cl\n"])
    monkeypatch.setattr("sys.stdin.readline", lambda _: next(answers))
    said = two_sizes()
    assert said.out.count("Which size was it, in cl? [75/37.5]") == 2
    assert read(shelf / "quince.csv").live[-1].bottles == "1x37.5"
    assert "5 bottles left: 5 of 75 cl." in said.out
    assert "Which size" not in two_sizes().out  # one size is left


def test_a_topping_up_without_a_volume_is_asked_about_with_lines_that_work(run, shelf):
    at = ("--when", "2026-11-15T21:00", "--shelf", str(shelf))
    assert "How much" not in run("event", "quince", "topped-up", "--added", "0.2", *at).err
    assert "How much" not in run("event", "quince", "topped-up", "--litres", "4.5", *at).err
    said = run("event", "quince", "topped-up", *at)
    assert said.code == 0
    asked, *lines = said.err.splitlines()
    assert "How much did you add?" in asked
    strike, again = (line.partition(": bubblerate ")[2] for line in lines)  # each can be pasted
    assert run(*strike.split()).code == 0
    assert run(*again.split()).code == 0
    row = read(shelf / "quince.csv").live[-1]
    assert (row.event, row.added_l, f"{row.when:%d %H:%M}") == ("topped-up", 0.2, "15 21:00")


def test_at_a_terminal_the_volume_of_a_topping_up_is_asked_first(run, shelf, monkeypatch):
    monkeypatch.setattr("bubblerate.cli.acts.is_terminal", lambda: True)
    answers = iter(["0,2\n", "\n", "lots\n"])
    monkeypatch.setattr("sys.stdin.readline", lambda _: next(answers))
    top_up = ("event", "quince", "topped-up", "--when", "2026-11-15T21:00", "--shelf", str(shelf))
    assert "How much did you add, in litres?" in run(*top_up).out
    assert read(shelf / "quince.csv").live[-1].added_l == 0.2
    assert "Until you say" in run(*top_up).err
    before = (shelf / "quince.csv").read_bytes()
    said = run(*top_up)
    assert said.code == 2
    assert 'cannot read "lots"' in said.err
    assert (shelf / "quince.csv").read_bytes() == before


def test_when_a_bottle_gushed_it_says_at_once_what_to_do_with_the_others(run, shelf):
    at = ("--when", "2026-11-15T21:00", "--shelf", str(shelf))
    run("event", "quince", "bottled", "--bottles", "5x75cl", *at)
    assert "STOP: the other bottles may burst too." in run("event", "quince", "gushed", *at).err


def test_a_bottle_that_gushed_warns_of_a_jar_split_from_its_wine(run, shelf):
    run("start", "plum", "--sg", "1.085", "--litres", "10", "--when", "2026-05-01")
    run("split", "plum", "--into", "plum-b", "--litres", "4.5", "--when", "2026-06-10")
    run("event", "plum-b", "bottled", "--when", "2026-10-01")
    said = run("event", "plum-b", "gushed", "--when", "2026-10-20").err
    assert "plum holds the same wine: do not bottle it, and chill any bottles of it" in said


def test_bottles_in_doubt_are_so_on_every_paper(run, shelf):
    part = on(28.5, "bottled", bottles="2x75", closure="cork", litres=2.6)
    path = written(shelf / "fig.csv", *Kept().rows, part, on(32, "prickle"))
    at = ("--at", evening(133).isoformat())
    shown = run("label", str(path), *at).out
    assert "In doubt: it may burst." in " ".join(shown.split())
    assert "Drink from" not in shown
    cellar = run("cellar", *at, "--shelf", str(shelf)).out
    assert "chill" in cellar
    assert str(evening(133).year + 1) not in cellar
    more = ("--bottles", "1x75cl", "--litres", "1.6", "--when", evening(133).isoformat())
    said = run("event", str(path), "bottled", *more).out
    assert "In doubt: chill the bottles already filled" in said
    assert "Drink from" not in said
