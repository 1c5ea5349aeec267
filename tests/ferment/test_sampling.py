"""The peak finder and the sampler, against certified sets, handbook data and known densities."""

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from scipy import stats

from bubblerate.ferment.likelihood import log_negative_binomial
from bubblerate.ferment.sampling import Mode, find_mode, importance_draws

from scenes import reference

# NIST StRD models, as printed in summary.csv.
MODELS = {
    "Misra1a": lambda b, x: b[0] * (1.0 - np.exp(-b[1] * x)),
    "Misra1d": lambda b, x: b[0] * b[1] * x / (1.0 + b[1] * x),
    "BoxBOD": lambda b, x: b[0] * (1.0 - np.exp(-b[1] * x)),
    "Chwirut2": lambda b, x: np.exp(-b[0] * x) / (b[1] + b[2] * x),
    "MGH17": lambda b, x: b[0] + b[1] * np.exp(-x * b[3]) + b[2] * np.exp(-x * b[4]),
}


@pytest.mark.parametrize("name", MODELS)
def test_the_peak_finder_reaches_the_certified_values_of_nist(name):
    # NIST Statistical Reference Datasets, Nonlinear Regression: start 2, certified to 11 digits.
    data, certified = reference(f"nist_strd/{name}.csv"), reference("nist_strd/certified.csv")
    rows = certified[certified.dataset == name]
    summary = reference("nist_strd/summary.csv").set_index("dataset").loc[name]
    x, y = data.iloc[:, 0].to_numpy(), data.iloc[:, 1].to_numpy()
    unit = rows.start2.to_numpy(float)  # parameters are counted in their starting values

    def log_density(theta):
        model = MODELS[name]((theta * unit).T[:, :, None], x)
        return -0.5 * np.sum((y - model) ** 2, axis=-1) / summary.residual_sd_certified**2

    best = find_mode(log_density, np.ones(len(unit)), scale=np.full(len(unit), 0.1)).at
    digits = -np.log10(np.abs(best * unit / rows.certified_value.to_numpy() - 1.0))
    assert np.min(digits) > 4.0  # differences, not derivatives: a peak needs no more


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
    found = find_mode(
        silver_log_density(), np.log([10.0, 900.0, 130.0, 30.0, 200.0]), scale=np.ones(5)
    )
    np.testing.assert_allclose(
        np.exp(found.at), expected.poisson_ml_recomputed.astype(float), rtol=1e-4
    )
    book_sd = expected.book_sd_from_covariance.to_numpy(float)
    assert np.all(np.abs(np.exp(found.at) - expected.book_value.to_numpy(float)) < book_sd)
    sd = np.sqrt(np.diag(found.covariance)) * np.exp(found.at)
    np.testing.assert_allclose(sd, expected.poisson_ml_sd_recomputed.astype(float), rtol=0.1)


def test_draws_of_a_skewed_density_have_its_quantiles():
    # a gamma density seen in its logarithm, quantiles from scipy.stats
    shape = 1.5

    def log_density(theta):
        return shape * theta[:, 0] - np.exp(theta[:, 0]) - 0.5 * theta[:, 1] ** 2

    found = find_mode(log_density, np.array([1.0, 1.0]), scale=np.ones(2))
    draws = importance_draws(log_density, [found], rng=np.random.default_rng(3))
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

    peaks = [find_mode(log_density, np.full(2, start), scale=np.ones(2)) for start in (-5.0, 5.0)]
    draws = importance_draws(log_density, peaks, rng=np.random.default_rng(3))
    assert draws.weights[draws.theta[:, 0] < 0.0].sum() == pytest.approx(0.7, abs=0.02)
    assert draws.effective_sample_size > 1000.0


def test_too_few_effective_draws_are_followed_by_more():
    # ten coordinates whose scale is the exponential of the first, a funnel: no mixture of two
    def log_density(theta):
        scale = np.exp(2.0 * theta[:, :1])
        rest = -0.5 * np.sum((theta[:, 1:] / scale) ** 2 + 2.0 * np.log(scale), axis=1)
        return rest - 0.5 * theta[:, 0] ** 2

    start = Mode(at=np.zeros(11), covariance=np.eye(11))
    draws = importance_draws(log_density, [start], rng=np.random.default_rng(3))
    assert len(draws.weights) > 8 * 300


def test_ships_are_fitted_as_by_a_log_linear_poisson_model():
    # McCullagh and Nelder's ships: our counts without scatter, against statsmodels and against
    # the estimates and standard errors that R prints (5 decimals).
    ships = reference("ships.csv").query("service_months > 0")
    dummies = pd.get_dummies(ships[["type", "year", "period"]].astype(str), dtype=float)
    dummies = dummies.drop(columns=["type_A", "year_60", "period_60"])
    x = np.column_stack([np.ones(len(ships)), dummies])
    exposure, counts = ships.service_months.to_numpy(float), ships.incidents.to_numpy(float)

    def log_density(theta):
        log_mean = theta @ x.T + np.log(exposure)
        return np.sum(log_negative_binomial(counts, log_mean, 0.0), axis=-1)

    found = find_mode(log_density, np.array([-6.0, *np.zeros(8)]), scale=np.full(9, 0.3))
    sd = np.sqrt(np.diag(found.covariance))
    printed = [-6.40590, -0.54334, -0.68740, -0.07596, 0.32558, 0.69714, 0.81843, 0.45343, 0.38447]
    printed_sd = [0.21744, 0.17759, 0.32904, 0.29058, 0.23588, 0.14964, 0.16977, 0.23317, 0.11827]
    np.testing.assert_allclose(found.at, printed, atol=2e-5)
    np.testing.assert_allclose(sd, printed_sd, rtol=1e-3)
    glm = sm.GLM(counts, x, family=sm.families.Poisson(), exposure=exposure).fit()
    np.testing.assert_allclose(found.at, glm.params, atol=2e-5)
    assert log_density(found.at[None])[0] == pytest.approx(glm.llf, abs=1e-6)


def test_silver_without_its_background_is_fitted_as_by_statsmodels():
    # one exponential over the first ten bins: a log-linear model, so that the two can be compared
    data = reference("silver_counts.csv").iloc[:10]
    x = np.column_stack([np.ones(10), data.time_s / 100.0])
    counts = data.counts.to_numpy(float)

    def log_density(theta):
        return np.sum(log_negative_binomial(counts, theta @ x.T, 0.0), axis=-1)

    found = find_mode(log_density, np.array([6.0, 0.0]), scale=np.ones(2))
    glm = sm.GLM(counts, x, family=sm.families.Poisson()).fit()
    np.testing.assert_allclose(found.at, glm.params, atol=1e-5)
    np.testing.assert_allclose(np.sqrt(np.diag(found.covariance)), glm.bse, rtol=1e-3)
