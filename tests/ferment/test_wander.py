"""Tests how far counts are from a curve, and where the jar goes from there."""

import numpy as np
import pytest
from scipy import stats

from bubblerate.ferment.wander import Wander, covariance, deviance_residuals, own_variance, smooth
from bubblerate.ferment.whole import Clock, Whole

from scenes import START

DAYS = np.arange(12.0)
NONE = np.empty(0)


def jar(bubbles, trust=1.0):
    n = len(bubbles)
    return Whole(
        clock=Clock.of(START, DAYS[:n], np.zeros(n)),
        pitched_within_days=0.0,
        days=DAYS[:n],
        bubbles=np.asarray(bubbles, float),
        seconds=np.full(n, 60.0),
        trust=np.full(n, trust),
        reading_days=NONE,
        reading_points=NONE,
        og_points=None,
        finish_points=None,
        litres=None,
    )


FALLING = [40, 38, 33, 30, 27, 23, 21, 18, 16, 14, 12, 11]


def test_where_chance_is_all_there_is_counts_weigh_as_poisson():
    counts, mean = np.array([0.0, 1.0, 7.0, 300.0]), np.array([[0.2, 3.0, 7.0, 250.0]])
    above = np.array([[0.0, 0.4]])
    off = deviance_residuals(counts, np.log(mean), above)
    poisson = stats.poisson.logpmf(counts, mean * np.exp(above).T) - stats.poisson.logpmf(
        counts, counts
    )
    np.testing.assert_allclose(-0.5 * off[0] ** 2, poisson, atol=1e-9)
    assert np.all(np.sign(off[0]) == np.sign(counts - mean * np.exp(above).T))


def test_with_many_bubbles_a_residual_is_a_difference_of_logarithms():
    counts, log_mean = np.array([1000.0, 1000.0]), np.log([[1000.0, 1050.0]])
    off = deviance_residuals(counts, log_mean, np.zeros((1, 1)))[0, 0] / np.sqrt(counts)
    np.testing.assert_allclose(off, np.log(counts) - log_mean[0], atol=2e-3)


def test_of_many_bubbles_little_is_chance_and_of_few_nearly_all():
    many, few = own_variance(jar([400] * 6)), own_variance(jar([1] * 6))
    np.testing.assert_allclose(many, 1.0 / 401.0, rtol=1e-2)
    np.testing.assert_allclose(few, 1.0 / 2.0, rtol=1e-2)
    assert np.all(own_variance(jar([400] * 6, trust=0.2)) > 10.0 * many)


def test_before_the_peak_a_count_says_less_of_the_curve_than_five_bubbles_after_it():
    after = own_variance(jar([5] * 6))[0]
    own = own_variance(jar([30, 60, 120, 240, 400, 380, 300, 240]))
    assert own[:3].min() > 2.0 * after > 2.0 * own[-3:].max()


@pytest.mark.parametrize(
    ("at", "count", "wild"),
    [(5, 230, True), (5, 2, True), (11, 120, True), (11, 1, False), (4, 40, False)],
)
def test_a_count_is_wild_that_stands_off_both_its_sides_and_a_last_one_may_be_low(at, count, wild):
    counts = [*FALLING[:at], count, *FALLING[at + 1 :]]
    assert (own_variance(jar(counts))[at] > 2.0) == wild


def test_neighbours_say_what_to_expect():
    np.testing.assert_allclose(smooth(jar(FALLING))[2:-2], FALLING[2:-2], rtol=0.1)


def test_neighbouring_evenings_share_their_scatter():
    shared = covariance(jar(FALLING))
    assert np.all(np.linalg.eigvalsh(shared) > 0.0)
    assert shared[0, 0] > shared[0, 1] > shared[0, 2] > shared[0, 11] > 0.0


def test_the_jar_stays_off_its_curve_for_a_week_and_strays_by_chance_afterwards():
    # 40 % more than the curve has on all of the last evenings
    root = np.linalg.inv(np.linalg.cholesky(covariance(jar(FALLING))))
    white = np.tile(root @ np.full(12, np.log(1.4)), (400, 1))
    chance = stats.norm.ppf((np.arange(400) + 0.5) / 400)
    days = np.array([6.0, 11.0, 14.0, 60.0])
    off = Wander(days=DAYS, root=root, white=white, chance=chance).at(days)
    middle, spread = off.mean(axis=0), off.std(axis=0)
    assert middle[0] == pytest.approx(np.log(1.4), abs=0.12)
    assert np.all(np.diff(middle[1:]) < 0.0)
    assert middle[3] == pytest.approx(0.0, abs=0.01)
    assert np.all(np.diff(spread) > 0.0)
    assert spread[3] == pytest.approx(0.25, abs=0.01)
