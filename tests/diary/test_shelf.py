"""The application under the command line: what it gives back, and what it refuses."""

from datetime import timedelta
from pathlib import Path

import pytest

from bubblerate.diary.places import diary_path, shelf_folder
from bubblerate.diary.reading import read
from bubblerate.diary.shelf import placed, shelf_at
from bubblerate.diary.visit import Visit
from bubblerate.errors import ConfigError, DiaryError, InputError

from scenes import evening, written

NOW = evening(3)
COUNT = Visit(when=NOW, bubbles=12, seconds=90.0)


@pytest.fixture
def shelf(tmp_path):
    written(tmp_path / "fig.csv", {"day": 0, "event": "pitched"}, {"day": 2, "bubbles": 9})
    return shelf_at(tmp_path)


def test_a_shelf_knows_its_jars_by_name_and_by_file(shelf):
    assert shelf.names() == ("fig",)
    assert shelf.path("fig") == shelf.path("fig.csv") == shelf.folder / "fig.csv"
    assert (shelf.has("fig"), shelf.has("plum")) == (True, False)


def test_a_row_comes_back_as_it_was_written_with_its_line(shelf):
    before = shelf.path("fig").read_bytes()
    found = shelf.write("fig", COUNT, now=NOW)
    assert (found.line, found.visit, found.doubts, found.warnings) == (4, COUNT, (), ())
    assert shelf.path("fig").read_bytes().startswith(before)
    assert shelf.open("fig").diary.visits[-1].bubbles == 12


@pytest.mark.parametrize(
    ("visit", "code"),
    [
        (Visit(when=NOW + timedelta(days=1), bubbles=9), "when"),
        (Visit(when=NOW, bubbles=900), "count"),
        (Visit(when=NOW, sg=1.3), "gravity"),
    ],
)
def test_a_doubt_carries_the_part_of_the_row_it_asks_about(shelf, visit, code):
    assert [doubt.code for doubt in shelf.write("fig", visit, now=NOW).doubts] == [code]


@pytest.mark.parametrize("fault", ["diary", "settings"])
def test_a_fault_further_up_is_a_warning_and_costs_no_row(shelf, fault):
    if fault == "diary":
        with shelf.path("fig").open("a") as file:
            file.write("2026-10-03T21:00:00+00:00,a few,,,,,,,,,\n")
    else:
        (shelf.folder / "bubblerate.toml").write_text("finish = [\n")
    found = shelf_at(shelf.folder).write("fig", COUNT, now=NOW)
    assert [warning.code for warning in found.warnings] == ["fault"]
    assert ",12,90," in shelf.path("fig").read_text().splitlines()[found.line - 1]


def test_bad_settings_stop_an_answer(shelf):
    (shelf.folder / "bubblerate.toml").write_text("finish = [\n")
    with pytest.raises(ConfigError, match="is not valid TOML"):
        shelf_at(shelf.folder).open("fig")


def test_a_diary_open_in_another_program_is_a_warning_of_every_writer(shelf):
    shelf.path("fig").with_name(".~lock.fig.csv#").touch()
    held = read(shelf.path("fig")).visits
    for found in (
        shelf.extend("fig", [COUNT], held=held),
        shelf.write("fig", COUNT, now=NOW),
        shelf.strike("fig", [3], at=NOW),
    ):
        assert [warning.code for warning in found.warnings] == ["open-elsewhere"]


def test_a_copy_is_told_of_when_either_is_opened(shelf):
    (shelf.folder / "fig 2.csv").write_bytes(shelf.path("fig").read_bytes())
    for name in ("fig", "fig 2"):
        assert [warning.code for warning in shelf.open(name).warnings] == ["copy"]
    assert len(shelf.told()) == 1


