"""Gravity that stands still or falls, and the bubbles beside it."""

import pytest

from bubblerate.diary.settings import Hydrometer
from bubblerate.ferment.finish import likely_finish
from bubblerate.ferment.gravity_check import check_gravity
from bubblerate.physics.hydrometer import corrected_sg
from bubblerate.verdict.limits import STEADINESS

from scenes import evening, visits


def check(*rows, question="racking", litres=4.5, finish=None, hydrometer=None):
    return check_gravity(
        visits(*sorted(rows, key=lambda row: row["day"])),
        at=evening(max(row["day"] for row in rows)),
        hydrometer=hydrometer or Hydrometer(),
        litres=litres,
        finish=likely_finish(1.085),
        said_finish_sg=finish,
        steadiness=STEADINESS[question],
    )


def sgs(*pairs):
    return [{"day": float(day), "sg": sg} for day, sg in pairs]


STEADY = [
    # readings                                           racking  bottling
    ([(0, 1.004)], None, None),
    ([(0, 1.004), (1, 1.004)], None, None),
    ([(0, 1.004), (3, 1.004)], True, None),
    ([(0, 1.004), (3, 1.002)], True, False),
    ([(0, 1.004), (3, 1.001)], False, False),
    ([(0, 1.004), (14, 1.003)], True, True),
    ([(0, 1.004), (14, 1.002)], True, None),
    ([(0, 1.004), (7, 1.003), (14, 1.002)], True, False),
    ([(0, 1.004), (14, 1.0025)], True, None),
    ([(0, 1.004), (13.5, 1.004)], True, None),
    ([(0, 1.004), (2.5, 1.004)], None, None),
    ([(0, 1.012), (8, 1.004)], False, False),
    ([(0, 1.012), (12, 1.004)], None, None),
    ([(0, 1.020), (3, 1.004), (4, 1.004), (6, 1.004)], True, False),
    ([(0, 1.010), (1, 1.0085), (2, 1.007), (3, 1.0055)], False, False),
    ([(0, 1.003), (10, 1.002), (20, 1.001), (30, 1.000)], True, False),
    ([(0, 1.020), (3, 1.002), (10, 1.0), (14, 1.0), (19, 1.0), (24, 1.0)], True, True),
    ([(0, 1.085), (20, 0.998)], None, None),
    ([(0, 1.000), (3, 1.006)], None, None),
    ([(0, 0.998), (8, 0.998), (16, 0.998)], True, True),
]


@pytest.mark.parametrize(("pairs", "racking", "bottling"), STEADY)
def test_what_counts_as_steady(pairs, racking, bottling):
    assert check(*sgs(*pairs)).steady is racking
    assert check(*sgs(*pairs), question="bottling").steady is bottling


def test_an_evening_a_little_short_of_three_days_is_three_days():
    assert check(*sgs((0, 1.000), (2.9, 1.000))).steady is True


def test_the_last_fall_is_that_between_the_last_two_readings():
    seen = check(*sgs((0, 1.030), (10, 1.020), (12, 1.012)))
    assert (seen.fall.points, seen.fall.days) == (pytest.approx(8.0), pytest.approx(2.0))


def test_readings_are_corrected_for_temperature_and_offset():
    row = {"day": 0.0, "sg": 1.050, "sample_c": 28.0}
    hydrometer = Hydrometer(calibration_c=15.56, offset=0.002)
    got = check(row, hydrometer=hydrometer).latest.sg
    assert got == pytest.approx(corrected_sg(1.050, 28.0, calibration_c=15.56, offset=0.002))
    assert got == pytest.approx(1.0508, abs=5e-4)  # + 3 points from the 84 F leaflet, - 2 offset


@pytest.mark.parametrize("event", ["fed", "diluted"])
def test_readings_before_more_sugar_are_of_another_wine(event):
    seen = check(*sgs((0, 1.085), (9, 0.998)), {"day": 10.0, "event": event}, *sgs((11, 1.020)))
    assert [r.when for r in seen.readings] == [evening(11)]


