"""The posterior of a tail: the same each time, finite, and true to what was counted."""

import numpy as np
import pytest

from bubblerate.ferment import fit
from bubblerate.ferment.fit import FitError, fit_curve

from scenes import known


def slowing(n: int, half_life: float, first: float) -> list[dict[str, object]]:
    return [{"day": float(d), "bubbles": round(first * 0.5 ** (d / half_life))} for d in range(n)]


def test_the_same_counts_always_give_the_same_answer():
    of_it = known(*slowing(8, 2.5, 40.0))
    one, two = (fit_curve(of_it, rng=np.random.default_rng(1)) for _ in range(2))
    np.testing.assert_array_equal(one.draws.theta, two.draws.theta)
    np.testing.assert_array_equal(one.draws.weights, two.draws.weights)


def test_the_rate_at_the_start_is_close_to_what_was_counted():
    result = fit_curve(known(*slowing(8, 2.5, 40.0)), rng=np.random.default_rng(1))
    start = float(result.draws.weights @ result.curve.rate[:, 0])
    assert start == pytest.approx(40.0, rel=0.25)
    assert result.distrust == ""


@pytest.mark.parametrize(
    "counts", [[0, 0, 0], [1000000, 3, 0], [5] * 40, [900, 1, 500, 1, 90, 2, 4]]
)
def test_odd_counts_give_finite_draws_and_weights_that_sum_to_1(counts):
    rows = [{"day": float(d), "bubbles": n} for d, n in enumerate(counts)]
    result = fit_curve(known(*rows, litres=None), rng=np.random.default_rng(1))
    assert np.all(np.isfinite(result.draws.theta))
    assert result.draws.weights.sum() == pytest.approx(1.0)


def test_two_counts_are_too_few_for_a_fit():
    with pytest.raises(ValueError, match="a fit needs 3 counts or more, got 2"):
        fit_curve(known(*slowing(2, 2.5, 40.0)), rng=np.random.default_rng(1))


def test_a_silent_airlock_over_a_high_gravity_is_yeast_that_died():
    rows = [{"day": float(d), "bubbles": round(60 * 0.4**d), "seconds": 300.0} for d in range(12)]
    rows += [{"day": 12.0, "sg": 1.030}, {"day": 18.0, "sg": 1.030}]
    result = fit_curve(known(*rows), rng=np.random.default_rng(1))
    never = result.draws.weights @ result.curve.points_never[:, 0]
    assert never > 15.0


def test_a_reading_narrows_what_is_still_to_fall():
    counts = slowing(8, 4.0, 40.0)
    spans = []
    for read in ([], [{"day": 5.0, "sg": 1.012}]):
        rows = sorted([*counts, *read], key=lambda row: float(str(row["day"])))
        result = fit_curve(known(*rows, finish_sg=0.998), rng=np.random.default_rng(1))
        left = result.curve.points_left(7.0)[:, 0]
        mean = result.draws.weights @ left
        spans.append(np.sqrt(result.draws.weights @ (left - mean) ** 2))
    assert spans[1] < 0.5 * spans[0]


def test_one_wild_count_hardly_moves_the_rate():
    counts = slowing(9, 3.0, 60.0)
    wild = [
        {**row, "bubbles": 10 * int(str(row["bubbles"]))} if i == 5 else row
        for i, row in enumerate(counts)
    ]
    rates = []
    for rows in (counts, wild):
        result = fit_curve(known(*rows), rng=np.random.default_rng(1))
        rates.append(float(result.draws.weights @ np.exp(result.curve.log_per_min(8.0)[:, 0])))
    assert rates[1] == pytest.approx(rates[0], rel=0.2)


def test_silence_after_another_airlock_is_no_silence_of_the_yeast_at_once():
    rows = [*slowing(6, 6.0, 40.0), {"day": 5.5, "event": "airlock"}]
    after = [{"day": 6.0 + d, "bubbles": n} for d, n in enumerate((10, 9, 8))]
    result = fit_curve(known(*rows, *after), rng=np.random.default_rng(1))
    smaller = result.draws.weights @ result.curve.log_bubbles[:, 0]
    assert smaller > 0.3  # the same gas made more bubbles in the old one


def test_the_curve_and_the_worth_of_a_fit_are_worked_out_once():
    first = fit_curve(known(*slowing(8, 2.5, 40.0)), rng=np.random.default_rng(1))
    assert first.curve is first.curve
    assert first.distrust is first.distrust


@pytest.mark.parametrize("power", [1e4, -1e4])
def test_no_answer_comes_out_of_a_sum_that_would_have_warned(monkeypatch, power):
    real = fit.terms  # type: ignore[attr-defined]

    def overflowing(theta, evidence, priors):
        np.reciprocal(np.exp(np.full(3, power)))  # over at one end, a division by 0 at the other
        return real(theta, evidence, priors)

    monkeypatch.setattr(fit, "terms", overflowing)
    with pytest.raises(FitError):
        fit_curve(known(*slowing(8, 2.5, 40.0)), rng=np.random.default_rng(1))
