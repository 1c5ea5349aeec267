"""The mode finder and the sampler, against certified sets, handbook data and known densities."""

import numpy as np
import pytest
from scipy import stats

from bubblerate.fit import fit, importance_draws, mode
from bubblerate.likelihood import log_negative_binomial

from conftest import known, reference

# NIST StRD models, as printed in summary.csv.
MODELS = {
    "Misra1a": lambda b, x: b[0] * (1.0 - np.exp(-b[1] * x)),
    "Misra1d": lambda b, x: b[0] * b[1] * x / (1.0 + b[1] * x),
    "BoxBOD": lambda b, x: b[0] * (1.0 - np.exp(-b[1] * x)),
    "Chwirut2": lambda b, x: np.exp(-b[0] * x) / (b[1] + b[2] * x),
    "MGH17": lambda b, x: b[0] + b[1] * np.exp(-x * b[3]) + b[2] * np.exp(-x * b[4]),
}


@pytest.mark.parametrize("name", MODELS)
def test_the_mode_finder_reaches_the_certified_values_of_nist(name):
    # NIST Statistical Reference Datasets, Nonlinear Regression: start 2, certified to 11 digits.
    data, certified = reference(f"nist_strd/{name}.csv"), reference("nist_strd/certified.csv")
    rows = certified[certified.dataset == name]
    summary = reference("nist_strd/summary.csv").set_index("dataset").loc[name]
    x, y = data.iloc[:, 0].to_numpy(), data.iloc[:, 1].to_numpy()
    unit = rows.start2.to_numpy(float)  # parameters are counted in their starting values

    def log_density(theta):
        model = MODELS[name]((theta * unit).T[:, :, None], x)
        return -0.5 * np.sum((y - model) ** 2, axis=-1) / summary.residual_sd_certified**2

    best, _ = mode(log_density, np.ones(len(unit)), scale=np.full(len(unit), 0.1))
    digits = -np.log10(np.abs(best * unit / rows.certified_value.to_numpy() - 1.0))
    assert np.min(digits) > 4.0  # differences, not derivatives: a mode needs no more


def silver_log_density():
    data = reference("silver_counts.csv")
    t, counts = data.time_s.to_numpy(), data.counts.to_numpy()

    def log_density(theta):
        a1, a2, a3, a4, a5 = np.exp(theta).T[:, :, None]
        mean = a1 + a2 * np.exp(-t / a4) + a3 * np.exp(-t / a5)
        return np.sum(log_negative_binomial(counts, np.log(mean), 0.0), axis=-1)

    return log_density


def test_silver_decay_is_fitted_as_by_poisson_maximum_likelihood():
    # Bevington and Robinson, chapter 8; poisson_ml_recomputed: an independent evaluation.
    expected = reference("silver_fit.csv").iloc[:5]
    best, covariance = mode(
        silver_log_density(), np.log([10.0, 900.0, 130.0, 30.0, 200.0]), scale=np.ones(5)
    )
    np.testing.assert_allclose(
        np.exp(best), expected.poisson_ml_recomputed.astype(float), rtol=1e-4
    )
    book_sd = expected.book_sd_from_covariance.to_numpy(float)
    assert np.all(np.abs(np.exp(best) - expected.book_value.to_numpy(float)) < book_sd)
    sd = np.sqrt(np.diag(covariance)) * np.exp(best)
    np.testing.assert_allclose(sd, expected.poisson_ml_sd_recomputed.astype(float), rtol=0.1)


def test_draws_of_a_skewed_density_have_its_quantiles():
    # a gamma density seen in its logarithm, quantiles from scipy.stats
    shape = 1.5

    def log_density(theta):
        return shape * theta[:, 0] - np.exp(theta[:, 0]) - 0.5 * theta[:, 1] ** 2

    best, covariance = mode(log_density, np.array([1.0, 1.0]), scale=np.ones(2))
    draws = importance_draws(log_density, best, covariance, rng=np.random.default_rng(3))
    order = np.argsort(draws.theta[:, 0])
    levels = np.cumsum(draws.weights[order])
    got = np.interp([0.1, 0.5, 0.9], levels, np.exp(draws.theta[order, 0]))
    np.testing.assert_allclose(stats.gamma.cdf(got, shape), [0.1, 0.5, 0.9], atol=0.02)
    assert draws.effective > 1000.0


def slowing(n: int, half_life: float, first: float) -> list[dict[str, object]]:
    return [{"day": float(d), "bubbles": round(first * 0.5 ** (d / half_life))} for d in range(n)]


def test_the_same_counts_always_give_the_same_answer():
    of_it = known(*slowing(8, 2.5, 40.0))
    one, two = (fit(of_it, rng=np.random.default_rng(1)) for _ in range(2))
    np.testing.assert_array_equal(one.draws.theta, two.draws.theta)
    np.testing.assert_array_equal(one.draws.weights, two.draws.weights)


def test_the_rate_at_the_start_is_close_to_what_was_counted():
    result = fit(known(*slowing(8, 2.5, 40.0)), rng=np.random.default_rng(1))
    start = np.exp(result.best[result.names.index("rate")])
    assert start == pytest.approx(40.0, rel=0.25)
    assert result.distrust == ""


@pytest.mark.parametrize(
    "counts", [[0, 0, 0], [1000000, 3, 0], [5] * 40, [900, 1, 500, 1, 90, 2, 4]]
)
def test_odd_counts_give_finite_draws_and_weights_that_sum_to_1(counts):
    rows = [{"day": float(d), "bubbles": n} for d, n in enumerate(counts)]
    result = fit(known(*rows, litres=None), rng=np.random.default_rng(1))
    assert np.all(np.isfinite(result.draws.theta))
    assert result.draws.weights.sum() == pytest.approx(1.0)


def test_two_counts_are_too_few_for_a_fit():
    with pytest.raises(ValueError, match="a fit needs 3 counts or more, got 2"):
        fit(known(*slowing(2, 2.5, 40.0)), rng=np.random.default_rng(1))
