"""The climb to the modes, against certified sets, handbook data and models fitted by others."""

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm

from bubblerate.ferment.counting import log_negative_binomial
from bubblerate.ferment.modes import Slopes, climb

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

    def terms(theta):
        off = (y - MODELS[name]((theta * unit).T[:, :, None], x)) / summary.residual_sd_certified
        return Slopes(
            log_density=-0.5 * np.sum(off**2, axis=-1),
            predictors=off,
            information=np.ones_like(off),
        )

    best = climb(terms, np.ones((1, len(unit))), scale=np.full(len(unit), 0.1)).at[0]
    digits = -np.log10(np.abs(best * unit / rows.certified_value.to_numpy() - 1.0))
    assert np.min(digits) > 4.0  # differences, not derivatives: a peak needs no more


def poisson(counts, log_mean):
    """What a climb takes of counts without scatter."""
    return Slopes(
        log_density=np.sum(log_negative_binomial(counts, log_mean, 0.0), axis=-1),
        predictors=log_mean,
        information=np.exp(log_mean),
    )


def silver(theta):
    data = reference("silver_counts.csv")
    t, counts = data.time_s.to_numpy(), data.counts.to_numpy()
    a1, a2, a3, a4, a5 = np.exp(theta).T[:, :, None]
    return poisson(counts, np.log(a1 + a2 * np.exp(-t / a4) + a3 * np.exp(-t / a5)))


def test_silver_decay_is_fitted_as_by_poisson_maximum_likelihood():
    # Bevington and Robinson, chapter 8; poisson_ml_recomputed: an independent evaluation.
    expected = reference("silver_fit.csv").iloc[:5]
    start = np.log([[10.0, 900.0, 130.0, 30.0, 200.0]])
    found = climb(silver, start, scale=np.ones(5))
    np.testing.assert_allclose(
        np.exp(found.at[0]), expected.poisson_ml_recomputed.astype(float), rtol=1e-4
    )
    book_sd = expected.book_sd_from_covariance.to_numpy(float)
    assert np.all(np.abs(np.exp(found.at[0]) - expected.book_value.to_numpy(float)) < book_sd)
    sd = np.sqrt(np.diag(found.covariance[0])) * np.exp(found.at[0])
    np.testing.assert_allclose(sd, expected.poisson_ml_sd_recomputed.astype(float), rtol=0.1)


def test_ships_are_fitted_as_by_a_log_linear_poisson_model():
    # McCullagh and Nelder's ships: our counts without scatter, against statsmodels and against
    # the estimates and standard errors that R prints (5 decimals).
    ships = reference("ships.csv").query("service_months > 0")
    dummies = pd.get_dummies(ships[["type", "year", "period"]].astype(str), dtype=float)
    dummies = dummies.drop(columns=["type_A", "year_60", "period_60"])
    x = np.column_stack([np.ones(len(ships)), dummies])
    exposure, counts = ships.service_months.to_numpy(float), ships.incidents.to_numpy(float)

    def terms(theta):
        return poisson(counts, theta @ x.T + np.log(exposure))

    found = climb(terms, np.array([[-6.0, *np.zeros(8)]]), scale=np.full(9, 0.3))
    sd = np.sqrt(np.diag(found.covariance[0]))
    printed = [-6.40590, -0.54334, -0.68740, -0.07596, 0.32558, 0.69714, 0.81843, 0.45343, 0.38447]
    printed_sd = [0.21744, 0.17759, 0.32904, 0.29058, 0.23588, 0.14964, 0.16977, 0.23317, 0.11827]
    np.testing.assert_allclose(found.at[0], printed, atol=2e-5)
    np.testing.assert_allclose(sd, printed_sd, rtol=1e-3)
    glm = sm.GLM(counts, x, family=sm.families.Poisson(), exposure=exposure).fit()
    np.testing.assert_allclose(found.at[0], glm.params, atol=2e-5)
    assert found.log_density[0] == pytest.approx(glm.llf, abs=1e-6)


def test_silver_without_its_background_is_fitted_as_by_statsmodels():
    # one exponential over the first ten bins: a log-linear model, so that the two can be compared
    data = reference("silver_counts.csv").iloc[:10]
    x = np.column_stack([np.ones(10), data.time_s / 100.0])
    counts = data.counts.to_numpy(float)

    def terms(theta):
        return poisson(counts, theta @ x.T)

    found = climb(terms, np.array([[6.0, 0.0]]), scale=np.ones(2))
    glm = sm.GLM(counts, x, family=sm.families.Poisson()).fit()
    np.testing.assert_allclose(found.at[0], glm.params, atol=1e-5)
    np.testing.assert_allclose(np.sqrt(np.diag(found.covariance[0])), glm.bse, rtol=1e-3)


def two_hills(theta):
    """Two normal hills, each climbed from its side; that on the right is a little lower."""
    side = np.where(theta[:, :1] < 0.0, -4.0, 4.0)
    off = theta - side
    lower = np.where(side[:, 0] > 0.0, -1.0, 0.0)
    return Slopes(
        log_density=lower - 0.5 * np.sum(off**2, axis=1),
        predictors=off,
        information=np.ones_like(off),
    )


def test_every_start_climbs_its_own_hill_and_the_highest_comes_first():
    found = climb(two_hills, np.array([[3.0, 1.0], [-9.0, 2.0]]), scale=np.ones(2))
    np.testing.assert_allclose(found.at, [[-4.0, -4.0], [4.0, 4.0]], atol=1e-4)
    np.testing.assert_allclose(found.log_density, [0.0, -1.0], atol=1e-6)
    np.testing.assert_allclose(found.covariance, [np.eye(2)] * 2, atol=1e-6)
    assert len(found.distinct(0.5, 0.1)) == 1
    assert len(found.distinct(2.0, 0.1)) == 2


def test_two_that_climb_to_one_place_are_one():
    found = climb(two_hills, np.array([[3.0, 1.0], [5.0, 2.0], [-4.0, -3.0]]), scale=np.ones(2))
    np.testing.assert_allclose(found.distinct(2.0, 0.1).at, [[-4.0] * 2, [4.0] * 2], atol=1e-4)


def test_a_climb_ends_when_the_highest_has_settled_and_leaves_the_others_on_their_way():
    starts = np.array([[-4.1, -4.0], [60.0, 5.0]])
    short, long = (climb(two_hills, starts, scale=np.ones(2), steps=n) for n in (1, 50))
    np.testing.assert_allclose(short.at[0], [-4.0, -4.0], atol=1e-4)
    assert two_hills(starts).log_density[1] < short.log_density[1] < -10.0
    assert long.log_density[1] == pytest.approx(-1.0, abs=1e-6)


def test_a_share_of_the_priors_widens_what_stands_for_the_density():
    # a hill ten times narrower than the scale, of which a tenth is believed: 1 / (0.1 * 100 + 0.9)
    def narrow(theta):
        return Slopes(
            log_density=-50.0 * theta[:, 0] ** 2,
            predictors=theta,
            information=np.full_like(theta, 100.0),
        )

    found = climb(narrow, np.zeros((1, 1)), scale=np.ones(1), prior=0.9)
    assert found.covariance[0, 0, 0] == pytest.approx(1.0 / 10.9, rel=1e-6)


def test_no_hill_is_climbed_where_the_density_is_not_finite():
    def nowhere(theta):
        return Slopes(
            log_density=np.full(len(theta), -np.inf),
            predictors=theta,
            information=np.ones_like(theta),
        )

    with pytest.raises(ArithmeticError, match="no curvature"):
        climb(nowhere, np.zeros((1, 2)), scale=np.ones(2))
