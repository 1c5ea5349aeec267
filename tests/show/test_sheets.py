"""The sheet of a jar, the list for the wall, the sheet of a bottling evening."""

from datetime import date

import pytest

from bubblerate.course.bottling_day import bottling_day
from bubblerate.course.figures import figures
from bubblerate.course.judgement import judge
from bubblerate.diary.settings import Settings, VesselSettings
from bubblerate.show.blocks import Grid, paper_text
from bubblerate.show.bottling_text import bottling_sheet
from bubblerate.show.sheets import evening_sheet, wall_list

from kept import Kept, event
from scenes import diary, evening


def jar(vessel="plum", *more, day=128.2):
    rows = sorted([*Kept().rows, *more], key=lambda row: row["day"])
    said = Settings(vessels={vessel: VesselSettings(finish=0.996, style="plum wine", ph=3.4)})
    judged = judge(diary(*rows, vessel=vessel), at=evening(day), settings=said)
    return judged, figures(judged, settings=said)


def test_the_evening_sheet_has_the_jar_this_week_and_21_lines():
    paper = evening_sheet(*jar())
    text = paper_text(paper, width=92)
    assert "plum wine, started 1 Oct 2026, 4.5 L" in text
    assert "This week" in text
    assert "a guess does" in text
    (grid,) = (block for block in paper.blocks if isinstance(block, Grid))
    assert len(grid.rows) == 21
    assert grid.head == ("day", "time", "bubbles", "over", "C", "gravity", "done or seen")


def test_the_wall_list_has_every_jar_with_what_is_next():
    judged = [jar(name)[0] for name in ("plum", "damson")]
    paper = wall_list(judged, date(2027, 2, 6), unread=["fig.csv: cannot be read"])
    text = paper_text(paper, width=92)
    assert "All jars, 6 Feb 2027" in text
    assert "plum    clear  today  bottle  squeeze the bottle, 13 Feb" in text
    assert "fig.csv: cannot be read" in text


def sheet(*jars, closure="cork", filtered=False):
    day = bottling_day(jars, size_cl=75, filtered=filtered)
    return paper_text(bottling_sheet(day, closure=closure, title="Bottling"), width=92)


def test_the_bottling_sheet_goes_from_the_torch_to_the_row_that_is_written():
    text = sheet(jar(), jar("damson"), filtered=True)
    parts = ["First, for each jar", "Have ready", "Clean", "Filter", "Sulphite", "Fill and close"]
    places = [text.index(part) for part in [*parts, "After"]]
    assert places == sorted(places)
    flat = " ".join(text.split())
    assert "Read the gravity of plum: stop if it is above 0.995." in flat
    assert "Run a jar of clean water through the pad first" in flat
    assert "mg/L free at pH 3.4" in flat
    assert "never mix bleach" in flat
    assert "stand 3 to 5 days" in flat
    assert "Write: bubblerate event plum bottled --bottles 6x75cl --closure cork" in flat


@pytest.mark.parametrize(
    ("closure", "there", "gone"),
    [("cap", "new screw caps", "3 to 5 days"), ("tapered", "early drinking", "lay them down")],
)
def test_each_closure_is_handled_in_its_own_way(closure, there, gone):
    flat = " ".join(sheet(jar(), closure=closure).split())
    assert there in flat
    assert gone not in flat


def test_a_jar_that_must_wait_has_a_bar_across_and_no_row_to_write():
    text = sheet(jar("plum", event(28.1, "cloudy")))
    assert "! Not tonight: " in text
    assert "bottled --bottles" not in text
