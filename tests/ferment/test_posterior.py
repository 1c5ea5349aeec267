"""The posterior of the crossing, against a long run of a sampler by others on the same density."""

import emcee
import numpy as np
import pytest

from bubblerate.ferment.crossing import crossing_days
from bubblerate.ferment.curve import as_curve, thermal_days
from bubblerate.ferment.fit import fit_curve
from bubblerate.ferment.likelihood import log_density
from bubblerate.ferment.priors import choose_priors

from scenes import known

LEVELS = (0.05, 0.5, 0.95)
SLOWING = [46, 41, 33, 30, 22, 19, 17, 11, 10, 8]
DIARIES = {
    "bubbles only": [{"day": float(d), "bubbles": n} for d, n in enumerate(SLOWING)],
    "with gravity and warmth": [
        *(
            {"day": 1.5 * d, "bubbles": n, "temp_c": t}
            for d, (n, t) in enumerate(
                zip(SLOWING, [18, 18, 19, 17, 16, 18, 20, 19, 18, 18], strict=True)
            )
        ),
        {"day": 14.0, "sg": 1.012},
    ],
}


def crossing(theta, of_it, names):
    """Thermal days from the start of the tail until one bubble a minute, shape (m,)."""
    c = as_curve(theta, names)
    thermal = thermal_days(of_it.tail.days, of_it.tail.temp_offset_10c, c.q10)
    assert thermal.shape[1] == len(of_it.tail)
    return crossing_days(1.0 / np.exp(c.log_per_point), **c.gas)[:, 0]


@pytest.mark.parametrize("name", DIARIES)
def test_the_crossing_has_the_quantiles_of_a_long_run_of_emcee(name):
    of_it = known(*DIARIES[name])
    table = choose_priors(of_it)
    fits = [fit_curve(of_it, rng=np.random.default_rng(seed)) for seed in range(12)]
    first = fits[0]
    start = first.draws.theta[
        np.random.default_rng(5).choice(
            len(first.draws.weights), 60, replace=False, p=first.draws.weights
        )
    ]
    sampler = emcee.EnsembleSampler(
        60,
        len(table),
        lambda theta: log_density(theta, of_it, table),
        vectorize=True,
        moves=[(emcee.moves.DEMove(), 0.8), (emcee.moves.DESnookerMove(), 0.2)],
    )
    sampler.random_state = np.random.RandomState(5).get_state()
    sampler.run_mcmc(start, 2400)
    chain = crossing(sampler.get_chain(discard=500, flat=True), of_it, first.names)
    steps = emcee.autocorr.integrated_time(chain.reshape(-1, 60), quiet=True)[0]
    theirs = len(chain) / steps
    assert theirs > 500.0
    for level in LEVELS:
        # the rank, in each of ours, of their quantile: its spread over seeds is our own error
        value = np.quantile(chain, level)
        ranks = []
        for one in fits:
            days = crossing(one.draws.theta, of_it, one.names)
            ranks.append(float(one.draws.weights[days <= value].sum()))
        error = np.hypot(np.std(ranks), np.sqrt(level * (1.0 - level) / theirs))
        assert error < 0.08
        assert np.mean(ranks) == pytest.approx(level, abs=2.0 * error)
