"""Posterior predictive checks, against scipy's distributions and plain gas laws."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from bubblerate.ferment.checks import last_count_surprise, reading_surprise, weather_per_min
from bubblerate.ferment.fit import fit_curve
from bubblerate.ferment.sampling import Draws

from scenes import known, visits


def slowing() -> list[dict[str, object]]:
    return [{"day": float(d), "bubbles": round(60 * 0.75**d), "seconds": 60.0} for d in range(10)]


def fitted(rows, **more):
    rows = sorted(rows, key=lambda row: row["day"])
    return fit_curve(known(*rows, **more), rng=np.random.default_rng(1))


def best_of(fit):
    """The same with its likeliest draw alone, so that no mixture stands in the way."""
    best = int(np.argmax(fit.draws.weights))
    draws = Draws(theta=fit.draws.theta[[best]], weights=np.ones(1))
    return replace(fit, draws=draws)


def test_readings_on_the_curve_surprise_nobody_and_one_far_off_does():
    on_it = [{"day": d, "sg": sg} for d, sg in ((2.0, 1.018), (5.0, 1.010), (9.0, 1.004))]
    assert np.all(reading_surprise(fitted([*slowing(), *on_it])) > 0.1)
    off_it = [*on_it, {"day": 6.0, "sg": 1.041}]
    assert reading_surprise(fitted([*slowing(), *off_it]))[2] < 0.03


@pytest.mark.parametrize("bubbles", [0, 4, 30])
def test_the_surprise_of_the_last_count_is_that_of_scipys_negative_binomial(bubbles):
    fit = best_of(fitted(slowing()))
    tail = fit.evidence.tail
    counts = np.array([*tail.bubbles[:-1], float(bubbles)])
    fit = replace(fit, evidence=replace(fit.evidence, tail=replace(tail, bubbles=counts)))
    excess, chance = last_count_surprise(fit)
    mean = float(np.exp(fit.curve.log_per_min(tail.days[-1:]))[0, 0])
    size = float(fit.curve.overdispersion[0, 0]) ** -2
    counted = stats.nbinom(size, size / (size + mean))
    assert excess == pytest.approx(bubbles - mean)
    expected = 2.0 * min(counted.cdf(bubbles), counted.sf(bubbles - 1))
    assert chance == pytest.approx(expected, rel=1e-6)


def test_a_falling_barometer_drives_out_the_gas_of_the_headspace_at_least():
    fit = fitted(slowing(), litres=23.0)
    before, after = visits(
        {"day": 0.0, "bubbles": 1, "pressure_hpa": 1013.0},
        {"day": 0.5, "bubbles": 1, "pressure_hpa": 993.0},
    )
    headspace_ml = 1000.0 * 0.07 * 23.0 * (1013.0 / 993.0 - 1.0)  # Boyle's law, dry gas
    least = headspace_ml / fit.evidence.bubble_ml.ml / 720.0
    assert least < weather_per_min(fit, before, after) < 20.0 * least
    assert weather_per_min(fit, after, before) == 0.0  # no time between them
    assert weather_per_min(fitted(slowing(), litres=None), before, after) == 0.0
