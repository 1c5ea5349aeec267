"""Compares forecasts for jars made from ferments that others weighed with a line and the truth.

The curves are those of `tests/reference/massloss.csv`, which names their source: 18 red wines of
a laboratory. Each is made into jars with `tests/measured.py`, its points joined in two ways, and
asked about on evenings between its peak and the crossing. Nothing was tuned on them.

Run: python tests/bench/ferment/open_set.py [--seeds 6] [--first 1]
"""

from __future__ import annotations

import argparse
import sys
from concurrent.futures import ProcessPoolExecutor
from itertools import product
from pathlib import Path

import numpy as np
import pandas as pd

from bubblerate.diary.settings import Settings
from bubblerate.ferment.forecast import forecast
from bubblerate.verdict.judgement import fit_situation, situation

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # what benches and tests share

from measured import DAY, PITCHED, Joining, jar, series

from bench.ferment.scores import score, straight_line, table, totals

MOST = 6  # evenings of a jar


def evenings(job: tuple[str, int, Joining, bool]) -> list[dict[str, object]]:
    """One row for each evening asked about."""
    name, seed, joining, gravity = job
    made = jar(name, seed, joining=joining, gravity=gravity)
    counted = [v for v in made.diary.visits if v.per_min is not None]
    days = np.array([(v.when - PITCHED) / DAY for v in counted])
    asked = days[(days > made.peak_day) & (days < made.crossing_day)]
    rows = []
    for day in asked[:: max(1, len(asked) // MOST)]:
        at = PITCHED + float(day) * DAY
        about = {"threshold_per_min": made.threshold_per_min}
        now = situation(made.diary, at, Settings(), **about)
        told = forecast(fit_situation(now), now.whole, at=at, **about)
        row = {"kind": name, "seed": seed, "joining": joining, "day": day}
        row["gravity"] = "read" if gravity else "bubbles"
        if told is None:
            rows.append(row | {"basis": "none"})
            continue
        so_far = days <= day
        rates = np.array([v.per_min for v in counted])[so_far]
        line = straight_line(days[so_far], rates, made.threshold_per_min)
        scores = score(told.crossing.draws, made.crossing_day - day, line - day)
        rows.append(row | {"basis": str(told.basis)} | scores)
    return rows


def main() -> None:
    """Make jars, forecast, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=6)
    parser.add_argument("--first", type=int, default=1)
    arguments = parser.parse_args()
    seeds = range(arguments.first, arguments.first + arguments.seeds)
    joinings: tuple[Joining, ...] = ("rates", "sums")
    jobs = list(product(series(), seeds, joinings, (False, True)))
    with ProcessPoolExecutor() as pool:
        frame = pd.DataFrame(
            [row for part in pool.map(evenings, jobs, chunksize=4) for row in part]
        )
    told = frame.dropna(subset="crps")
    print(f"{1.0 - len(told) / len(frame):.1%} of {len(frame)} evenings: no answer")
    with pd.option_context("display.width", 200, "display.max_columns", None):
        print(table(told, ["gravity", "joining"]))
        print(table(told, ["gravity", "basis"]))
    told = told[told["basis"] != "whole ferments"]  # the line has nothing to say there
    for gravity, some in told.groupby("gravity"):
        print(f"{gravity}:\n{totals(some)}")


if __name__ == "__main__":
    main()
