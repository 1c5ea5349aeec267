from dataclasses import replace
from datetime import timedelta

import pytest

from bubblerate.diary.doubts import Doubt, doubts

from scenes import diary, evening, visits

BEFORE = (
    {"day": 0, "event": "pitched", "sg": 1.084},
    {"day": 5, "bubbles": 20},
    {"day": 20, "bubbles": 12, "seconds": 60.0},
    {"day": 21, "sg": 1.004, "event": "sampled"},
)


def asked(*before: dict[str, object], **new: object) -> tuple[str, ...]:
    """Questions raised by a new row on day 22, or another, written the moment it happened."""
    (visit,) = visits({"day": 22, **new})
    return tuple(doubt.text for doubt in doubts(diary(*before), visit, now=visit.when))


@pytest.mark.parametrize(
    "new",
    [
        {"bubbles": 12},
        {"bubbles": 1, "seconds": 40.0},
        {"bubbles": 0, "seconds": 45.0},  # one bubble more would make more than a tenth
        {"bubbles": 119},
        {"sg": 1.006},  # what a hydrometer cannot tell from 1.004
        {"sg": 0.985},
        {"event": "racked", "litres": 4.3},
        {"temp_c": 18.5},
    ],
)
def test_an_ordinary_row_raises_no_question(new):
    assert asked(*BEFORE, **new) == ()


@pytest.mark.parametrize(
    ("new", "question"),
    [
        ({"bubbles": 120}, "That is ten times the last bubbles counted or more (12 a minute)."),
        ({"bubbles": 1}, "That is a tenth of the last bubbles counted or less (12 a minute)."),
        ({"bubbles": 0}, "That is a tenth of the last bubbles counted or less (12 a minute)."),
        ({"sg": 1.010}, "That is 6 points above the last reading, with nothing added."),
        ({"sg": 0.979}, "0.979 is outside what wine reads (0.980 to 1.180)."),
        ({"sg": 1.3}, "1.300 is outside what wine reads (0.980 to 1.180)."),
    ],
)
def test_what_looks_like_a_slip_raises_one_question(new, question):
    assert asked(*BEFORE, **new) == (question,)


@pytest.mark.parametrize("added", ["fed", "topped-up"])
def test_a_gravity_may_rise_once_something_was_added(added):
    assert asked(*BEFORE, {"day": 21.5, "event": added}, sg=1.030) == ()
    assert asked(*BEFORE, sg=1.030, event=added) == ()
    assert asked({"day": 1, "event": added}, *BEFORE, sg=1.030) != ()


def test_a_handful_of_bubbles_makes_no_leap():
    assert asked({"day": 20, "bubbles": 1, "seconds": 600.0}, bubbles=4) == ()
    assert asked({"day": 20, "bubbles": 1, "seconds": 600.0}, bubbles=5) != ()


def test_the_first_bubbles_after_none_are_natural():
    assert asked({"day": 20, "bubbles": 0, "seconds": 600.0}, bubbles=50) == ()


def test_a_new_airlock_makes_new_bubbles():
    rows = [{"day": 20, "bubbles": 2}, {"day": 21, "event": "airlock"}]
    assert asked(*rows, bubbles=40) == ()


def test_two_unlike_counts_within_two_hours_may_be_of_two_jars():
    (doubt,) = asked({"day": 21.95, "bubbles": 22}, bubbles=9)
    assert "is it this jar?" in doubt
    assert asked({"day": 21.95, "bubbles": 22}, bubbles=20) == ()


def test_a_fall_faster_than_yeast_works_is_questioned():
    (doubt,) = asked({"day": 21, "sg": 1.040}, sg=1.008)
    assert doubt == "That is 32 points below the last, faster than yeast works."
    assert asked({"day": 10, "sg": 1.040}, sg=1.008) == ()


def test_more_wine_than_was_in_it_is_questioned():
    (doubt,) = asked({"day": 0, "litres": 4.5}, event="racked", litres=43.0)
    assert doubt == "43 litres is more than was in it (4.5)."
    assert asked({"day": 0, "litres": 4.5}, event="fed", litres=6.0) == ()


def test_the_first_row_of_all_raises_no_question():
    assert asked(bubbles=500, sg=1.100) == ()


def test_a_moment_to_come_is_asked_about_but_a_clock_may_be_a_little_off():
    (visit,) = visits({"day": 22, "bubbles": 12})
    late = visit.when - timedelta(minutes=6)
    future = Doubt(code="when", text="23 Oct 2026 21:00 is in the future.")
    assert doubts(diary(*BEFORE), visit, now=late) == (future,)
    assert doubts(diary(*BEFORE), visit, now=visit.when - timedelta(minutes=4)) == ()


def test_a_row_from_before_the_start_is_asked_about():
    assert asked(*BEFORE, day=-1, bubbles=3) == (
        "30 Sep 2026 21:00 is before the start, 1 Oct 2026 21:00.",
    )


def test_two_slips_in_one_row_raise_two_questions():
    assert len(asked(*BEFORE, bubbles=500, sg=1.2)) == 2


def test_struck_rows_and_later_rows_are_not_compared_with():
    known = diary(*BEFORE)
    (visit,) = visits({"day": 22, "bubbles": 1})
    spared = replace(known, visits=(known.visits[0], replace(known.visits[2], struck="yes")))
    assert doubts(spared, visit, now=visit.when) == ()
    (between,) = visits({"day": 6, "bubbles": 19})
    assert doubts(known, between, now=evening(30)) == ()
