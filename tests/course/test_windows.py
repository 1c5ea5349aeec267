"""Evenings, waits in dates, and the windows for bottling and drinking."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from bubblerate.course.bubbling import Count, airlock, quiet_below_per_min
from bubblerate.course.days import days_on, earliest, evening_of, months_later, newest
from bubblerate.course.engine import course_of
from bubblerate.course.fold import fold
from bubblerate.course.inputs import About, Known
from bubblerate.course.windows import STYLES
from bubblerate.verdict.reasons import Kind

from crude import crude
from lives import at, date_of

WORKS = (
    at(0, event="pitched", sg=1.088),
    *(at(day, bubbles=60, seconds=300.0) for day in (2, 4, 6)),
)
QUIET = (date_of(20), date_of(30), date_of(45))


def course_at(rows, day, *, known=None, **about):
    said = About(**about)
    weigh = crude(said) if known is None else lambda _: known
    return course_of(fold(rows, said, weigh), date_of(day))


@pytest.mark.parametrize(
    ("hour", "evening"), [(0, 1), (3, 1), (4, 2), (21, 2)], ids=["midnight", "3", "4", "21"]
)
def test_an_evening_ends_at_four_in_the_morning(hour, evening):
    assert evening_of(datetime(2026, 10, 2, hour, 59 * (hour == 3), tzinfo=UTC)).day == evening


def test_readings_13_days_and_23_hours_apart_are_14_dates_apart():
    first = datetime(2026, 10, 1, 22, tzinfo=UTC)
    later = first + timedelta(days=14, hours=-1)
    assert (evening_of(later) - evening_of(first)).days == 14


def test_months_count_to_the_end_of_a_short_month():
    assert months_later(date(2026, 8, 31), 6) == date(2027, 2, 28)
    assert months_later(date(2026, 8, 31), 0.5) == date(2026, 9, 15)


def test_the_newest_and_the_earliest_leave_out_what_is_not_known():
    assert newest(None, date_of(2), date_of(1)) == date_of(2)
    assert earliest(None, date_of(2), date_of(1)) == date_of(1)
    assert earliest(None) is None
    with pytest.raises(ValueError, match="empty"):
        newest(None)


def test_while_it_works_the_window_runs_from_its_early_end_to_its_late_one():
    window = course_at(WORKS, 6, known=Known(quiet=QUIET), style="cider").bottling
    # cider: three to six months from the start, 60 days after the early end, 120 after the late
    assert window.low == max(months_later(date_of(0), 3), days_on(QUIET[0], 60), window.soonest)
    assert window.high == max(months_later(date_of(0), 6), days_on(QUIET[2], 120))
    assert window.if_ == ("ends", "clears", "malolactic")


def test_the_later_step_of_bottling_shows_the_window_and_the_days_of_the_table_as_soonest():
    now = course_at(WORKS, 6, known=Known(quiet=QUIET), style="sloe wine")
    step = next(step for step in now.steps if step.kind is Kind.BOTTLE)
    assert (step.on, step.until) == (now.bottling.low, now.bottling.high)
    assert step.since < step.on


def test_the_first_glass_is_months_after_the_bottling():
    now = course_at(WORKS, 6, known=Known(quiet=QUIET), style="sloe wine")
    assert now.drinking.low == months_later(now.bottling.low, STYLES["sloe wine"].first)
    said = course_at(WORKS, 6, known=Known(quiet=QUIET), style="sloe wine", drink_from_months=2.0)
    assert said.drinking.low == months_later(said.bottling.low, 2.0)


def test_once_it_is_clear_the_window_is_one_day():
    rows = (
        *WORKS,
        *(at(day, bubbles=1, seconds=300.0) for day in (30, 31, 32, 33)),
        at(34, event="racked", sg=0.996),
        at(70, event="clear", sg=0.994),
    )
    window = course_at(rows, 71).bottling
    assert window.low == window.high == date_of(100)


@pytest.mark.parametrize(("event", "wait"), [("cloudy", 60), ("lees", 44)])
def test_what_was_seen_holds_up_the_window(event, wait):
    rows = (
        *WORKS,
        *(at(day, bubbles=1, seconds=300.0) for day in (30, 31, 32, 33)),
        at(34, event="racked", sg=0.996),
        at(180, event=event),
    )
    assert course_at(rows, 180).bottling.low >= date_of(180 + wait)


def count(day, bubbles, minutes=5.0, **more):
    return Count(on=date_of(day), bubbles=bubbles, minutes=minutes, **more)


def test_beyond_ten_litres_the_limit_grows_with_the_wine():
    assert quiet_below_per_min(1.0, None) == quiet_below_per_min(1.0, 10.0) == 1.0
    assert quiet_below_per_min(1.0, 23.0) == pytest.approx(2.3)


def test_counts_are_never_pooled_across_a_racking():
    low = [count(d, 2, stretch=1) for d in (21, 22)]
    before = [count(2, 60), count(20, 2), *low]
    one_stretch = [replace(c, stretch=0) for c in before]
    assert airlock(one_stretch, quiet_below=1.0, litres=4.5).state == "quiet"
    assert airlock(before, quiet_below=1.0, litres=4.5).state != "quiet"


def test_three_minutes_of_one_bubble_each_are_too_little_to_call_it_quiet():
    short = [count(2, 60), *(count(d, 1, 1.0) for d in (20, 21, 22))]
    assert airlock(short, quiet_below=1.0, litres=4.5).state == "slowing"
    assert airlock([*short, count(23, 0, 5.0)], quiet_below=1.0, litres=4.5).state == "quiet"


def test_more_than_the_weather_makes_after_calm_is_back():
    calm = [count(2, 60), *(count(d, 0) for d in range(20, 30))]
    assert airlock(calm, quiet_below=1.0, litres=4.5).back_on is None
    stirred = airlock([*calm, count(50, 4)], quiet_below=1.0, litres=4.5)
    assert (stirred.back_on, stirred.state) == (date_of(50), "quiet")


def test_no_counts_are_no_news():
    assert airlock([], quiet_below=1.0, litres=None).state == "none"
