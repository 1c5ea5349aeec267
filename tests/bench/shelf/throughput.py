"""Measures how many vessels are judged per second, how time and memory grow, and where time goes.

Four tables: vessels a second and a CPU second, the start of the workers included, and peak memory,
each row in a process of its own, so that the peak is that of the row (a worker's is counted as no
smaller than its parent's was when it began); time and its exponent of growth against counts a
vessel; the same answer (a date with an 80 % interval) by means of general use; and the parts of one
judgement.
Vessels are made-up ferments at two thirds of their rows, forty of them over and over, handed on as
the bytes of a diary.

Run: OPENBLAS_NUM_THREADS=1 python tests/bench/shelf/throughput.py [--all]
     (--all judges 100,000 vessels too, for half an hour or more, in place of an estimate)
"""

from __future__ import annotations

import argparse
import cProfile
import json
import os
import pstats
import resource
import subprocess
import sys
import time
import warnings
from datetime import UTC, datetime
from functools import partial
from itertools import cycle, islice, pairwise
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING, Any

import numpy as np

from bubblerate.course.judgement import judge
from bubblerate.diary.reading import parse
from bubblerate.diary.visit import Diary
from bubblerate.ferment.crossing import crossing_days
from bubblerate.ferment.curve import as_curve
from bubblerate.ferment.decay import log_gas_per_day
from bubblerate.ferment.likelihood import log_density
from bubblerate.ferment.priors import choose_priors
from bubblerate.shelf.executors import executor_for, in_order

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # what benches and tests share

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray

    from bubblerate.diary.visit import Diary

    Floats = NDArray[np.float64]

VESSELS = (10, 1_000)
MANY = 100_000
TALLIES = (5, 15, 50, 150, 500, 1500, 5000)
EVENINGS = 34
RESAMPLES, TIMED = 1000, 40  # of the bootstrap: those asked for, and those run and scaled up
WALKERS, STEPS, TIMED_STEPS = 32, 2000, 100
NOW = datetime(2026, 7, 1, tzinfo=UTC)
CURVE = ("max_uptake", "sugar", "half_saturation", "inactivation_per_day", "second", "pace")


def pages() -> list[bytes]:
    """Forty diaries, four of each kind."""
    from bubblerate.ferment.made_up import KINDS, simulate  # a worker needs neither

    return [simulate(kind, seed).csv.encode() for kind in KINDS for seed in range(4)]


