"""How often the stated intervals hold the truth, on simulated ferments the fit never saw.

On evenings of each simulated ferment, from the first count to four days after the true rate went
through the threshold, the crossing is forecast from the rows so far. Printed by what the forecast
went by, by kind, and by the lead that was forecast: share of evenings on which the 80 % and 95 %
interval held the true date, median error of the median, its ratio to that of a straight line
through log counts (what a spreadsheet would do), mean error capped at 20 days, and the continuous
ranked probability score (CRPS) of ln(2 + days). Never by the true lead: even forecasts that are
exactly calibrated look late near it and early far from it.

With --gravity bubbles every reading is taken out first. With --gravity read the tail is given
readings of its own, every four to nine evenings, 1 point off on average and once in a hundred by
10 (in the kind named slips one in three), and only evenings after the first of them count.
--save keeps every evening as CSV, and --against holds them against those of an earlier run.

Run: python tests/bench/ferment/calibration.py [--gravity bubbles|read] [--seeds 67] [--first 1000]
     [--evenings 8] [--kinds exponential,kinetic] [--save FILE] [--against FILE]
"""

from __future__ import annotations

import argparse
import math
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from bubblerate.diary.settings import Settings
from bubblerate.ferment.forecast import forecast
from bubblerate.ferment.made_up import KINDS, Ferment, simulate
from bubblerate.verdict.judgement import fit_situation, situation

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # what benches and tests share

from bench.ferment.scores import LEADS, compare, score, straight_line, table, totals

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bubblerate.diary.visit import Diary, Visit

THRESHOLD_PER_MIN = 1.0
PITCHED = datetime(2026, 1, 10, 12, tzinfo=UTC)
AFTER_DAYS = 4.0
DAY = timedelta(days=1)


def with_readings(ferment: Ferment, visits: Sequence[Visit], peak: float) -> list[Visit]:
    """Rows with readings of our own in the tail, in place of those of the diary."""
    rng = np.random.default_rng([ferment.seed, 7])
    tail = [v for v in visits if v.bubbles is not None and (v.when - PITCHED) / DAY > peak]
    misread = 0.35 if ferment.kind == "slips" else 0.01
    read_on, i = set(), int(rng.integers(0, 5))
    while i < len(tail):
        read_on.add(tail[i].when)
        i += int(rng.integers(4, 10))

    def sg(visit: Visit) -> float | None:
        if visit.event == "pitched":
            return visit.sg
        if visit.bubbles is None or visit.when not in read_on:
            return None
        true = float(ferment.true_sg(np.array([(visit.when - PITCHED) / DAY]))[0])
        off = rng.choice([-0.010, 0.010]) if rng.random() < misread else 0.0
        return round(true + rng.normal(0.0, 0.001) + off, 3)

    return [replace(visit, sg=sg(visit)) for visit in visits]


def evenings(job: tuple[str, int], *, gravity: str, most: int) -> list[dict[str, object]]:
    """One row for each evening asked about of one ferment; those unanswered hold no numbers."""
    kind, seed = job
    ferment = simulate(kind, seed)
    truth = ferment.crossing_day(THRESHOLD_PER_MIN)
    if not math.isfinite(truth):
        return []
    diary, peak = kept(ferment, truth, gravity)
    days = [(v.when - PITCHED) / DAY for v in diary.live if v.bubbles is not None]
    asked = [day for day in days if day < truth + AFTER_DAYS]
    if gravity == "read":
        first = min((v.when for v in diary.live[1:] if v.sg is not None), default=None)
        asked = [day for day in asked if first is not None and PITCHED + day * DAY >= first]
    rows = []
    for i in np.unique(np.linspace(0, len(asked) - 1, most if asked else 0).round().astype(int)):
        about = {"kind": kind, "seed": seed, "day": round(asked[i], 4), "past": asked[i] > truth}
        found = asked_on(diary, asked[i])
        basis = "early" if asked[i] < peak else "none"
        row = about | {"basis": basis, "finish": math.nan}
        if found is not None:
            so_far = [
                v for v in diary.until(PITCHED + asked[i] * DAY).live if v.per_min is not None
            ]
            line = straight_line(
                np.array([(v.when - PITCHED) / DAY for v in so_far]),
                np.array([v.per_min for v in so_far]),
                THRESHOLD_PER_MIN,
            )
            basis, draws, finish = found
            row = about | {"basis": basis, "finish": finish - ferment.grid_sg[-1]}
            row |= score(draws, truth - asked[i], line - asked[i])
        rows.append(row)
    return rows


