"""Measures what a judgement and a fit cost, and how exact a fit is, compared with other samplers.

Three tables, all in CPU time, so that what else the machine does changes little:

- judge by counts, bubbles only and with readings (then whole ferments are laid beside it);
- the rank error of the 10, 50 and 90 % points of the crossing, against a long run of an affine
  invariant ensemble (emcee) begun among our draws, root mean square over jars and seeds;
- what a fit costs beside that ensemble and, where numpyro is installed, the No-U-Turn sampler on
  the same density, each scaled to the length at which its median spreads as little as ours over
  repeats. "one by one" calls the density for each walker, "vectorised" for half of them at once;
  starting among our draws is not charged, nor is compiling.

The same date by least squares and 1,000 resamples: `tests/bench/shelf/throughput.py`.

Run: OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 python tests/bench/ferment/speed.py
"""

from __future__ import annotations

import sys
import time
from functools import partial
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import emcee
import numpy as np

from bubblerate.course.judgement import judge
from bubblerate.ferment.fit import Fit, FitError, fit_curve
from bubblerate.ferment.likelihood import log_density
from bubblerate.ferment.priors import choose_priors

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # what benches and tests share

from bench.ferment import gradient
from bench.ferment.kept_jars import crossings, evidences
from scenes import diary, known

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from bubblerate.ferment.evidence import Evidence

    Floats = NDArray[np.float64]

COUNTS = (8, 15, 34, 68, 150, 500, 5000)
LENGTHS = (8, 17, 34, 68)
LEVELS = (0.1, 0.5, 0.9)
REPEATS, WALKERS = 40, 32
STEPS = {"vectorised": 2000, "one by one": 300}
LONG, BURNT = 6000, 1000  # steps of the run that errors are held against, and its first ones
EVERY = 8  # jars of those kept, and so many seeds of each
SEEDS = 6


def rows(n: int, *, gravity: bool) -> list[dict[str, object]]:
    """A tail of n counts, halving four times over, warm and cold evenings; three readings or none.

    An hour of counts shares the scatter of its evening, as a machine's do.
    """
    rng = np.random.default_rng(n)
    days = np.arange(n) * 20.0 / n
    evening = np.exp(0.15 * rng.standard_normal(21))[days.astype(int)] if n > 100 else 1.0
    own = 1.0 if n > 100 else np.exp(0.15 * rng.standard_normal(n))
    rate = 240.0 * 0.5 ** (days / 5.0) * evening * own
    temps = (18.0 + rng.integers(-2, 3, 21))[days.astype(int)]
    found: list[dict[str, object]] = [
        {"day": float(d), "bubbles": int(rng.poisson(r)), "seconds": 240.0, "temp_c": float(t)}
        for d, r, t in zip(days, rate, temps, strict=True)
    ]
    if gravity:
        found[0]["event"] = "pitched"
        found[0]["sg"] = 1.080
        found += [{"day": day, "sg": sg} for day, sg in ((12.0, 1.014), (20.0, 1.004))]
    return sorted(found, key=lambda row: float(str(row["day"])))


def cpu_ms(work: Callable[[], object], *, runs: int) -> float:
    """Least CPU time of some work over several runs [ms]."""
    times = []
    for _ in range(runs):
        begun = time.process_time()
        work()
        times.append(time.process_time() - begun)
    return 1e3 * min(times)


def quantiles(days: Floats, weights: Floats) -> Floats:
    """The days at `LEVELS`."""
    order = np.argsort(days)
    weight = weights[order]
    return np.interp(LEVELS, np.cumsum(weight) - 0.5 * weight, days[order])


def ours(fit: Fit) -> Floats:
    """Quantiles of the crossing of one bubble a minute [thermal days]."""
    return quantiles(crossings(fit.draws.theta, fit.names), fit.draws.weights)


def ensemble(of_it: Evidence, fit: Fit, how: str, *, steps: int, seed: int) -> tuple[float, Floats]:
    """CPU seconds of one run of the ensemble, and its chain, shape (steps, walkers, p)."""
    table = choose_priors(of_it)
    rng = np.random.default_rng(seed)
    some = rng.choice(len(fit.draws.weights), WALKERS, p=fit.draws.weights)
    start = fit.draws.theta[some] + 1e-4 * rng.standard_normal((WALKERS, len(table)))

    def together(theta: Floats) -> Floats:
        return log_density(theta, of_it, table)

    def alone(theta: Floats) -> float:
        return float(log_density(theta[None], of_it, table)[0])

    vectorised = how == "vectorised"
    sampler = emcee.EnsembleSampler(
        WALKERS, len(table), together if vectorised else alone, vectorize=vectorised
    )
    sampler.random_state = np.random.RandomState(seed).get_state()
    begun = time.process_time()
    sampler.run_mcmc(start, steps, skip_initial_state_check=True)
    return time.process_time() - begun, sampler.get_chain()