def test_several_rows_are_struck_or_none(shelf):
    before = shelf.path("fig").read_bytes()
    with pytest.raises(DiaryError, match=r"fig\.csv:9: no row starts"):
        shelf.strike("fig", [2, 3, 9], at=NOW)
    assert shelf.path("fig").read_bytes() == before
    assert [visit.line for visit in shelf.strike("fig", [3, 2, 3], at=NOW).visits] == [2, 3]
    assert not shelf.open("fig").diary.live


def test_a_jar_is_begun_once_and_never_beside_its_twin(shelf):
    first = Visit(when=NOW, event="pitched", litres=4.5)
    assert shelf.begin("plum", first, now=NOW).line == 2
    with pytest.raises(DiaryError, match="already exists"):
        shelf.begin("plum", first, now=NOW)
    with pytest.raises(InputError, match="there is already a diary plum"):
        shelf.begin("Plum", first, now=NOW)
    with pytest.raises(InputError, match="name of a device"):
        shelf.begin("nul", first, now=NOW)
    assert shelf.names() == ("fig", "plum")


def test_no_jar_is_written_that_was_not_begun(shelf):
    for act in (
        lambda: shelf.open("figg"),
        lambda: shelf.write("figg", COUNT, now=NOW),
        lambda: shelf.strike("figg", [2], at=NOW),
        lambda: shelf.moment("figg", "day 3", now=NOW),
    ):
        with pytest.raises(InputError, match=r"did you mean fig\?"):
            act()
    assert shelf.names() == ("fig",)


def test_days_are_counted_from_pitching_and_nothing_said_is_now(shelf):
    assert shelf.moment("fig", None, now=NOW).when == NOW
    found = shelf.moment("fig", "day 2.5", now=NOW)
    assert (found.when, found.day_0) == (evening(2.5), evening(0))
    assert shelf.moment("fig", "2026-10-02T20:00Z", now=NOW).day_0 is None


def test_a_diary_of_days_takes_the_day_that_was_said(shelf):
    path = shelf.folder / "sloe.csv"
    path.write_text("day,bubbles\n0,12\n1,11\n")
    with pytest.raises(DiaryError, match="counts days"):
        shelf.write("sloe", COUNT, now=NOW)
    found = shelf.moment("sloe", "day 2.25", now=NOW)
    visit = Visit(when=found.when, bubbles=9)
    assert shelf.write("sloe", visit, now=found.when, day_0=found.day_0).line == 4
    assert path.read_text().splitlines()[-1] == "2.25,9"


def test_the_round_visits_what_is_not_bottled_even_if_it_cannot_be_read(shelf):
    written(shelf.folder / "apple.csv", {"day": 0, "bubbles": 3}, {"day": 1, "event": "bottled"})
    (shelf.folder / "odd.csv").write_text("when,bubbles\n2026-10-01,a few\n")
    (shelf.folder / "bubblerate.toml").write_text("finish = [\n")
    assert [one.vessel for one in shelf_at(shelf.folder).unbottled()] == ["fig", "odd"]


def test_a_path_is_a_shelf_of_its_own_whatever_its_capitals(tmp_path):
    path = tmp_path / "FIG.CSV"
    found, name = placed(str(path), None)
    assert (found.folder, found.path(name)) == (tmp_path, path)
    found, name = placed("fig", tmp_path)
    assert (found.folder, name) == (tmp_path, "fig")


def test_a_shelf_that_is_a_file_or_a_name_that_is_none_is_refused(tmp_path):
    (tmp_path / "file").touch()
    with pytest.raises(InputError, match="is a file; a shelf is the folder"):
        shelf_folder(tmp_path / "file")
    with pytest.raises(InputError, match=r"or give a path ending in \.csv"):
        diary_path("a/b", tmp_path)
    with pytest.raises(InputError, match="no such home folder"):
        diary_path("~nobody-of-this-name/fig.csv", None)
    assert diary_path("fig", tmp_path) == tmp_path / "fig.csv"
    assert shelf_folder(Path(tmp_path)) == tmp_path