def kept(ferment: Ferment, truth: float, gravity: str) -> tuple[Diary, float]:
    """The diary with the readings that are asked for, and the day of the true peak."""
    diary = ferment.diary
    grid = np.linspace(0.0, truth, 2000)
    peak = float(grid[np.argmax(ferment.true_per_min(grid))])
    if gravity == "bubbles":
        return replace(diary, visits=tuple(replace(v, sg=None) for v in diary.visits)), peak
    return replace(diary, visits=tuple(with_readings(ferment, diary.visits, peak))), peak


def asked_on(diary: Diary, day: float) -> tuple[str, np.ndarray, float] | None:
    """What is forecast on a day: by what, draws of the days ahead, and the finish."""
    at = PITCHED + day * DAY
    asked = situation(diary, at, Settings(), threshold_per_min=THRESHOLD_PER_MIN)
    told = forecast(fit_situation(asked), asked.whole, at=at, threshold_per_min=THRESHOLD_PER_MIN)
    if told is None:
        return None
    finish = math.nan if told.finish_sg is None else told.finish_sg.median
    return str(told.basis), told.crossing.draws, finish


def main() -> None:
    """Simulate, forecast, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=67)
    parser.add_argument("--first", type=int, default=1000)
    parser.add_argument("--evenings", type=int, default=8)
    parser.add_argument("--kinds", default=",".join(k for k in KINDS if k != "leak"))
    parser.add_argument("--gravity", choices=["bubbles", "read"], default="bubbles")
    parser.add_argument("--save", type=Path)
    parser.add_argument("--against", type=Path)
    arguments = parser.parse_args()
    seeds = range(arguments.first, arguments.first + arguments.seeds)
    jobs = [(kind, seed) for kind in arguments.kinds.split(",") for seed in seeds]
    ask = partial(evenings, gravity=arguments.gravity, most=arguments.evenings)
    with ProcessPoolExecutor() as pool:
        rows = [row for part in pool.map(ask, jobs, chunksize=4) for row in part]
    frame = pd.DataFrame(rows)
    if arguments.save is not None:
        frame.to_csv(arguments.save, index=False)
    before = None if arguments.against is None else pd.read_csv(arguments.against)
    show(frame, before)


def show(frame: pd.DataFrame, before: pd.DataFrame | None) -> None:
    """Print all tables."""
    late = frame[frame["basis"] != "early"]
    print(
        f"{(late['basis'] == 'none').mean():.1%} of {len(late)} evenings past the peak: no answer"
    )
    told = frame.dropna(subset="crps").assign(all="all")
    told["forecast_lead_d"] = pd.cut(told["forecast_lead"], LEADS)
    with pd.option_context("display.width", 200, "display.max_columns", None):
        print(table(told, ["basis"]))
        told = told[told["basis"] != "whole ferments"]  # the line has nothing to say there
        for by in (["kind"], ["forecast_lead_d"], ["past"], ["all"]):
            print(table(told, by))
    finish = (1000.0 * told["finish"]).dropna()
    if len(finish):
        print(
            f"finish: median error {finish.abs().median():.2f} points, bias {finish.median():.2f}"
        )
    print(totals(told))
    if before is not None:
        print(compare(told, before.dropna(subset="crps")))


if __name__ == "__main__":
    main()
