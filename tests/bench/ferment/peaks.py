"""Does a fit find every peak? Ten seeds of each jar at each moment, and which of them disagree.

A seed misses if its best draw is far below the best of all ten, or if its share of draws before the
median of all ten is far from a half. The first means a peak that was not found, the second a peak
with the wrong weight. Fits that fail, and fits that distrust their spread, are counted too: a miss
that is distrusted does no harm.

Run: OPENBLAS_NUM_THREADS=1 python tests/bench/ferment/peaks.py [--seeds 10]
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import numpy as np

from bubblerate.ferment.fit import Fit, FitError, fit_curve
from bubblerate.ferment.likelihood import log_density
from bubblerate.ferment.priors import choose_priors

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # what benches and tests share

from bench.ferment.kept_jars import crossings, evidences, rank_of

FAR_BELOW = 3.0  # natural logarithms; the best of 2400 draws lies about 1 below the peak
FAR_OFF = 0.2  # of a half


def height(fit: Fit) -> float:
    """Log density of the best draw."""
    table = choose_priors(fit.evidence)
    parts = np.array_split(fit.draws.theta, len(fit.draws.theta) // 200)
    return max(float(log_density(part, fit.evidence, table).max()) for part in parts)


def misses(fits: list[Fit]) -> list[int]:
    """Which of the fits of one jar miss."""
    days = [crossings(fit.draws.theta, fit.names) for fit in fits]
    weights = np.concatenate([fit.draws.weights for fit in fits]) / len(fits)
    every = np.concatenate(days)
    order = np.argsort(every)
    middle = float(np.interp(0.5, np.cumsum(weights[order]), every[order]))
    heights = [height(fit) for fit in fits]
    return [
        i
        for i, fit in enumerate(fits)
        if heights[i] < max(heights) - FAR_BELOW
        or abs(rank_of(middle + 1e-6, days[i], fit.draws.weights) - 0.5) > FAR_OFF
    ]


def main() -> None:
    """Fit, compare, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=10)
    seeds = parser.parse_args().seeds
    begun, missed, failed, distrusted, tried = time.process_time(), 0, 0, 0, 0
    worth, shapes = [], []
    for name, evidence in evidences():
        fits = []
        for seed in range(seeds):
            try:
                fits.append(fit_curve(evidence, rng=np.random.default_rng(seed)))
            except FitError as err:
                failed += 1
                print(f"{name}, seed {seed}: {err}")
        found = misses(fits)
        tried, missed = tried + seeds, missed + len(found)
        distrusted += sum(bool(fit.distrust) for fit in fits)
        worth += [fit.draws.effective_sample_size for fit in fits]
        shapes += [fit.draws.tail_shape for fit in fits]
        if found:
            said = [fits[i].distrust or "trusted" for i in found]
            print(f"{name}: {len(found)} of {seeds} miss ({', '.join(said)})")
    print(f"{tried} fits: {missed} miss, {failed} fail, {distrusted} do not trust their spread")
    low, middle = np.quantile(worth, [0.1, 0.5])
    print(f"effective draws: median {middle:.0f}, one in ten below {low:.0f}")
    middle, high = np.quantile(shapes, [0.5, 0.99])
    print(
        f"shape of the tail of the weights: median {middle:.2f}, one in a hundred above {high:.2f}"
    )
    print(f"{1e3 * (time.process_time() - begun) / tried:.1f} ms of CPU time a fit, its check too")


if __name__ == "__main__":
    main()
