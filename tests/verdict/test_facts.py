"""Facts beside the curve."""

import pytest

from bubblerate.verdict.facts import Signs, signs

from cases import counts, facts
from scenes import evening, visits

SUDDEN = [
    # an evening's counts over a minute        a leap
    ((20, 22, 21, 0, 0), True),
    ((20, 22, 21, 20, 1), True),
    ((31, 27, 22, 21, 16, 3, 2, 1, 0, 0), True),
    ((31, 27, 22, 21, 16, 3, 15, 12, 9), False),  # one low evening, then as before
    ((20, 15, 10, 6, 4, 2, 1), False),
    ((40, 30, 20, 11, 4, 1, 0), False),  # sugar runs out ever faster, but not at a leap
    ((20, 22, 21), False),
    ((5, 6, 5, 0, 0), False),  # a few bubbles or none in a minute are chance
    ((0, 0, 0), False),
]


@pytest.mark.parametrize(("bubbles", "expected"), SUDDEN)
def test_what_counts_as_falling_silent_at_once(bubbles, expected):
    assert facts(*counts(*bubbles)).sudden is expected


def test_silence_after_evenings_missed_is_not_sudden():
    assert not facts({"day": 0.0, "bubbles": 30}, {"day": 9.0, "bubbles": 0}).sudden


COLD = [
    (11.0, 11.0, True),
    (14.0, 19.0, True),
    (16.0, 19.0, False),
    (19.0, None, False),
    (None, 19.0, False),
]


@pytest.mark.parametrize(("temp_c", "usual_c", "expected"), COLD)
def test_what_counts_as_cold(temp_c, usual_c, expected):
    assert Signs(temp_c=temp_c, usual_c=usual_c).cold is expected


def test_a_temperature_of_last_week_is_not_that_of_today():
    assert facts(*counts(9, 8, 7, temp_c=8.0), at=9.0).temp_c is None
    assert facts(*counts(9, 8, 7, temp_c=8.0), at=5.0).temp_c == 8.0


def test_the_latest_temperature_is_that_of_today():
    rows = [{"day": float(d), "temp_c": t} for d, t in enumerate((19.0, 8.0))]
    assert facts(*rows).temp_c == 8.0


def test_a_ferment_counts_as_seen_at_work_well_above_the_threshold_only():
    assert facts(*counts(12, 5)).seen_working
    assert not facts(*counts(1, 1, 1)).seen_working
    assert not facts({"day": 0.0, "bubbles": 15, "seconds": 600.0}).seen_working  # 1.5 a minute
    assert not facts({"day": 0.0, "bubbles": 2, "seconds": 20.0}).seen_working  # two by chance


def test_all_that_was_counted_in_two_weeks_is_taken_together():
    rows = [{"day": float(d), "bubbles": 1, "seconds": 300.0} for d in range(30)]
    found = facts(*rows, at=29.0)
    assert (found.recent_seconds, found.recent_days) == (15 * 300.0, 14.0)
    assert 0.1 < found.surely_per_min < 0.2


def test_old_zeros_do_not_drown_the_bubbles_of_tonight():
    rows = [{"day": float(d), "bubbles": 0, "seconds": 600.0} for d in range(14)]
    assert facts(*rows, {"day": 14.0, "bubbles": 5}).surely_per_min > 1.0
    assert facts(*rows, {"day": 14.0, "bubbles": 1}).surely_per_min < 0.1


def test_warmth_is_looked_up_from_two_weeks_before_the_last_reading():
    rows = visits(*({"day": 7.0 * d, "temp_c": t} for d, t in enumerate((9.0, 16.0, 18.0, 17.0))))
    found = signs(rows, None, at=evening(21), threshold_per_min=1.0, last_reading_at=evening(21))
    assert (found.coldest_c, found.warmth_days) == (16.0, 14.0)
    found = signs(rows, None, at=evening(21), threshold_per_min=1.0, last_reading_at=evening(14))
    assert found.coldest_c == 9.0


def test_the_warmth_it_worked_at_is_that_of_its_busy_evenings():
    rows = [*counts(20, 18, 15, temp_c=21.0), *({"day": d, "temp_c": 15.0} for d in range(4, 40))]
    assert facts(*rows).worked_c == 21.0
    assert facts(*rows).usual_c == 15.0


def test_sugar_added_long_after_undoes_the_stabilising():
    stabilised = {"day": 0.0, "event": "stabilised"}
    assert facts(stabilised, {"day": 3.0, "event": "fed"}).stabilised_at == evening(0)
    assert facts(stabilised, {"day": 90.0, "event": "fed"}).stabilised_at is None


def test_quiet_evenings_are_counted_back_from_the_last():
    found = facts(*counts(9, 0, 5, 1, 1, 0))
    assert (found.quiet_counts, found.quiet_days) == (3, 2.0)
    assert facts(*counts(9, 8)).quiet_counts == 0


def test_counts_before_a_racking_show_nothing_of_what_came_after():
    rows = [*counts(9, 8, 7), {"day": 3.0, "event": "racked"}, {"day": 6.0, "bubbles": 0}]
    found = facts(*rows)
    assert found.quiet_counts == 1
    assert not found.seen_working
    assert found.broken == ("racked", evening(3))
    assert found.racked_at == evening(3)


@pytest.mark.parametrize("event", ["sulphited", "stabilised", "fined"])
def test_yeast_may_be_stunned_for_two_weeks(event):
    rows = [*counts(9, 8, 7), {"day": 3.0, "event": event}]
    assert facts(*rows, at=10.0).stunned == (event, evening(3))
    assert facts(*rows, at=17.0).stunned is None


def test_an_empty_diary_has_no_facts():
    assert signs((), None, at=evening(0), threshold_per_min=1.0, last_reading_at=None) == Signs()
