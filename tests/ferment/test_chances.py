"""Weighted draws as medians, dates and chances."""

import pickle
from datetime import timedelta

import numpy as np
import pytest

from bubblerate.ferment.chances import HORIZON_DAYS, Crossing, quantiles, span_of

from scenes import evening

AT = evening(20)


def crossing(ahead, weights=None):
    ahead = np.array(ahead, float)
    weights = np.full(len(ahead), 1.0 / len(ahead)) if weights is None else np.array(weights)
    return Crossing.of(ahead, weights, AT, 1.0)


def days(when):
    return (when - AT) / timedelta(days=1)


NORMAL = np.random.default_rng(3).normal(10.0, 2.0, 4000)


def test_equal_draws_have_the_quantiles_of_the_reference_library():
    found = quantiles(NORMAL, np.full(len(NORMAL), 1.0 / len(NORMAL)), [0.1, 0.5, 0.9])
    np.testing.assert_allclose(found, np.quantile(NORMAL, [0.1, 0.5, 0.9], method="hazen"))


def test_a_draw_that_weighs_twice_counts_as_two():
    once = quantiles(np.array([1.0, 2.0, 2.0, 4.0]), np.full(4, 0.25), [0.3, 0.5])
    twice = quantiles(np.array([1.0, 2.0, 4.0]), np.array([0.25, 0.5, 0.25]), [0.5])
    assert once[1] == twice[0] == 2.0


def test_a_span_holds_four_in_five():
    span = span_of(NORMAL, np.full(len(NORMAL), 1.0 / len(NORMAL)))
    assert np.mean((span.low80 < NORMAL) & (span.high80 > NORMAL)) == pytest.approx(0.8, abs=0.001)


def test_limits_are_those_of_the_draws():
    c = crossing(NORMAL)
    found = [days(when) for when in (c.low95, c.low80, c.median, c.high80, c.high95)]
    expected = np.quantile(NORMAL, [0.025, 0.1, 0.5, 0.9, 0.975])
    np.testing.assert_allclose(found, expected, atol=0.02)


@pytest.mark.parametrize("chance", [0.01, 0.1, 0.5, 0.9, 0.99])
def test_cdf_undoes_ppf(chance):
    c = crossing(NORMAL)
    assert c.cdf(c.ppf(chance)) == pytest.approx(chance, abs=0.001)


def test_the_chance_by_a_moment_grows_with_it_and_is_that_of_now_at_once():
    c = crossing([-2.0, -1.0, 3.0, 5.0], [0.1, 0.2, 0.3, 0.4])
    chances = [c.chance_by(AT + timedelta(days=d)) for d in (-3, 0, 4, 6)]
    np.testing.assert_allclose(chances, [0.0, 0.3, 0.6, 1.0], atol=0.002)
    assert c.p_already == chances[1]


def test_beyond_the_horizon_no_date_is_given_but_the_chance_is():
    c = crossing([10.0, 20.0, HORIZON_DAYS + 1.0, np.inf])
    assert c.high80 is None
    assert c.p_not_in_60_days == pytest.approx(0.5)
    assert days(c.ppf(0.1)) == 10.0


def test_draws_are_equally_likely_and_in_order():
    c = crossing([3.0, 1.0, 2.0], [0.2, 0.5, 0.3])
    assert np.all(np.diff(c.draws) >= 0.0)
    assert np.mean(c.draws <= 1.5) == pytest.approx(0.5, abs=0.001)


@pytest.mark.parametrize("chance", [-0.1, 1.1])
def test_a_chance_beyond_0_and_1_is_refused(chance):
    with pytest.raises(ValueError, match="range"):
        crossing(NORMAL).ppf(chance)


def test_crossings_of_the_same_draws_are_the_same_also_after_a_trip_to_a_worker():
    c = crossing(NORMAL)
    assert pickle.loads(pickle.dumps(c)) == c == crossing(NORMAL)
    assert hash(c) == hash(crossing(NORMAL))
    assert c not in (crossing(NORMAL + 0.1), "a crossing")
