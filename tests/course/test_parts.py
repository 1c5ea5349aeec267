"""What readings of gravity say on their own, and how many a jar can spare."""

from dataclasses import replace

import pytest

from bubblerate.course.fold import fold
from bubblerate.course.inputs import About
from bubblerate.course.parts import Gravity, Reading, Volume

from crude import crude
from lives import at, date_of


def read(*pairs, slow_since=0):
    readings = tuple(Reading(on=date_of(day), sg=sg) for day, sg in pairs)
    return Gravity(readings=readings, slow_since=date_of(slow_since))


def test_without_a_reading_nothing_is_near_or_high():
    none = read()
    assert (none.last, none.read_on, none.near, none.high) == (None, None, False, False)
    early = read((5, 1.000), slow_since=10)
    assert (early.near, early.high, early.read_on) == (False, False, date_of(5))
    assert (early.fall_per_day, early.stood_low_on) == (None, None)


# Common practice, no source: at 1.005 or below a wine may be racked.
@pytest.mark.parametrize(("sg", "near"), [(1.005, True), (1.006, False), (0.990, True)])
def test_a_reading_is_near_its_end_or_high(sg, near):
    found = read((20, sg))
    assert (found.near, found.high) == (near, not near)


@pytest.mark.parametrize(
    ("pairs", "day"),
    [
        ([(10, 1.002), (15, 1.002)], 15),
        ([(10, 1.002), (14, 1.002)], None),
        ([(10, 1.002), (15, 1.0006)], 15),  # 1.4 points may be chance
        ([(10, 1.002), (15, 1.000)], None),  # 2 are none
        ([(10, 1.002), (12, 1.010), (14, 1.002), (19, 1.002)], 19),  # the run began anew
        ([(10, 1.002), (12, 1.010), (14, 1.002), (18, 1.002)], None),
        ([(10, 1.002), (15, 1.002), (22, 1.002)], 15),  # the first to stand
        ([(10, 1.020), (15, 1.020)], None),
    ],
)
def test_two_low_readings_five_days_apart_stand(pairs, day):
    assert read(*pairs).stood_low_on == (None if day is None else date_of(day))


# By hand: from 1.015 to 1.008 in seven days is a point a day.
@pytest.mark.parametrize(
    ("pairs", "fall"),
    [
        ([(1, 1.050), (5, 1.030), (13, 1.015), (16, 1.012), (20, 1.008)], 1.0),
        ([(5, 1.020), (10, 1.010)], 2.0),
        ([(6, 1.020), (10, 1.010)], None),
        ([(5, 1.020), (10, 1.0186)], 0.0),
        ([(5, 1.020), (10, 1.0184)], 0.32),
        ([(5, 1.020), (10, 1.0175)], 0.5),
        ([(5, 1.010), (10, 1.020)], 0.0),
    ],
)
def test_a_fall_is_told_by_readings_at_least_five_days_apart(pairs, fall):
    assert read(*pairs).fall_per_day == (None if fall is None else pytest.approx(fall))


@pytest.mark.parametrize(
    ("litres", "full", "low"),
    [(4.2, 4.5, True), (4.3, 4.5, False), (None, 4.5, False), (4.2, None, False)],
)
def test_a_jar_under_95_in_100_of_full_is_low(litres, full, low):
    assert Volume(litres=litres, full=full).low == low


# Common practice, no source: a sample is 100 to 250 mL, so a jar below 2 L spares none, one below
# 6 L three, below 15 L six, a larger one ten.
@pytest.mark.parametrize(
    ("full", "most"),
    [(1.9, 0), (2.0, 3), (None, 3), (5.9, 3), (6.0, 6), (14.9, 6), (15.0, 10), (200.0, 10)],
)
def test_a_jar_spares_samples_by_its_size(full, most):
    rows = [at(0, event="pitched", sg=1.080), at(5, bubbles=60, seconds=300.0)]
    facts = fold(rows, About(), crude(About()))

    def spent(asked):
        gravity = replace(facts.gravity, asked=asked)
        return replace(facts, volume=Volume(full=full), gravity=gravity).samples_spent

    assert spent(most)
    assert not most or not spent(most - 1)
