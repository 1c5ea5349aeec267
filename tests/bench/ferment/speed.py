"""What a fit costs, beside a general-purpose sampler on the same density for the same error.

Each row is one tail of so many evenings. Ours: wall time of a fit on one core, effective draws, and
the Monte Carlo spread of the median crossing over repeats with other seeds. Theirs: an affine
invariant ensemble (emcee), begun among our draws so that no burning in is charged, run a few times;
its time is scaled to the length at which its median would spread as little as ours. "one by one"
calls the density for each walker, "vectorised" for half of them at once.

Run: OPENBLAS_NUM_THREADS=1 python tests/bench/ferment/speed.py
"""

from __future__ import annotations

import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

import emcee
import numpy as np

from bubblerate.ferment.crossing import crossing_days
from bubblerate.ferment.curve import as_curve
from bubblerate.ferment.fit import Fit, fit_curve
from bubblerate.ferment.likelihood import log_density
from bubblerate.ferment.priors import choose_priors

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # what benches and tests share

from scenes import known

if TYPE_CHECKING:
    from bubblerate.ferment.evidence import Evidence

REPEATS = 40
WALKERS = 32
STEPS = {"vectorised": 2000, "one by one": 500}
LENGTHS = (8, 17, 34, 68)


def evenings(n: int, *, gravity: bool) -> Evidence:
    """A tail of n counts, halving four times over, warm and cold evenings, one reading or none."""
    rng = np.random.default_rng(n)
    days = np.arange(n) * 20.0 / n
    rate = 60.0 * 0.5 ** (days / 5.0) * np.exp(0.15 * rng.standard_normal(n))
    rows = [
        {"day": float(d), "bubbles": int(rng.poisson(r)), "temp_c": float(t)}
        for d, r, t in zip(days, rate, 18.0 + rng.integers(-2, 3, n), strict=True)
    ]
    if gravity:
        rows.append({"day": 20.0, "sg": 1.010})
    return known(*rows)


def median(result: Fit) -> float:
    """Median crossing of one bubble a minute [thermal days]."""
    days = crossing(result.draws.theta, result)
    order = np.argsort(days)
    return float(np.interp(0.5, np.cumsum(result.draws.weights[order]), days[order]))


def crossing(theta: np.ndarray, result: Fit) -> np.ndarray:
    """Crossing of each row of theta."""
    c = as_curve(theta, result.names)
    return crossing_days(1.0 / np.exp(c.log_per_point), **c.gas)[:, 0]


def ensemble(of_it: Evidence, result: Fit, how: str) -> tuple[float, float]:
    """Seconds of one run, and the spread of its median over runs."""
    table, medians, took = choose_priors(of_it), [], []
    for seed in range(10):
        rng = np.random.default_rng(seed)
        start = result.draws.theta[
            rng.choice(len(result.draws.weights), WALKERS, p=result.draws.weights)
        ]

        def together(theta: np.ndarray) -> np.ndarray:
            return log_density(theta, of_it, table)

        def alone(theta: np.ndarray) -> float:
            return float(log_density(theta[None], of_it, table)[0])

        vectorised = how == "vectorised"
        sampler = emcee.EnsembleSampler(
            WALKERS, len(table), together if vectorised else alone, vectorize=vectorised
        )
        sampler.random_state = np.random.RandomState(seed).get_state()
        begun = time.perf_counter()
        sampler.run_mcmc(start, STEPS[how])
        took.append(time.perf_counter() - begun)
        chain = sampler.get_chain(flat=True)
        medians.append(float(np.median(crossing(chain, result))))
    return float(np.median(took)), float(np.std(medians, ddof=1))


def main() -> None:
    """Time, print."""
    print("evenings gravity  fit ms  effective  median +-d   times dearer: vectorised  one by one")
    for n in LENGTHS:
        for gravity in (False, True):
            of_it = evenings(n, gravity=gravity)
            took, medians = [], []
            for seed in range(REPEATS):
                begun = time.perf_counter()
                result = fit_curve(of_it, rng=np.random.default_rng(seed))
                took.append(time.perf_counter() - begun)
                medians.append(median(result))
            ours, spread = float(np.median(took)), float(np.std(medians, ddof=1))
            dearer = []
            for how in STEPS:
                seconds, their_spread = ensemble(of_it, result, how)
                dearer.append(seconds * (their_spread / spread) ** 2 / ours)
            effective = result.draws.effective_sample_size
            print(
                f"{n:8d} {'yes' if gravity else 'no':>7s} {1e3 * ours:7.1f} {effective:10.0f} "
                f"{spread:11.3f} {dearer[0]:25.0f} {dearer[1]:11.0f}"
            )


if __name__ == "__main__":
    main()
