"""How often the stated intervals hold the truth, on simulated ferments the fit never saw.

Every evening of the tail of each simulated ferment, from three counts past the peak until the true
rate is through the threshold, the crossing is forecast from the rows so far. Printed by kind, by
lead, and by both: share of evenings on which the 80 % and 95 % interval held the true date, median
error of the median, and that of a straight line through log counts (what a spreadsheet would do).

With --gravity bubbles every reading is taken out first. With --gravity read the tail is given
readings of its own, every four to nine evenings, 1 point off on average and once in a hundred by
10 (in the kind named slips one in three), and only evenings after the first of them count.

Run: python tests/bench/ferment/calibration.py [--gravity bubbles|read] [--seeds 40] [--first 1000]
     [--kinds exponential,kinetic]
"""

from __future__ import annotations

import argparse
import math
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from bubblerate.course.judgement import judge
from bubblerate.diary.reading import read

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # what benches and tests share

from bubblerate.ferment.made_up import KINDS, Ferment, simulate

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bubblerate.diary.visit import Diary, Visit

THRESHOLD_PER_MIN = 1.0
PITCHED = datetime(2026, 1, 10, 12, tzinfo=UTC)
LEADS = [0.0, 1.0, 3.0, 7.0, 15.0]
DAY = timedelta(days=1)


def straight_line(diary: Diary, threshold: float) -> float:
    """Crossing day by least squares through log counts since the largest; inf if it never falls."""
    counted = [(v.when, v.per_min) for v in diary.live if v.per_min is not None]
    peak = max(range(len(counted)), key=lambda i: counted[i][1])
    t = np.array([(when - PITCHED) / DAY for when, rate in counted[peak:] if rate > 0])
    y = np.log([rate for _, rate in counted[peak:] if rate > 0])
    if len(t) < 3:
        return math.inf
    slope, level = np.polyfit(t, y, 1)
    return (math.log(threshold) - level) / slope if slope < 0 else math.inf


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


def evenings(job: tuple[str, int, str]) -> list[dict[str, object]]:
    """One row for each evening of the tail of one ferment."""
    kind, seed, gravity = job
    ferment = simulate(kind, seed)
    truth = ferment.crossing_day(THRESHOLD_PER_MIN)
    if not math.isfinite(truth):
        return []
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "jar.csv"
        path.write_text(ferment.csv, encoding="utf-8", newline="")
        diary = read(path)
    grid = np.linspace(0.0, truth, 2000)
    peak = grid[np.argmax(ferment.true_per_min(grid))]
    if gravity == "bubbles":
        diary = replace(diary, visits=tuple(replace(v, sg=None) for v in diary.visits))
    else:
        diary = replace(diary, visits=tuple(with_readings(ferment, diary.visits, peak)))
    rows: list[dict[str, object]] = []
    for visit in diary.live:
        now = (visit.when - PITCHED) / DAY
        if visit.bubbles is None or not peak < now < truth:
            continue
        judged = judge(diary, at=visit.when, threshold_per_min=THRESHOLD_PER_MIN)
        if judged.forecast is None or judged.fit is None:
            continue
        if gravity == "read" and not len(judged.fit.evidence.reading_days):
            continue
        c = judged.forecast.crossing
        low95, low80, mid, high80, high95 = (
            math.inf if t is None else (t - PITCHED) / DAY
            for t in (c.low95, c.low80, c.median, c.high80, c.high95)
        )
        line = straight_line(diary.until(visit.when), THRESHOLD_PER_MIN)
        rows.append(
            {
                "kind": kind,
                "seed": seed,
                "lead": truth - now,
                "in80": low80 <= truth <= high80,
                "in95": low95 <= truth <= high95,
                "early": truth < low80,
                "late": truth > high80,
                "error": abs(mid - truth),
                "bias": mid - truth,
                "width": high80 - low80,
                "line": abs(line - truth),
            }
        )
    return rows


def table(frame: pd.DataFrame, by: list[str]) -> pd.DataFrame:
    """Coverage and errors, one row a group; every ferment weighs the same."""
    weight = 1.0 / frame.groupby([*by, "kind", "seed"], observed=True)["lead"].transform("size")
    share = frame.assign(w=weight)
    grouped = share.groupby(by, observed=True)

    def mean(column: str) -> pd.Series:
        return grouped[[column, "w"]].apply(lambda g: np.average(g[column], weights=g["w"]))

    return pd.DataFrame(
        {
            "evenings": grouped.size(),
            "in80": mean("in80").round(2),
            "in95": mean("in95").round(2),
            "truth_early": mean("early").round(2),
            "truth_late": mean("late").round(2),
            "error_d": grouped["error"].median().round(2),
            "bias_d": grouped["bias"].median().round(2),
            "width_d": grouped["width"].median().round(2),
            "line_d": grouped["line"].median().round(2),
            "ratio": (grouped["error"].median() / grouped["line"].median()).round(2),
        }
    )


def main() -> None:
    """Simulate, judge, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=40)
    parser.add_argument("--first", type=int, default=1000)
    parser.add_argument("--kinds", default=",".join(k for k in KINDS if k != "leak"))
    parser.add_argument("--gravity", choices=["bubbles", "read"], default="bubbles")
    arguments = parser.parse_args()
    jobs = [
        (kind, seed, arguments.gravity)
        for kind in arguments.kinds.split(",")
        for seed in range(arguments.first, arguments.first + arguments.seeds)
    ]
    with ProcessPoolExecutor() as pool:
        rows = [row for part in pool.map(evenings, jobs, chunksize=4) for row in part]
    frame = pd.DataFrame(rows)
    frame["lead_d"] = pd.cut(frame["lead"], LEADS)
    with pd.option_context("display.width", 200, "display.max_columns", None):
        print(table(frame, ["kind"]))
        near = frame.dropna(subset="lead_d")
        print(table(near, ["lead_d"]))
        both = table(near, ["kind", "lead_d"])
        print(both[["in80", "in95"]].unstack().to_string())
        frame["all"] = "all"
        print(table(frame, ["all"]))


if __name__ == "__main__":
    main()
