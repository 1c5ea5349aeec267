"""The terms of the log density, against scipy.stats and hand-made sums."""

import numpy as np
import pytest
from scipy import stats

from bubblerate.likelihood import (
    curve,
    evening_weights,
    log_negative_binomial,
    log_prior,
    log_tallies,
    thermal_days,
)
from bubblerate.priors import PARAMETERS, priors
from bubblerate.tail import tail

from conftest import visits


@pytest.mark.parametrize("scatter", [0.05, 0.17, 1.0])
def test_the_negative_binomial_is_that_of_scipy(scatter):
    counts, mean = np.array([0, 1, 7, 300]), np.array([0.2, 3.0, 7.0, 250.0])
    size = 1.0 / scatter**2
    expected = stats.nbinom.logpmf(counts, size, size / (size + mean))
    np.testing.assert_allclose(
        log_negative_binomial(counts, np.log(mean), scatter), expected, rtol=1e-9
    )


@pytest.mark.parametrize("scatter", [0.0, 1e-5, 1e-4])
def test_without_scatter_it_is_poisson(scatter):
    counts, mean = np.array([0, 1, 7, 300]), np.array([0.2, 3.0, 7.0, 250.0])
    np.testing.assert_allclose(
        log_negative_binomial(counts, np.log(mean), scatter),
        stats.poisson.logpmf(counts, mean),
        rtol=1e-4,
    )


def test_priors_are_listed_in_the_order_of_the_parameters():
    names = [prior.name for prior in priors(4.5)]
    assert names[1:] == list(PARAMETERS[1:])
    assert (names[0], PARAMETERS[0]) == ("gas", "rate")


def test_knowing_the_litres_narrows_the_gas_of_a_point():
    unknown, known = priors(None)[0], priors(4.5)[0]
    assert known.spread < unknown.spread
    # one bubble a minute in a jar is half to one point a day, arithmetic of the trade
    assert 0.5 < 1.0 / known.centre < 1.0


@pytest.mark.parametrize("litres", [0.0, -4.5, np.nan])
def test_litres_that_cannot_be_are_refused(litres):
    with pytest.raises(ValueError, match="litres must be above 0"):
        priors(litres)


def test_the_prior_is_the_sum_of_normals_in_the_logarithms():
    table = priors(4.5)
    rng = np.random.default_rng(1)
    theta = np.log([p.centre for p in table]) + 0.3 * rng.standard_normal((4, len(table)))
    c = curve(theta)
    values = np.column_stack([c.log_per_point[:, 0], theta[:, 1:]])
    expected = sum(
        stats.norm.logpdf(values[:, i], np.log(p.centre), p.spread) for i, p in enumerate(table)
    )
    differences = log_prior(theta, table) - expected
    np.testing.assert_allclose(differences, differences[0])


def test_a_longer_count_weighs_more_and_a_zero_is_data():
    short = tail(visits(*({"day": d, "bubbles": 0, "seconds": 60.0} for d in range(3))))
    long = tail(visits(*({"day": d, "bubbles": 0, "seconds": 600.0} for d in range(3))))
    theta = np.log([[5.0, 4.0, 30.0, 4.5, 0.06, 3.0, 0.15, 0.17, 2.0]])
    assert log_tallies(theta, long)[0] < log_tallies(theta, short)[0] < 0.0


def test_a_warm_evening_counts_for_more_time():
    days, warmth = np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.0, 1.0])
    felt = thermal_days(days, warmth, np.array([[2.0], [1.0]]))
    np.testing.assert_allclose(felt, [[0.0, 1.5, 3.5], [0.0, 1.0, 2.0]])


def test_evenings_close_together_share_their_scatter_and_say_less():
    many = [{"day": d, "bubbles": 30} for d in range(6)]
    daily = evening_weights(tail(visits(*many)))
    weekly = evening_weights(tail(visits(*({**v, "day": 7 * v["day"]} for v in many))))
    assert np.all(daily < 0.8)
    assert np.all(weekly > 0.97)


def test_few_bubbles_are_mostly_chance_and_keep_their_say():
    few = tail(visits(*({"day": d, "bubbles": 1} for d in range(6))))
    assert np.all(evening_weights(few) > 0.85)


def test_counting_twice_an_evening_never_says_less():
    once = tail(visits(*({"day": float(d), "bubbles": 30} for d in range(8))))
    rows = [{"day": d + e, "bubbles": 30} for d in range(8) for e in (0.0, 0.005)]
    twice = tail(visits(*rows))
    assert evening_weights(twice).sum() > evening_weights(once).sum()


def test_counts_at_the_same_moment_do_no_harm():
    twice = tail(
        visits({"day": 0, "bubbles": 9}, {"day": 0, "bubbles": 8}, {"day": 1, "bubbles": 7})
    )
    assert np.all(np.isfinite(evening_weights(twice)))
    assert np.all(evening_weights(twice) > 0.0)