def test_finished_wine_topped_up_leaves_the_readings_before_it():
    rows = [*sgs((0, 1.085), (9, 0.998)), {"day": 10.0, "event": "topped-up"}, *sgs((14, 0.998))]
    seen = check(*rows)
    assert [r.when for r in seen.readings] == [evening(d) for d in (0, 9, 14)]
    assert seen.steady_days == 5.0


def test_no_reading_is_no_check():
    assert check({"day": 0.0, "bubbles": 9}) is None


def counts(days, per_min):
    return [{"day": float(d), "bubbles": round(per_min * 5.0), "seconds": 300.0} for d in days]


# 1 point of fall frees 0.559 L of wet gas a litre (tests/physics/test_gas.py): in 4.5 L, at 1.25 mL
# a bubble, 2012 bubbles, or 1.40 a minute for a day.
ONE_POINT_A_DAY = 559.0 * 4.5 / 1.25 / 1440.0


def test_bubbles_that_account_for_the_fall_tell_the_same_story():
    seen = check(*counts(range(11), 2 * ONE_POINT_A_DAY), *sgs((0, 1.040), (10, 1.020)))
    assert not seen.leak
    assert not seen.gas_only


def test_a_fall_without_bubbles_is_a_leak():
    seen = check(*counts(range(6), 0.1), *sgs((0, 1.020), (5, 1.012)))
    assert seen.leak


def test_an_airlock_that_begins_to_leak_is_seen_beside_a_longer_honest_story():
    honest = counts(range(8), 4 * ONE_POINT_A_DAY)
    silent = counts(range(8, 13), 0.0)
    seen = check(*honest, *silent, *sgs((0, 1.050), (7, 1.022), (12, 1.012)))
    assert seen.leak


@pytest.mark.parametrize(("fall", "leak"), [(20, False), (40, True)])
def test_a_leak_takes_more_than_any_bubble_could_hold(fall, leak):
    # bubbles of 10 points: twice the fall is a bubble twice the usual size, four times is none
    rows = counts(range(11), ONE_POINT_A_DAY)
    seen = check(*rows, *sgs((0, 1.050), (10, 1.050 - fall / 1000)))
    assert seen.leak is leak


@pytest.mark.parametrize(("fall", "leak"), [(3.5, False), (5.0, True)])
def test_a_leak_takes_more_than_two_readings_may_differ(fall, leak):
    # beyond 2.33 times the error of a difference, 1.3 points times the root of two: 4.3 points
    seen = check(*counts(range(6), 0.01), *sgs((0, 1.020), (5, 1.020 - fall / 1000)))
    assert seen.leak is leak


def test_bubbles_without_a_fall_are_of_something_else():
    seen = check(*counts(range(11), 3 * ONE_POINT_A_DAY), *sgs((0, 1.000), (10, 1.000)))
    assert seen.gas_only


@pytest.mark.parametrize("litres", [None, 0.0])
def test_without_litres_the_two_cannot_be_compared(litres):
    seen = check(*counts(range(6), 0.1), *sgs((0, 1.020), (5, 1.012)), litres=litres or None)
    assert not seen.leak


def test_evenings_missed_for_a_week_leave_the_bubbles_unsummed():
    rows = [*counts([0, 10], 0.1), *sgs((0, 1.020), (10, 1.010))]
    assert not check(*rows).leak


def test_an_airlock_changed_between_the_readings_leaves_them_uncompared():
    rows = [*counts(range(6), 0.1), *sgs((0, 1.020), (5, 1.012)), {"day": 2.5, "event": "airlock"}]
    assert not check(*rows).leak


def test_the_likeliest_finish_stands_in_where_the_maker_said_none():
    likeliest_sg = likely_finish(1.085).centre_sg
    assert check(*sgs((0, 1.004))).finish_sg == likeliest_sg
    above_points = 1000.0 * (1.004 - likeliest_sg)
    assert check(*sgs((0, 1.004))).above_finish_points == pytest.approx(above_points)
    assert check(*sgs((0, 1.004)), finish=1.003).above_finish_points == pytest.approx(1.0)
