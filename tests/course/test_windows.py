"""Evenings, waits in dates, and the windows for bottling and drinking."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from bubblerate.course.bubbling import Count, airlock, quiet_below_per_min
from bubblerate.course.budget import Budget
from bubblerate.course.days import days_on, earliest, evening_of, months_later, newest
from bubblerate.course.engine import course_of
from bubblerate.course.fold import fold
from bubblerate.course.inputs import About, Known
from bubblerate.course.windows import (
    STYLES,
    Window,
    bottling_window,
    drinking_window,
    usual_of,
)
from bubblerate.verdict.reasons import Kind, Phase

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


# Common practice, no source: months from pitching to bottling, to the first glass, to better ones,
# and as long as it keeps.
@pytest.mark.parametrize(
    ("style", "months"),
    [
        (None, (4, 7, 6, 12, 36)),
        ("quince", (4, 7, 6, 12, 36)),
        ("Pineapple", (4, 7, 6, 12, 36)),
        ("flower wine", (3, 5, 3, 6, 18)),
        ("blossom", (3, 5, 3, 6, 18)),
        ("Rhubarb, dry", (4, 6, 6, 12, 24)),
        ("apple wine", (4, 7, 6, 12, 36)),
        ("plum", (5, 8, 6, 12, 48)),
        ("Damson", (5, 8, 6, 12, 48)),
        ("greengage", (5, 8, 6, 12, 48)),
        ("strawberries", (4, 6, 6, 9, 24)),
        ("elderberry", (6, 10, 12, 24, 60)),
        ("sloe", (6, 10, 12, 24, 60)),
        ("parsnip", (6, 9, 12, 24, 60)),
        ("mead", (5, 9, 6, 12, 60)),
        ("apple mead", (5, 9, 6, 12, 60)),
        ("strong mead", (9, 15, 12, 24, 60)),
        ("strong honey wine", (9, 15, 12, 24, 60)),
        ("apple cider", (3, 6, 3, 6, 24)),
        ("cider", (3, 6, 3, 6, 24)),
        ("perry of apple and pear", (4, 7, 3, 6, 24)),
    ],
)
def test_each_style_has_its_months(style, months):
    assert usual_of(style, drink_from_months=None, best_by_months=None) == months


# A wine is not better, nor at its best, before its first glass.
@pytest.mark.parametrize(
    ("drink_from", "best_by", "months"),
    [
        (None, 24.0, (4, 7, 6, 12, 24.0)),
        (2.0, None, (4, 7, 2.0, 12, 36)),
        (0.0, None, (4, 7, 0.0, 12, 36)),
        (18.0, None, (4, 7, 18.0, 18.0, 36)),
        (40.0, 24.0, (4, 7, 40.0, 40.0, 40.0)),
    ],
)
def test_what_the_maker_says_goes_before_the_months_of_a_style(drink_from, best_by, months):
    assert usual_of("quince", drink_from_months=drink_from, best_by_months=best_by) == months


# Common practice, no source. It was begun so long ago that the months from pitching are over.
@pytest.mark.parametrize(
    ("known", "quiet_on", "cleared_on", "low", "high"),
    [
        (Known(), None, None, 21 + 60, 60 + 120),  # usual days of a ferment
        (Known(quiet=QUIET), None, None, 20 + 60, 45 + 120),
        (Known(quiet=QUIET, budget=Budget.SHORT), None, None, 30 + 60, 60 + 120),
        (
            Known(quiet=(date_of(50), date_of(70), date_of(90)), budget=Budget.SHORT),
            *(None, None),
            *(70 + 60, 90 + 120),
        ),
        (Known(quiet=QUIET), 33, None, 33 + 60, 33 + 120),
        (Known(quiet=QUIET), 33, 40, 40 + 60, 40 + 120),
    ],
)
def test_the_window_follows_the_end_of_the_ferment_as_well_as_it_is_known(
    known, quiet_on, cleared_on, low, high
):
    facts = course_at(WORKS, 6, known=known).facts
    facts = replace(facts, began=date_of(-400))
    if quiet_on is not None:
        facts = replace(facts, air=replace(facts.air, quiet_on=date_of(quiet_on)))
    if cleared_on is not None:
        facts = replace(facts, phase=Phase.CLEARING, phase_on=date_of(cleared_on))
    window = bottling_window(facts, date_of(10))
    assert (window.low, window.high) == (date_of(low), date_of(high))


# Common practice, no source: days until what was seen may have gone.
@pytest.mark.parametrize(
    ("seen", "low"),
    [
        ({}, 80),
        ({"cloudy_on": 100}, 160),
        ({"lees_on": 100}, 144),
        ({"prickle_on": 100}, 114),
        ({"cloudy_on": 100, "lees_on": 120}, 164),
        ({"cloudy_on": 300}, 360),  # later than the late end
    ],
)
def test_what_was_seen_puts_the_window_off_by_its_days(seen, low):
    facts = replace(course_at(WORKS, 6, known=Known(quiet=QUIET)).facts, began=date_of(-400))
    days = {name: date_of(day) for name, day in seen.items()}
    window = bottling_window(replace(facts, cellar=replace(facts.cellar, **days)), date_of(10))
    assert (window.low, window.high) == (date_of(low), date_of(max(low, 45 + 120)))


def test_a_wine_that_started_again_is_watched_for_two_months():
    facts = course_at(WORKS, 6, known=Known(quiet=QUIET, woke_on=date_of(100))).facts
    assert bottling_window(replace(facts, began=date_of(-400)), date_of(10)).low == date_of(160)


def test_a_ferment_asleep_in_the_cold_supposes_warmth():
    facts = course_at(WORKS, 6, known=Known(quiet=QUIET)).facts
    cold = replace(
        facts, cold=replace(facts.cold, since=date_of(5)), air=replace(facts.air, state="slowing")
    )
    assert bottling_window(cold, date_of(10)).if_[0] == "warm"
    assert bottling_window(facts, date_of(10)).if_[0] == "ends"


# By hand, most fruit: first glass six months after bottling, better ones after twelve.
def test_a_wine_is_drunk_months_after_its_window():
    facts = course_at(WORKS, 6, known=Known(quiet=QUIET)).facts
    bottling = Window(
        low=date(2027, 2, 1), high=date(2027, 3, 1), soonest=date(2027, 1, 1), if_=("ends",)
    )
    assert drinking_window(facts, bottling) == Window(
        low=date(2027, 8, 1),
        high=date(2028, 3, 1),
        soonest=date(2027, 7, 1),
        if_=("ends", "bottled"),
    )


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
