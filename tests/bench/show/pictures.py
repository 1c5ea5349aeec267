"""Measures what bands in pictures hold on simulated ferments, and what a picture costs.

The residuals of the counts a fit has seen, and the true gravity beside the band of the joint fit
from the first count of the tail to twenty days after the last: 80 % bands should hold four in five.

    python tests/bench/show/pictures.py
"""

import sys
import tempfile
import time
from datetime import timedelta
from pathlib import Path

import numpy as np
import pandas as pd

from bubblerate.course.judgement import judge
from bubblerate.diary.reading import parse
from bubblerate.ferment.bands import gravity_bands
from bubblerate.ferment.residuals import Part, residuals
from bubblerate.show.pictures.residuals import save_residuals
from bubblerate.show.pictures.shelf import save_shelf
from bubblerate.show.pictures.tail import save_tail

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # what benches and tests share

from bubblerate.ferment.made_up import KINDS, PITCHED, simulate

SEEDS = range(900, 906)
AHEAD_DAYS = 20.0


def held(kind, seed):
    """Shares held of one ferment, asked on its last evening."""
    ferment = simulate(kind, seed)
    path = Path(f"{kind}.csv")
    diary = parse(path, ferment.csv.encode(), pitched=None, now=PITCHED)
    fit = judge(diary, at=diary.live[-1].when).fit
    if fit is None or fit.distrust:
        return {"kind": kind}
    found = residuals(fit, rng=np.random.default_rng(seed))
    score = np.abs(found.score[found.those(Part.FULL)])
    row = {"kind": kind, "counts": len(score), "in 80 %": np.mean(score < 1.2816)}
    row["in 95 %"] = np.mean(score < 1.96)
    if len(fit.evidence.reading_days):
        days = np.linspace(0.0, fit.tail.days[-1] + AHEAD_DAYS, 40)
        low, high = gravity_bands(fit, days, [0.1, 0.9])
        began = (fit.tail.start - PITCHED) / timedelta(days=1)
        true = ferment.true_sg(days + began)
        row["gravity in 80 %"] = np.mean((low <= true) & (true <= high))
    return row


def main():
    """Print the two tables."""
    table = pd.DataFrame([held(kind, seed) for kind in KINDS for seed in SEEDS])
    shares = table.groupby("kind").mean()
    shares.loc["all"] = table.drop(columns="kind").mean()
    print(shares.round(2).to_string(), end="\n\n")

    diary = parse(
        Path("jar.csv"), simulate(next(iter(KINDS)), 1).csv.encode(), pitched=None, now=PITCHED
    )
    judged = judge(diary, at=diary.live[-1].when)
    path, at = Path(tempfile.mkdtemp()) / "a.png", judged.verdict.asked_at
    for name, draw in {
        "tail": lambda: save_tail(judged, path),
        "residuals": lambda: save_residuals(judged, path),
        "shelf of 7": lambda: save_shelf([judged] * 7, path, vessels=7, at=at),
        "shelf of 24": lambda: save_shelf([judged] * 24, path, vessels=24, at=at),
    }.items():
        took = []
        for _ in range(6):  # the first loads and compiles
            began = time.process_time()
            draw()
            took.append(time.process_time() - began)
        print(f"{name:12} {np.median(took[1:]):.2f} s of CPU time")


if __name__ == "__main__":
    main()
