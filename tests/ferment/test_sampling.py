"""The sampler, against known densities."""

import numpy as np
import pytest
from scipy import stats

from bubblerate.ferment.modes import Modes
from bubblerate.ferment.sampling import Draws, importance_draws


def around(at, variance):
    """One place to begin."""
    return Modes(
        at=np.array([at], float), log_density=np.zeros(1), covariance=np.diag(variance)[None]
    )


def test_draws_of_a_skewed_density_have_its_quantiles():
    # a gamma density seen in its logarithm, quantiles from scipy.stats
    shape = 1.5

    def log_density(theta):
        return shape * theta[:, 0] - np.exp(theta[:, 0]) - 0.5 * theta[:, 1] ** 2

    start = around([np.log(shape), 0.0], [1.0 / shape, 1.0])
    draws, _ = importance_draws(log_density, start, rng=np.random.default_rng(3))
    order = np.argsort(draws.theta[:, 0])
    levels = np.cumsum(draws.weights[order])
    got = np.interp([0.1, 0.5, 0.9], levels, np.exp(draws.theta[order, 0]))
    np.testing.assert_allclose(stats.gamma.cdf(got, shape), [0.1, 0.5, 0.9], atol=0.02)
    assert draws.effective_sample_size > 1000.0


def test_draws_of_two_peaks_have_the_weight_of_each():
    # seven tenths of a normal at -4 and three of one at 4, half as wide, in each of two parameters
    def log_density(theta):
        left = np.log(0.7) - 0.5 * np.sum((theta + 4.0) ** 2, axis=1)
        right = np.log(0.3 / 0.25) - 0.5 * np.sum(((theta - 4.0) / 0.5) ** 2, axis=1)
        return np.logaddexp(left, right)

    peaks = Modes(
        at=np.array([[-4.0, -4.0], [4.0, 4.0]]),
        log_density=np.log([0.7, 1.2]),
        covariance=np.array([np.eye(2), 0.25 * np.eye(2)]),
    )
    draws, _ = importance_draws(log_density, peaks, rng=np.random.default_rng(3))
    assert draws.weights[draws.theta[:, 0] < 0.0].sum() == pytest.approx(0.7, abs=0.02)
    assert draws.effective_sample_size > 1000.0


def test_too_few_effective_draws_are_followed_by_more():
    # twenty coordinates whose scale is the exponential of the first, a funnel: no mixture of two
    def log_density(theta):
        scale = np.exp(2.0 * theta[:, :1])
        rest = -0.5 * np.sum((theta[:, 1:] / scale) ** 2 + 2.0 * np.log(scale), axis=1)
        return rest - 0.5 * theta[:, 0] ** 2

    start = around(np.zeros(21), np.ones(21))
    draws, _ = importance_draws(log_density, start, rng=np.random.default_rng(3))
    assert len(draws.weights) > 4 * 400


def test_it_is_told_which_of_the_points_asked_for_the_draws_are():
    asked = []

    def half(theta):
        asked.append(theta)
        return np.where(theta[:, 0] > 0.0, -0.5 * np.sum(theta**2, axis=1), -np.inf)

    draws, which = importance_draws(
        half, around(np.zeros(2), np.ones(2)), rng=np.random.default_rng(1)
    )
    np.testing.assert_array_equal(np.concatenate(asked)[which], draws.theta)


def test_draws_of_a_density_with_a_far_heavier_tail_do_not_vouch_for_themselves():
    # a Cauchy density in six dimensions, whose proposals fall off with the eleventh power
    def log_density(theta):
        return -3.5 * np.log1p(np.sum(theta**2, axis=1) / 1e-2)

    draws, _ = importance_draws(
        log_density, around(np.zeros(6), np.full(6, 1e-8)), rng=np.random.default_rng(2)
    )
    assert not draws.enough


def test_a_few_draws_stand_for_all_of_them():
    rng = np.random.default_rng(4)
    weights = rng.exponential(size=3000) ** 3
    every = Draws(theta=rng.standard_normal((3000, 2)), weights=weights / weights.sum())
    few, which = every.thinned(800)
    assert (len(few.weights), few.weights.sum()) == (800, pytest.approx(1.0))
    np.testing.assert_array_equal(every.theta[which], few.theta)
    heavy = np.argsort(-every.weights)[:50]
    assert set(heavy) <= set(which)
    assert few.effective_sample_size == pytest.approx(every.effective_sample_size, rel=0.03)
    assert few.weights @ few.theta[:, 0] == pytest.approx(
        every.weights @ every.theta[:, 0], abs=0.03
    )
    assert few.tail_shape == every.tail_shape


def test_draws_of_no_weight_stand_for_nothing():
    draws = Draws(theta=np.arange(6.0)[:, None], weights=np.array([0.0, 0.5, 0.0, 0.0, 0.5, 0.0]))
    few, which = draws.thinned(3)
    assert which.tolist() == [1, 4]
    assert few.effective_sample_size == 2.0


def test_a_narrow_density_far_from_zero_keeps_its_digits():
    # a normal at a thousand, a ten-thousandth wide; one start is right and one far off and wide
    at, sd = np.full(3, 1000.0), 1e-4

    def log_density(theta):
        return -0.5 * np.sum(((theta - at) / sd) ** 2, axis=1)

    starts = Modes(
        at=np.array([at, at + 1.0]),
        log_density=np.zeros(2),
        covariance=np.array([sd**2 * np.eye(3), np.eye(3)]),
    )
    draws, _ = importance_draws(log_density, starts, rng=np.random.default_rng(3))
    off = (draws.theta - at) / sd
    np.testing.assert_allclose(draws.weights @ off, 0.0, atol=0.1)
    np.testing.assert_allclose(draws.weights @ off**2, 1.0, atol=0.15)
    assert draws.effective_sample_size > 500.0