def print_judgements() -> None:
    """CPU time of a judgement by its counts."""
    print("counts  judge ms: bubbles only   with readings and whole ferments")
    for n in COUNTS:
        took = []
        for gravity in (False, True):
            jar = diary(*rows(n, gravity=gravity))
            took.append(cpu_ms(partial(judge, jar), runs=9 if n < 1000 else 3))
        print(f"{n:6d} {took[0]:23.1f} {took[1]:34.1f}")


def print_errors() -> None:
    """Rank errors against a long run of the ensemble."""
    errors, worth, took = [], [], []
    jars = list(evidences())[::EVERY]
    for _, of_it in jars:
        first = fit_curve(of_it, rng=np.random.default_rng(99))
        _, chain = ensemble(of_it, first, "vectorised", steps=LONG, seed=1)
        truth = np.sort(crossings(chain[BURNT::5].reshape(-1, chain.shape[2]), first.names))
        for seed in range(SEEDS):
            begun = time.process_time()
            fit = fit_curve(of_it, rng=np.random.default_rng(seed))
            took.append(time.process_time() - begun)
            places = np.searchsorted(truth, ours(fit)) / len(truth)
            errors.append(places - LEVELS)
            worth.append(fit.draws.effective_sample_size)
    rms, bias = np.sqrt(np.mean(np.square(errors), axis=0)), np.mean(errors, axis=0)
    print(f"\nrank error at 10, 50, 90 % over {len(jars)} jars x {SEEDS} seeds: {rms.round(4)}")
    print(f"of it bias: {bias.round(3)}; effective draws, median: {np.median(worth):.0f}")
    ms = 1e3 * np.array(took)
    print(f"CPU time of a fit: mean {ms.mean():.1f} ms, median {np.median(ms):.1f} ms")


def print_costs() -> None:
    """What others cost for a median that spreads as little."""
    by_gradient = find_spec("numpyro") is not None
    print("\nevenings gravity  fit ms  effective  median +-d   times dearer:", *STEPS, end="")
    print("  No-U-Turn" if by_gradient else "  (numpyro is not installed)")
    for n, read in ((n, read) for n in LENGTHS for read in (False, True)):
        of_it = known(*rows(n, gravity=read))
        fits, took = [], []
        for seed in range(REPEATS):
            begun = time.process_time()
            try:
                fits.append(fit_curve(of_it, rng=np.random.default_rng(seed)))
            except FitError as err:
                print(f"{n} evenings, seed {seed}: {err}")
            took.append(time.process_time() - begun)
        ours_s, spread = float(np.median(took)), float(np.std([ours(f)[1] for f in fits], ddof=1))
        dearer = []
        for how, steps in STEPS.items():
            runs = [ensemble(of_it, fits[0], how, steps=steps, seed=s) for s in range(10)]
            medians = [
                np.median(crossings(c.reshape(-1, c.shape[2]), fits[0].names)) for _, c in runs
            ]
            seconds = float(np.median([s for s, _ in runs]))
            dearer.append(seconds * (np.std(medians, ddof=1) / spread) ** 2 / ours_s)
        if by_gradient and not read:
            runs = gradient.runs(of_it, fits[0], seeds=range(4))
            medians = [np.median(crossings(chain, fits[0].names)) for _, chain in runs]
            seconds = float(np.median([s for s, _ in runs]))
            dearer.append(seconds * (np.std(medians, ddof=1) / spread) ** 2 / ours_s)
        worth = np.median([f.draws.effective_sample_size for f in fits])
        told = "yes" if read else "no"
        print(f"{n:8d} {told:>7s} {1e3 * ours_s:7.1f} {worth:10.0f} {spread:11.3f}    ", end="")
        print(*(f"{times:12.0f}" for times in dearer))


def main() -> None:
    """Time, print."""
    print_judgements()
    print_errors()
    print_costs()


if __name__ == "__main__":
    main()
