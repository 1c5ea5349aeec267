"""What the counts show beside the curve."""

import pytest

from cases import counts, facts

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
    assert facts(*counts(*bubbles)).airlock.sudden is expected


def test_silence_after_evenings_missed_is_not_sudden():
    assert not facts({"day": 0.0, "bubbles": 30}, {"day": 9.0, "bubbles": 0}).airlock.sudden


def test_a_ferment_counts_as_seen_at_work_well_above_the_threshold_only():
    assert facts(*counts(12, 5)).airlock.seen_working
    assert not facts(*counts(1, 1, 1)).airlock.seen_working
    assert not facts(
        {"day": 0.0, "bubbles": 15, "seconds": 600.0}
    ).airlock.seen_working  # 1.5 a minute
    assert not facts(
        {"day": 0.0, "bubbles": 2, "seconds": 20.0}
    ).airlock.seen_working  # two by chance


def test_quiet_evenings_are_counted_back_from_the_last():
    found = facts(*counts(9, 0, 5, 1, 1, 0)).airlock
    assert (found.quiet.counts, found.quiet.days) == (3, 2.0)
    assert facts(*counts(9, 8)).airlock.quiet.counts == 0
