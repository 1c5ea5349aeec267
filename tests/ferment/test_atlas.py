"""Curves of the atlas, read at any time and pace."""

import numpy as np
import pytest

from bubblerate.ferment.atlas import DAYS, Candidates, last_above, load_atlas

ATLAS = load_atlas()


def candidates(rows=(0, 1, 2), pace=1.0, shift=0.0):
    row = np.array(rows)
    return Candidates(
        atlas=ATLAS,
        row=row,
        pace=np.full(len(row), pace),
        shift=np.full(len(row), shift),
        fall=ATLAS.fall[row],
        finish=(ATLAS.og - ATLAS.fall)[row],
        log_prior=np.zeros(len(row)),
    )


def test_on_its_days_a_curve_is_what_is_held():
    found = candidates().log_share(DAYS[:-1])
    np.testing.assert_allclose(found, ATLAS.log_share[:3, :-1], atol=2e-3)


def test_what_has_fallen_is_the_rate_summed_up():
    days = np.linspace(0.0, 60.0, 4001)
    rate = np.exp(candidates().log_share(days))
    summed = np.array([np.trapezoid(r, days) for r in rate])
    np.testing.assert_allclose(candidates().fallen(days[-1:])[:, 0], summed, atol=0.06)


def test_a_slower_pace_stretches_the_days_and_keeps_the_fall():
    slow, usual = candidates(pace=2.0), candidates()
    days = np.array([3.0, 8.0, 20.0])
    np.testing.assert_allclose(slow.fallen(2.0 * days), usual.fallen(days), atol=1e-5)
    expected = usual.log_share(days) - np.log(2.0)
    np.testing.assert_allclose(slow.log_share(2.0 * days), expected, atol=1e-4)


def test_a_ferment_pitched_earlier_is_further_on():
    days = np.array([3.0, 8.0])
    found = candidates(shift=2.0).log_share(days)
    np.testing.assert_allclose(found, candidates().log_share(days + 2.0), atol=1e-5)


@pytest.mark.parametrize(("pace", "shift"), [(1.0, 0.0), (1.3, 0.0), (0.8, 2.0)])
def test_from_the_day_of_the_crossing_on_it_stays_below(pace, shift):
    some = candidates(range(60), pace, shift)
    level = some.log_share(DAYS).max(axis=1, keepdims=True) - 2.017
    held = some.log_share(DAYS) - level
    day = last_above(held, 0.0)
    assert np.all(day > 0.0)
    after = some.log_share(np.append(DAYS, 500.0))
    later = np.append(DAYS, 500.0) > day[:, None] + 0.05 * day[:, None] + 0.1
    assert np.all(after[later] < np.broadcast_to(level + 1e-3, after.shape)[later])
    finely = np.linspace(0.0, 200.0, 40_001)  # 7 minutes apart
    last = finely[[np.flatnonzero(one > 0.0)[-1] for one in some.log_share(finely) - level]]
    # but for a hump between two days that just touches the level
    assert np.mean(np.isclose(day, last, rtol=0.02, atol=0.1)) > 0.95


def test_a_level_that_is_never_reached_was_passed_at_once_and_one_below_all_never():
    held = candidates().log_share(DAYS)
    assert np.all(last_above(held, 5.0) == 0.0)
    assert np.all(last_above(held, -60.0) == np.inf)
