"""The tail of importance weights, against the same estimate by others and known laws."""

import numpy as np
import pytest
from arviz_stats.base.array import array_stats
from scipy import stats

from bubblerate.ferment.pareto import tail_shape


@pytest.mark.parametrize("shape", [0.1, 0.5, 0.9])
@pytest.mark.parametrize("seed", range(3))
def test_the_shape_is_that_of_arviz(shape, seed):
    weights = stats.genpareto(shape).rvs(2400, random_state=np.random.default_rng(seed))
    theirs = array_stats.psislw(-np.log(weights), r_eff=1.0)[1]  # of log ratios turned round
    assert tail_shape(weights) == pytest.approx(float(theirs), abs=0.02)


def test_heavier_tails_have_a_larger_shape():
    rng = np.random.default_rng(1)
    found = [tail_shape(stats.genpareto(k).rvs(20_000, random_state=rng)) for k in (0.0, 0.4, 0.8)]
    np.testing.assert_allclose(found, [0.0, 0.4, 0.8], atol=0.2)


def test_the_scale_of_the_weights_makes_no_odds():
    weights = np.random.default_rng(1).exponential(size=1000)
    assert tail_shape(1e-6 * weights) == pytest.approx(tail_shape(weights), rel=1e-6)


@pytest.mark.parametrize("weights", [np.ones(1000), np.ones(3), np.eye(1, 1000)[0]])
def test_weights_without_a_tail_have_no_shape(weights):
    assert tail_shape(weights) == np.inf
