"""The density of a tail without readings written for a library of gradients, and a sampler of it.

For `tests/bench/ferment/speed.py`; numpyro is installed by whoever runs that, and by nobody else.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

import numpy as np

from bubblerate.ferment.likelihood import log_density
from bubblerate.ferment.priors import (
    MOST_SUGAR_POINTS,
    MOST_SUGAR_SPREAD,
    OUTLIER_DECADES,
    OUTLIER_SHARE,
    choose_priors,
)
from bubblerate.ferment.theta import centre_and_spread, column_names

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from typing import Any

    from numpy.typing import NDArray

    from bubblerate.ferment.evidence import Evidence
    from bubblerate.ferment.fit import Fit

    Floats = NDArray[np.float64]

WARMUP, STEPS = 300, 500


def density_of(evidence: Evidence) -> Callable[[Any], Any]:
    """Log density of one vector of parameters, as `bubblerate.ferment.likelihood` has it."""
    import jax
    import jax.numpy as jnp
    from jax.scipy.special import gammaln

    jax.config.update("jax_enable_x64", val=True)
    priors = choose_priors(evidence)
    place = {name: i for i, name in enumerate(column_names(priors))}
    centre, spread = (jnp.array(values) for values in centre_and_spread(priors))
    tail = evidence.tail
    gaps, n, weights = (jnp.array(v) for v in (np.diff(tail.days), tail.bubbles, evidence.weights))
    minutes, warm = jnp.array(tail.seconds / 60.0), jnp.array(tail.temp_offset_10c)
    outlier = np.log(OUTLIER_SHARE / (OUTLIER_DECADES * np.log(10.0) * (tail.bubbles + 1.0)))

    def omega(x: Any) -> Any:
        y = jnp.log1p(jnp.exp(-jnp.abs(x))) + jnp.maximum(x, 0.0)
        w = y * (1.0 - jnp.log1p(y) / (2.0 + y))
        for _ in range(2):
            off, one = x - w - jnp.log(w), 1.0 + w
            steep = 2.0 * one * (one + off * (2.0 / 3.0))
            w = w * (1.0 + off / one * (steep - off) / (steep - 2.0 * off))
        return w

    def log_p(theta: Any) -> Any:
        at = {name: theta[i] for name, i in place.items()}
        fall = at["start"] - jnp.logaddexp(0.0, at["share"])
        second = fall + at["share"] - at["pace"]
        k, d, pace = (
            jnp.exp(at[name]) for name in ("half_saturation", "inactivation_per_day", "pace")
        )
        s0 = jnp.exp(fall + at["lasts"])
        b = jnp.exp(fall) * (1.0 + k / s0)
        speed = jnp.exp(at["q10"] * warm)
        t = jnp.concatenate([jnp.zeros(1), jnp.cumsum(0.5 * (speed[1:] + speed[:-1]) * gaps)])
        x = jnp.log(s0 / k) + s0 / k + jnp.expm1(-d * t) / d * (b / k)
        w = omega(jnp.maximum(x, -600.0))
        gas = jnp.logaddexp(
            jnp.log(b) - d * t + (x - w) - jnp.log1p(w), second + at["pace"] - pace * t
        )
        log_mean = gas + at["rate"] - at["start"] + jnp.log(minutes) + at["q10"] * warm
        size = jnp.exp(-2.0 * at["overdispersion"])
        sound = gammaln(n + size) - gammaln(size) - gammaln(n + 1.0) + size * jnp.log(size)
        sound += n * log_mean - (n + size) * jnp.log(jnp.exp(log_mean) + size)
        counts = jnp.logaddexp(sound + np.log1p(-OUTLIER_SHARE), outlier) @ weights
        values = theta.at[place["rate"]].set(at["rate"] - at["start"])
        values = values.at[place["start"]].set(fall).at[place["share"]].set(second)
        values = values.at[place["lasts"]].set(fall + at["lasts"])
        over = jnp.maximum(jnp.log((s0 + jnp.exp(second)) / MOST_SUGAR_POINTS), 0.0)
        square = jnp.sum(((values - centre) / spread) ** 2) + (over / MOST_SUGAR_SPREAD) ** 2
        return counts - 0.5 * square

    return log_p


def runs(evidence: Evidence, fit: Fit, *, seeds: Iterable[int]) -> list[tuple[float, Floats]]:
    """CPU seconds of each chain, compiled before and begun among our draws, and the chain.

    Raises
    ------
    AssertionError
        If the density here is another one than ours.
    """
    import jax
    from numpyro.infer import MCMC, NUTS

    log_p, some = density_of(evidence), fit.draws.theta[:50]
    off = np.array([float(log_p(jax.numpy.array(theta))) for theta in some])
    off -= log_density(some, evidence, choose_priors(evidence))
    assert np.ptp(off) < 1e-6, "the two densities differ"
    kernel = NUTS(potential_fn=lambda theta: -log_p(theta))
    sampler = MCMC(kernel, num_warmup=WARMUP, num_samples=STEPS, progress_bar=False)
    found = []
    for seed in [0, *seeds]:
        start = fit.draws.theta[np.random.default_rng(seed).choice(len(some))]
        begun = time.process_time()
        sampler.run(jax.random.PRNGKey(seed), init_params=jax.numpy.array(start))
        chain = np.asarray(sampler.get_samples(), float)
        found.append((time.process_time() - begun, chain))
    return found[1:]  # the first one compiled