def verdict_of(page: bytes) -> str:
    """Read the bytes of a diary and judge it."""
    jar = parse(Path("jar.csv"), page, pitched=None, now=NOW)
    return judge(jar, at=jar.visits[len(jar.visits) * 2 // 3].when).verdict.answer


def row(vessels: int, workers: int) -> dict[str, float]:
    """Judge so many vessels: seconds, and peak memory of this process and of the largest worker."""
    made = pages()
    verdict_of(made[0])  # whatever is slow but once
    start, cpu_start = time.perf_counter(), cpu_seconds()
    with executor_for(workers=workers) as executor:
        jars: Iterator[bytes] = islice(cycle(made), vessels)
        answers = in_order(verdict_of, jars, executor=executor, lost=lambda _, error: error)
        answered = sum(answer in {"go", "wait"} for answer in answers)
    seconds = time.perf_counter() - start
    if answered < vessels:
        raise SystemExit(f"{vessels - answered} vessels were lost")
    kb_to_mb = 1024.0 if sys.platform != "darwin" else 1024.0**2
    peaks = [
        resource.getrusage(who).ru_maxrss / kb_to_mb
        for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    ]
    return {
        "seconds": seconds,
        "cpu_seconds": cpu_seconds() - cpu_start,
        "here_mb": peaks[0],
        "worker_mb": peaks[1] if workers > 1 else 0.0,
    }


def cpu_seconds() -> float:
    """CPU time of this process, and of its workers that have ended."""
    found = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in found)


def apart(vessels: int, workers: int, *, threads: str | None = None) -> dict[str, float]:
    """Run one row in a process of its own, with so many threads of linear algebra."""
    words = [sys.executable, __file__, "--row", str(vessels), str(workers)]
    env = {k: v for k, v in os.environ.items() if k != "OPENBLAS_NUM_THREADS"}
    env |= {"OPENBLAS_NUM_THREADS": threads} if threads else {}
    done = subprocess.run(words, env=env, check=True, capture_output=True, text=True)
    found: dict[str, float] = json.loads(done.stdout)
    return found


def print_vessels(*, everything: bool) -> None:
    """Vessels a second and memory; then whether threads of linear algebra matter."""
    cores = os.cpu_count() or 1
    print("vessels  workers  seconds  a second  a CPU second  peak MB: here  largest worker")
    seconds = 0.0
    for vessels in (*VESSELS, MANY) if everything else VESSELS:
        for workers in (1, cores) if vessels < MANY else (cores,):
            found = apart(vessels, workers, threads="1")
            seconds = found["seconds"]
            rate = vessels / seconds
            print(
                f"{vessels:7d} {workers:8d} {seconds:8.1f} {rate:9.1f} "
                f"{vessels / found['cpu_seconds']:13.1f} "
                f"{found['here_mb']:14.0f} {found['worker_mb'] or '-':>15.4}"
            )
    if not everything:
        minutes = seconds / VESSELS[-1] * MANY / 60.0
        print(f"{MANY} at the pace of the last row, not run: {minutes:.0f} min on {cores} cores")
    one, free = (apart(200, 1, threads=threads)["seconds"] for threads in ("1", None))
    print(f"200 vessels here: {one:.1f} s with one thread of linear algebra, {free:.1f} s unset")


def jar_of(n: int) -> Diary:
    """A tail of n counts over 20 days, halving four times over, warm and cold evenings."""
    from scenes import diary

    rng = np.random.default_rng(n)
    days = np.arange(n) * 20.0 / n
    rate = 60.0 * 0.5 ** (days / 5.0) * np.exp(0.15 * rng.standard_normal(n))
    rows: list[dict[str, object]] = [
        {"day": float(d), "bubbles": int(rng.poisson(r)), "temp_c": float(t)}
        for d, r, t in zip(days, rate, 18.0 + rng.integers(-2, 3, n), strict=True)
    ]
    return diary(*rows)


def took(work: Callable[[], object], *, runs: int) -> float:
    """Median wall clock of some work [s]."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return median(times)


def print_growth() -> None:
    """Time of a judgement against counts a vessel."""
    print("\ncounts  judge ms  grows as counts to the power of")
    times = []
    for n in TALLIES:
        jar = jar_of(n)
        times.append(took(partial(judge, jar, at=jar.visits[-1].when), runs=9))
    powers = [
        np.log(after / before) / np.log(m / n)
        for (before, after), (n, m) in zip(pairwise(times), pairwise(TALLIES), strict=True)
    ]
    for n, seconds, power in zip(TALLIES, times, ["", *(f"{p:.2f}" for p in powers)], strict=True):
        print(f"{n:6d} {1e3 * seconds:9.1f}  {power}")
    whole = np.log(times[-1] / times[0]) / np.log(TALLIES[-1] / TALLIES[0])
    print(f"from {TALLIES[0]} to {TALLIES[-1]}: {whole:.2f}")


def exponential(days: Floats, log_rate: float, pace: float) -> Floats:
    """Bubbles a minute of a plain exponential."""
    return np.exp(log_rate - pace * days)


def own_curve(days: Floats, *logs: float) -> Floats:
    """Bubbles a minute of the project's curve, its six numbers in logarithms."""
    terms = dict(zip(CURVE, np.exp(np.clip(logs, -30.0, 30.0)), strict=True))
    return np.exp(log_gas_per_day(days, **terms))


def bootstrap(jar: Diary, model: Callable[..., Floats], start: list[float]) -> tuple[float, int]:
    """Seconds of the whole bootstrap, of which a few resamples are run, and how many of them fail.

    Each is a least-squares fit of evenings drawn with replacement, and its crossing.
    """
    from scipy.optimize import OptimizeWarning, curve_fit

    days = np.array([(v.when - jar.visits[0].when).total_seconds() / 86400.0 for v in jar.visits])
    rates = np.array([v.per_min for v in jar.visits], float)
    rng = np.random.default_rng(0)
    crossings, failed = [], 0
    begun = time.perf_counter()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", OptimizeWarning)  # its covariance is not asked for
        for _ in range(TIMED):
            some = rng.integers(0, len(days), len(days))
            try:
                found, _ = curve_fit(model, days[some], rates[some], p0=start)
            except RuntimeError:  # no fit within its usual number of steps
                failed += 1
                continue
            if model is exponential:
                crossings.append(found[0] / found[1])
            else:
                terms = dict(zip(CURVE, np.exp(np.clip(found, -30.0, 30.0)), strict=True))
                crossings.append(float(crossing_days(1.0, **terms)))
    np.quantile(crossings, [0.1, 0.5, 0.9])
    return (time.perf_counter() - begun) * RESAMPLES / TIMED, failed


def ensemble(jar: Diary, *, vectorised: bool, steps: int) -> float:
    """Seconds of an affine invariant ensemble on our density, and of its crossings."""
    import emcee

    result = judge(jar, at=jar.visits[-1].when).fit
    assert result is not None
    known, table = result.evidence, choose_priors(result.evidence)
    rng = np.random.default_rng(0)
    start = result.draws.theta[rng.choice(len(result.draws.weights), WALKERS, replace=False)]

    def together(theta: Floats) -> Floats:
        return log_density(theta, known, table)

    def alone(theta: Floats) -> float:
        return float(log_density(theta[None], known, table)[0])

    begun = time.perf_counter()
    sampler = emcee.EnsembleSampler(
        WALKERS, len(table), together if vectorised else alone, vectorize=vectorised
    )
    sampler.random_state = np.random.RandomState(0).get_state()
    sampler.run_mcmc(start, steps)
    c = as_curve(sampler.get_chain(flat=True), result.names)
    np.quantile(crossing_days(1.0 / np.exp(c.log_per_point), **c.gas), [0.1, 0.5, 0.9])
    return time.perf_counter() - begun


def print_ratios() -> None:
    """The same answer by means of general use; ours gives the whole verdict with it."""
    jar = jar_of(EVENINGS)
    ours = took(partial(judge, jar, at=jar.visits[-1].when), runs=21)
    plain, plain_failed = bootstrap(jar, exponential, [np.log(60.0), 0.15])
    start = list(np.log([30.0, 400.0, 60.0, 0.06, 20.0, 0.13]))
    own, own_failed = bootstrap(jar, own_curve, start)
    share = f"{TIMED} of {RESAMPLES} resamples run"
    rows = [
        ("judge, with its verdict", ours, ""),
        ("curve_fit and bootstrap, exponential", plain, f"{share}, {plain_failed} failed"),
        ("curve_fit and bootstrap, our curve", own, f"{share}, {own_failed} failed"),
        ("emcee, vectorised", ensemble(jar, vectorised=True, steps=STEPS), f"{STEPS} steps run"),
        (
            "emcee, one by one",
            ensemble(jar, vectorised=False, steps=TIMED_STEPS) * STEPS / TIMED_STEPS,
            f"{TIMED_STEPS} of {STEPS} steps run",
        ),
    ]
    print(f"\na date and its 80 % interval from {EVENINGS} evenings   seconds  times judge")
    for name, seconds, note in rows:
        print(f"{name:<50}{seconds:8.3f} {seconds / ours:12.1f}  {note}".rstrip())


def print_profile(*, runs: int = 20) -> None:
    """Share of each part of a judgement, and the functions that cost most by themselves."""
    jar = jar_of(EVENINGS)
    profile = cProfile.Profile()
    profile.enable()
    for _ in range(runs):
        judge(jar, at=jar.visits[-1].when)
    profile.disable()
    stats: dict[tuple[str, int, str], Any] = pstats.Stats(profile).stats  # type: ignore[attr-defined]
    named = {(Path(file).stem, name): found for (file, _, name), found in stats.items()}
    whole = named["judgement", "judge"][3]
    parts = {
        "fit": ["fit", "fit_curve"],
        "forecast": ["forecast", "forecast"],
        "findings of the fit": ["diagnosis", "findings"],
        "evidence": ["evidence", "gather_evidence"],
    }
    shares = {part: named[home, name][3] / whole for part, (home, name) in parts.items()}
    print(f"\npart of judge, {EVENINGS} evenings, under a profiler: {1e3 * whole / runs:.0f} ms")
    for part, share in [*shares.items(), ("all the rest", 1.0 - sum(shares.values()))]:
        print(f"{part:<32}{share:5.0%}")
    print("dearest by themselves")
    dearest = sorted(named.items(), key=lambda item: -item[1][2])[:5]
    for (home, name), found in dearest:
        print(f"{f'{home}.{name}':<32}{found[2] / whole:5.0%} {found[1] / runs:7.0f} calls")


def main() -> None:
    """Print the four tables, or run one row of the first."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--all", action="store_true")
    parser.add_argument("--row", nargs=2, type=int, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.row:
        print(json.dumps(row(*asked.row)))
        return
    print_vessels(everything=asked.all)
    print_growth()
    print_ratios()
    print_profile()


if __name__ == "__main__":
    main()
