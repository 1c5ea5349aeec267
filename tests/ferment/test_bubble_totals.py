"""Bubbles summed over time."""

import pytest

from bubblerate.ferment.bubble_totals import find_totals

from scenes import evening, visits


def counts(*days, per_min=2.0):
    return [{"day": float(d), "bubbles": round(5 * per_min), "seconds": 300.0} for d in days]


def summed(*rows, since=0.0, until=4.0):
    totals = find_totals(visits(*rows), evening(since))
    return None if totals is None else totals.bubbles(evening(since), evening(until))


def test_a_level_rate_adds_up():
    assert summed(*counts(0, 1, 2, 3, 4)) == pytest.approx(4 * 2.0 * 1440.0)


def test_a_falling_rate_runs_straight_from_count_to_count():
    rows = [{"day": 0.0, "bubbles": 40}, {"day": 4.0, "bubbles": 0}]
    assert summed(*rows) == pytest.approx(4 * 20.0 * 1440.0)


def test_a_part_of_the_time_is_a_part_of_the_bubbles():
    assert summed(*counts(0, 2, 4), since=1.0, until=2.5) == pytest.approx(1.5 * 2.0 * 1440.0)


@pytest.mark.parametrize("days", [(0, 5), (4.5, 6), (0,)])
def test_evenings_too_far_apart_do_not_add_up(days):
    assert summed(*counts(*days), since=0.0, until=9.0) is None


def test_a_break_ends_the_sum():
    rows = [*counts(0, 1), {"day": 1.5, "event": "airlock"}, *counts(2, 3, 4)]
    assert summed(*rows) is None
    assert summed(*rows, since=2.0) == pytest.approx(2 * 2.0 * 1440.0)


def test_a_stretch_without_counts_has_no_ledger():
    assert summed(*counts(0, 1), {"day": 2.0, "event": "racked"}, since=3.0) is None
