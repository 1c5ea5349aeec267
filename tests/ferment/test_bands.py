import numpy as np
import pytest

from bubblerate.diary.reading import read
from bubblerate.ferment.bands import gravity_bands, rate_bands, rates_ahead, smooth_quantiles
from bubblerate.ferment.chances import quantiles
from bubblerate.ferment.curve import thermal_days_at

from drawings import judged
from scenes import EXAMPLES

LEVELS = [0.1, 0.5, 0.9]


@pytest.fixture(scope="module")
def mead():
    return judged(read(EXAMPLES / "chestnut-honey-mead.csv"))


def plain(log_rates, weights, levels):
    """Quantiles day by day, of all draws."""
    return np.array([quantiles(column, weights, levels) for column in log_rates.T]).T


def bends(lines):
    return np.abs(np.diff(lines, n=2, axis=1)).sum(axis=1)


def fit_alone(fit, days):
    """Log of the rates past the last count, by every draw of a fit."""
    thermal = thermal_days_at(fit.tail.days[-1] + days, fit.thermal, fit.tail.days)
    return fit.curve.log_per_min(thermal)


def test_what_is_drawn_ahead_is_far_smoother_than_quantiles_day_by_day(mead):
    days, fit = np.linspace(0.0, 30.0, 120), mead.fit
    last = fit.tail.moment(float(fit.tail.days[-1]))
    ours = np.log(rates_ahead(fit, None, last, days, LEVELS))
    assert np.all(bends(ours) < 0.3 * bends(plain(fit_alone(fit, days), fit.draws.weights, LEVELS)))


def test_and_no_further_from_them_than_chance_puts_them(mead):
    days, fit = np.linspace(0.0, 30.0, 60), mead.fit
    last = fit.tail.moment(float(fit.tail.days[-1]))
    ours = np.log(rates_ahead(fit, None, last, days, LEVELS))
    effective = 1.0 / np.sum(fit.draws.weights**2)
    off = 2.5 * np.sqrt(np.array(LEVELS) * (1.0 - np.array(LEVELS)) / effective)
    log_rates = fit_alone(fit, days)
    low = plain(log_rates, fit.draws.weights, LEVELS - off)
    high = plain(log_rates, fit.draws.weights, LEVELS + off)
    assert np.all((low <= ours) & (ours <= high))


def test_smooth_quantiles_are_those_of_a_known_spread():
    # Normal quantiles at 0.1, 0.5 and 0.9: -1.2816, 0, 1.2816 (any table).
    draws = np.random.default_rng(1).normal(size=(4000, 20))
    found = smooth_quantiles(draws, LEVELS, effective=4000.0).mean(axis=1)
    assert found == pytest.approx([-1.2816, 0.0, 1.2816], abs=0.02)


def test_quantiles_never_cross(mead):
    fit = mead.fit
    days = np.linspace(0.0, float(fit.tail.days[-1]), 50)
    for bands in (rate_bands(fit, days, LEVELS), gravity_bands(fit, days, LEVELS)):
        assert np.all(np.diff(bands, axis=0) > 0.0)


def test_one_day_alone_is_drawn_too(mead):
    last = mead.fit.tail.moment(float(mead.fit.tail.days[-1]))
    (found,) = rates_ahead(mead.fit, None, last, np.array([0.0]), [0.5])
    assert 1.0 < found[0] < 4.0
