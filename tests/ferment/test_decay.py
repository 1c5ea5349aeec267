"""The closed forms and their crossing, against scipy's integrators and root finders."""

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from bubblerate.ferment.crossing import crossing_days
from bubblerate.ferment.decay import (
    log_fall_per_day,
    log_gas_per_day,
    points_left,
    points_never,
)

CURVE = ("max_uptake", "sugar", "half_saturation", "inactivation_per_day")


def some_curve(seed: int) -> dict[str, float]:
    rng = np.random.default_rng(seed)
    return {
        "max_uptake": float(np.exp(rng.normal(1.0, 1.0))),
        "sugar": float(np.exp(rng.normal(3.0, 1.0))),
        "half_saturation": float(np.exp(rng.normal(1.5, 0.5))),
        "inactivation_per_day": 0.0 if seed % 5 == 0 else float(np.exp(rng.normal(-3.0, 1.2))),
    }


def fall(t: float, sugar: float, c: dict[str, float]) -> float:
    """Equation 1 as it stands, nothing solved."""
    return (
        c["max_uptake"]
        * np.exp(-c["inactivation_per_day"] * t)
        * sugar
        / (c["half_saturation"] + sugar)
    )


@pytest.mark.parametrize("seed", range(10))
def test_sugar_left_solves_the_differential_equation(seed):
    c, days = some_curve(seed), np.linspace(0.0, 40.0, 9)
    run = solve_ivp(
        lambda t, s: [-fall(t, s[0], c)],
        (0.0, 40.0),
        [c["sugar"]],
        t_eval=days,
        rtol=1e-10,
        atol=1e-12,
        method="LSODA",
    )
    np.testing.assert_allclose(points_left(days, **c), run.y[0], rtol=1e-6, atol=1e-8)


@pytest.mark.parametrize("seed", range(10))
def test_the_fall_is_the_equation_at_the_sugar_left(seed):
    c = some_curve(seed)
    for t in (0.0, 0.3, 7.0, 30.0):
        left = float(points_left(t, **c))
        assert np.exp(log_fall_per_day(t, **c)) == pytest.approx(fall(t, left, c), rel=1e-9)


@pytest.mark.parametrize("seed", range(10))
def test_what_has_fallen_is_the_area_under_the_fall(seed):
    c = some_curve(seed)
    area, _ = quad(lambda t: np.exp(log_fall_per_day(t, **c)), 2.0, 25.0, epsabs=1e-10)
    assert area == pytest.approx(points_left(2.0, **c) - points_left(25.0, **c), abs=1e-7)


def some_gas(seed: int) -> dict[str, float]:
    rng = np.random.default_rng(100 + seed)
    second, pace = np.exp(rng.normal(0.0, 1.5)), np.exp(rng.normal(-2.0, 1.0))
    return {**some_curve(seed), "second": float(second), "pace": float(pace)}


@pytest.mark.parametrize("seed", range(20))
def test_the_crossing_is_the_root_that_scipy_finds(seed):
    c = some_gas(seed)
    start = float(log_gas_per_day(0.0, **c))
    root = brentq(lambda t: log_gas_per_day(t, **c) - start + 1.5, 0.0, 1e6, xtol=1e-11)
    assert crossing_days(np.exp(start - 1.5), **c) == pytest.approx(root, rel=1e-7)


def test_the_crossing_takes_many_curves_at_once():
    curves = [some_gas(seed) for seed in range(200)]
    stacked = {name: np.array([c[name] for c in curves]) for name in curves[0]}
    target = 0.5 * np.exp(log_gas_per_day(0.0, **stacked))
    days = crossing_days(target, **stacked)
    np.testing.assert_allclose(np.exp(log_gas_per_day(days, **stacked)), target, rtol=1e-6)


def test_the_crossing_is_found_where_newton_would_go_in_circles():
    # steep while there is sugar, then nearly level: each slope points to the other side
    c = {
        "max_uptake": 1.52215951,
        "sugar": 7.16543782,
        "half_saturation": 0.35528852,
        "inactivation_per_day": 0.01474533,
    }
    c |= {"second": 76.14512486, "pace": 0.01040438}
    days = crossing_days(0.7602218, **c)
    assert np.exp(log_gas_per_day(days, **c)) == pytest.approx(0.7602218, rel=1e-6)


def test_the_crossing_is_found_where_rounding_hides_the_slope():
    c = {
        "max_uptake": 4089.3338988869314,
        "sugar": 13051574.261366518,
        "half_saturation": 3.946116024642823,
    }
    c |= {"inactivation_per_day": 0.00024789567222246144, "second": 494.178, "pace": 1.7208}
    days = crossing_days(3215.013479273149, **c)
    assert np.exp(log_gas_per_day(days, **c)) == pytest.approx(3215.013479273149, rel=1e-6)


def test_gas_that_starts_below_the_rate_crosses_at_once():
    assert crossing_days(50.0, **some_gas(1)) == 0.0


def test_the_gas_held_back_leaves_to_the_last():
    c = some_gas(3)
    fermented, _ = quad(lambda t: np.exp(log_fall_per_day(t, **{k: c[k] for k in CURVE})), 0, 400)
    all_gas, _ = quad(lambda t: np.exp(log_gas_per_day(t, **c)), 0.0, 400.0)
    assert all_gas - fermented == pytest.approx(c["second"], rel=1e-4)


def test_with_next_to_no_gas_held_back_it_is_the_curve_alone():
    c = some_curve(2)
    target = 0.3 * float(np.exp(log_fall_per_day(0.0, **c)))
    days = crossing_days(target, **c, second=1e-12, pace=1.0)
    assert np.exp(log_fall_per_day(days, **c)) == pytest.approx(target, rel=1e-6)


@pytest.mark.parametrize("seed", range(10))
def test_what_a_dying_yeast_never_reaches_is_the_limit_of_what_is_left(seed):
    c = some_curve(seed)
    late = float(points_left(4000.0, **c))
    assert points_never(**c) == pytest.approx(late, abs=1e-6)


def test_with_little_sugar_and_no_dying_it_is_the_plain_exponential():
    c = {"max_uptake": 0.9, "sugar": 1e-6, "half_saturation": 4.5, "inactivation_per_day": 0.0}
    days = np.array([0.0, 3.0, 12.0])
    expected = 1e-6 * np.exp(-days * 0.9 / 4.5)
    np.testing.assert_allclose(points_left(days, **c), expected, rtol=1e-6)


def test_the_logarithm_of_the_fall_is_finite_where_the_fall_underflows():
    c = {"max_uptake": 20.0, "sugar": 30.0, "half_saturation": 0.5, "inactivation_per_day": 0.0}
    assert np.isfinite(log_fall_per_day(400.0, **c))


@pytest.mark.parametrize("seed", range(5))
def test_counting_time_in_other_units_scales_the_answer(seed):
    c = some_gas(seed)
    per_hour = {name: c[name] / 24.0 for name in ("max_uptake", "inactivation_per_day", "pace")}
    in_days = crossing_days(0.3, **c)
    in_hours = crossing_days(0.3 / 24.0, **{**c, **per_hour})
    assert in_hours == pytest.approx(24.0 * in_days, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("rate", [0.0, -1.0, np.nan])
def test_a_rate_that_is_not_above_0_is_refused(rate):
    with pytest.raises(ValueError, match="gas_per_day must be above 0 points/day"):
        crossing_days(rate, **some_gas(1))
