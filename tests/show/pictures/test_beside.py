"""Pictures that compare ferments."""

import pytest
from matplotlib.figure import Figure

from bubblerate.course.figures import figures
from bubblerate.course.judgement import judge
from bubblerate.course.season import season
from bubblerate.diary.settings import Settings
from bubblerate.show.beside_text import beside_text
from bubblerate.show.pictures.beside import plot_beside

from kept import Kept
from scenes import diary, evening


def laid(vessel, by="pitching", day=128.2):
    judged = judge(diary(*Kept().rows, vessel=vessel), at=evening(day), settings=Settings())
    return season(judged, figures(judged, settings=Settings()), by=by)


def test_a_season_has_its_milestones():
    one = laid("plum-2026")
    assert (one.start_sg, one.last_sg, one.offset_days) == (1.086, 0.994, 0)
    assert 12 <= one.quiet_days <= 18
    assert one.counts[0] == (1.0, 12.0)
    assert one.gravities[0] == (0.0, pytest.approx(1.086))


def test_days_of_the_year_count_from_new_year():
    assert laid("plum", by="year").offset_days == 274  # 1 October


def test_one_that_is_not_quiet_yet_says_when_it_should_be():
    one = laid("plum", day=9.0)
    assert one.quiet_days is None
    assert one.expected_days is None or one.expected_days > 9


def test_the_table_lays_them_beside_each_other():
    text = beside_text([laid("plum-2026"), laid("plum-2025")], threshold="1.0 a minute", width=92)
    lines = text.splitlines()
    assert lines[0] == "plum-2026 beside plum-2025"
    assert lines[1].split()[:3] == ["jar", "pitched", "start"]
    assert lines[2].startswith("plum-2026  1 Oct 2026  1.086  0.994  1")


def test_each_has_a_mark_and_a_line_of_its_own():
    rates, gravities = Figure().subplots(2, 1)
    some = [laid("plum-2026"), laid("plum-2025")]
    plot_beside(some, rates, gravities, threshold_per_min=1.0, by="pitching")
    first, second, threshold = rates.lines
    assert first.get_marker() != second.get_marker()
    assert len({first.get_linestyle(), second.get_linestyle()}) == 2
    assert threshold.get_ydata()[0] == 1.0
    assert gravities.get_xlabel() == "days since pitching"
    assert min(first.get_ydata()) > 0.0  # none stands at the foot of a log axis
