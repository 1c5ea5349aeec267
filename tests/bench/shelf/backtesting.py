"""Measures how near the day found by counts alone is to the true one, and a backtest's shares.

Simulated ferments of every kind. First the day of the fall, by kind: how many vessels are told,
bias and median error of the day, how often the days within which it surely fell hold the true one.
Then the forecasts of those vessels, by lead: how often their intervals held the day told by counts,
which is what a maker can see, and how often they held the true day, which only a simulation knows.

Run: python tests/bench/shelf/backtesting.py [--seeds 10] [--first 7000] [--workers 2]
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace as changed
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pandas as pd

from bubblerate.diary.reading import read
from bubblerate.shelf.backtest import LeftOut, Replay, replay
from bubblerate.shelf.coverage import in_hindsight

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # what benches and tests share

from bubblerate.ferment.made_up import KINDS, simulate

from bench.ferment.calibration import PITCHED, THRESHOLD_PER_MIN

DAY = timedelta(days=1)


def looked_back(job: tuple[str, int]) -> tuple[str, datetime, Replay | LeftOut]:
    """Kind of one ferment, its true day, and what a maker would be told."""
    kind, seed = job
    ferment = simulate(kind, seed)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{kind}-{seed}.csv"
        path.write_text(ferment.csv, encoding="utf-8", newline="")
        diary = read(path)
    true = PITCHED + ferment.crossing_day(THRESHOLD_PER_MIN) * DAY
    return kind, true, replay(diary, threshold_per_min=THRESHOLD_PER_MIN)


def days_told(results: list[tuple[str, datetime, Replay | LeftOut]]) -> pd.DataFrame:
    """One row a kind: how near the day of the fall is told."""
    rows = []
    for kind in KINDS:
        of_kind = [(true, one) for name, true, one in results if name == kind]
        told = [(true, one.quiet_day) for true, one in of_kind if isinstance(one, Replay)]
        off = np.array([(fall.about - true) / DAY for true, fall in told])
        rows.append(
            {
                "kind": kind,
                "vessels": len(of_kind),
                "told": len(told),
                "bias_d": np.median(off).round(2),
                "error_d": np.median(np.abs(off)).round(2),
                "within": np.mean([f.surely_from <= t <= f.surely_by for t, f in told]).round(2),
                "window_d": np.median([(f.surely_by - f.surely_from) / DAY for _, f in told]).round(
                    1
                ),
            }
        )
    return pd.DataFrame(rows).set_index("kind")


def main() -> None:
    """Simulate, look back, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=10)
    parser.add_argument("--first", type=int, default=7000)
    parser.add_argument("--workers", type=int, default=2)
    arguments = parser.parse_args()
    seeds = range(arguments.first, arguments.first + arguments.seeds)
    with ProcessPoolExecutor(arguments.workers) as pool:
        results = list(pool.map(looked_back, [(kind, seed) for kind in KINDS for seed in seeds]))
    print(days_told(results).to_string())
    left = Counter(one.reason.code for _, _, one in results if isinstance(one, LeftOut))
    print("left out:", ", ".join(f"{code} {n}" for code, n in left.most_common()))
    sound = [(t, one) for kind, t, one in results if isinstance(one, Replay) and kind != "leak"]
    seen = in_hindsight(one for _, one in sound)
    # the same evenings in the same rows, with the true day in the place of the one told
    true = {
        (evening.vessel, evening.at): changed(evening, fell_at=t)
        for t, one in sound
        for evening in one.evenings
    }
    rows = [*seen.rows, *([] if seen.whole is None else [seen.whole])]
    table = []
    for row in rows:
        by_vessel: dict[str, list[tuple[bool, bool]]] = {}
        for evening in seen.evenings:
            if row.from_days < evening.lead_days <= row.to_days:
                known = true[evening.vessel, evening.at]
                by_vessel.setdefault(evening.vessel, []).append((known.held80, known.held95))
        shares = np.mean([np.mean(held, axis=0) for held in by_vessel.values()], axis=0)
        table.append(
            {
                "lead_d": f"{row.from_days:g}-{row.to_days:g}",
                "vessels": row.vessels,
                "evenings": row.evenings,
                "error_d": round(row.error_days, 2),
                "bias_d": round(row.bias_days, 2),
                "seen80": round(row.held80.seen, 2),
                "true80": shares[0].round(2),
                "seen95": round(row.held95.seen, 2),
                "true95": shares[1].round(2),
            }
        )
    print(pd.DataFrame(table).set_index("lead_d").to_string())
    early = sum(evening.early_go for evening in seen.evenings)
    print(f"racking called go surely before the fall: {early} of {len(seen.evenings)} evenings")


if __name__ == "__main__":
    main()
