"""The mixture, against the densities and the moments of general-purpose libraries."""

import numpy as np
import pytest
from scipy import stats

from bubblerate.ferment.mixture import Mixture, Units, products_of
from bubblerate.ferment.modes import Modes

SHARE = np.array([0.2, 0.8])
CENTRE = np.array([[0.0, 1.0, -2.0], [30.0, -3.0, 0.5]])
COVARIANCE = np.array([np.diag([1.0, 4.0, 0.01]), np.eye(3) + 0.6])


def test_densities_are_those_of_student_t():
    # five degrees of freedom: scipy.stats.multivariate_t
    at = np.random.default_rng(1).normal(0.0, 20.0, (50, 3))
    found = Mixture.of(SHARE, CENTRE, COVARIANCE).densities(products_of(at), 0.0)
    told = [
        share * stats.multivariate_t.pdf(at, centre, covariance, df=5)
        for share, centre, covariance in zip(SHARE, CENTRE, COVARIANCE, strict=True)
    ]
    ratio = found / np.array(told)
    np.testing.assert_allclose(ratio, ratio[0, 0], rtol=1e-9)


def test_draws_are_shared_among_the_parts_and_lie_around_them():
    draws = Mixture.of(SHARE, CENTRE, COVARIANCE).draw(4000, np.random.default_rng(1))
    for part, centre, covariance in zip(
        (draws[:800], draws[800:]), CENTRE, COVARIANCE, strict=True
    ):
        sd = np.sqrt(np.diag(covariance) * 5.0 / 3.0)  # of a Student-t with five degrees
        np.testing.assert_allclose((part.mean(axis=0) - centre) / sd, 0.0, atol=0.15)
        np.testing.assert_allclose(part.std(axis=0) / sd, 1.0, atol=0.2)


def test_a_part_moves_to_the_weighted_draws_that_it_explains():
    # with very many draws it takes their mean and covariance: numpy.average, numpy.cov
    rng = np.random.default_rng(1)
    at, weights = rng.normal([1.0, 2.0, 3.0], [0.5, 1.0, 2.0], (20_000, 3)), rng.random(20_000)
    weights /= weights.sum()
    first = Mixture.of(np.ones(1), np.zeros((1, 3)), np.eye(3)[None])
    products = products_of(at)
    found = first.follow(products, weights, first.densities(products, 0.0))
    np.testing.assert_allclose(found.centre[0], np.average(at, axis=0, weights=weights), rtol=0.01)
    np.testing.assert_allclose(found.covariance[0], np.cov(at.T, aweights=weights), atol=0.02)


def test_a_heavy_draw_begins_a_part_of_its_own():
    at = np.concatenate([np.random.default_rng(1).normal(size=(200, 3)), np.full((1, 3), 9.0)])
    weights = np.full(201, 0.9 / 200)
    weights[-1] = 0.1
    first = Mixture.of(np.ones(1), np.zeros((1, 3)), np.eye(3)[None])
    products = products_of(at)
    found = first.follow(products, weights, first.densities(products, 0.0))
    np.testing.assert_allclose(found.centre[-1], 9.0)
    assert len(found.share) == 2
    assert found.share.sum() == pytest.approx(1.0)


def test_units_are_those_of_the_highest_mode():
    modes = Modes(at=CENTRE, log_density=np.zeros(2), covariance=COVARIANCE)
    units = Units.of(modes)
    mixture = units.mixture(modes)
    np.testing.assert_allclose(units.theta(mixture.centre), CENTRE)
    np.testing.assert_allclose(mixture.covariance[0], np.eye(3))
