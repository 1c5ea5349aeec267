"""The fit under diaries that no jar would make: an answer or none, and never a warning.

Each diary is judged for both questions with every warning an error. A find is anything raised.
Fixed seed: the same run tries the same diaries.

Run: python tests/bench/trust/fits.py [--diaries 20000] [--first 0] [--processes 2]
"""

from __future__ import annotations

import argparse
import random
import sys
import warnings
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # what benches and tests share

from bubblerate import Settings, judge
from bubblerate.verdict.reasons import Question

from scenes import diary, evening

if TYPE_CHECKING:
    from bubblerate.diary.visit import Diary

SEED = 22
MOST = 1_000_000  # bubbles in a row that a diary may hold


def odd_diary(number: int) -> Diary:
    """Rows at random: counts of any size over any spell, at any time apart, readings between."""
    rng = random.Random(f"{SEED} {number}")
    day, rows, size = 0.0, [], rng.choice((1.0, 30.0, 1e3, float(MOST)))
    halves = rng.choice((0.01, 1.0, 5.0, 500.0, -2.0))
    for _ in range(rng.choice((3, 4, 6, 12, 40))):
        row: dict[str, object] = {"day": day}
        seconds = rng.choice((1.0, 60.0, 60.0, 600.0, 86_400.0))
        falling = size * 0.5 ** min(60.0, max(-60.0, day / halves))
        bubbles = rng.choice((falling, falling, falling, 0.0, size, rng.uniform(0.0, size)))
        row |= {"bubbles": round(min(float(MOST), bubbles)), "seconds": seconds}
        if rng.random() < 0.3:
            row["sg"] = round(rng.uniform(0.985, 1.15), 4)
        if rng.random() < 0.5:
            row["temp_c"] = rng.choice((-2.0, 4.0, 18.0, 20.0, 40.0))
        if rng.random() < 0.1:
            row["event"] = rng.choice(("fed", "racked", "airlock", "moved", "stirred"))
        rows.append(row)
        day += rng.choice((0.001, 0.02, 1.0, 1.0, 1.0, 10.0, 300.0))
    return diary(*rows, vessel=f"odd-{number}")


def fault(number: int) -> str:
    """What is raised at one diary, for either question; empty where nothing is."""
    one = odd_diary(number)
    last = max(visit.when for visit in one.visits) - evening(0)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for question, later in zip(Question, (0.0, 30.0), strict=True):
            at = evening(last.total_seconds() / 86_400.0 + later)
            try:
                judge(one, at=at, question=question, settings=Settings())
            except Exception as err:
                what = f"{type(err).__name__}: {err} ({_place(err)})"
                return f"diary {number}, {question}: {what}"
    return ""


def _place(err: Exception) -> str:
    trace = err.__traceback__
    while trace is not None and trace.tb_next is not None:
        trace = trace.tb_next
    if trace is None:
        return ""
    return f"{Path(trace.tb_frame.f_code.co_filename).name}:{trace.tb_lineno}"


def main() -> int:
    """Try them all, print every find, and count."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--diaries", type=int, default=20_000)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--processes", type=int, default=2)
    asked = parser.parse_args()
    numbers = range(asked.first, asked.first + asked.diaries)
    with ProcessPoolExecutor(asked.processes) as pool:
        finds = 0
        for said in pool.map(fault, numbers, chunksize=5):
            if said:
                finds += 1
                print(said, flush=True)
    print(f"{asked.diaries} diaries, {finds} finds")
    return 1 if finds else 0


if __name__ == "__main__":
    sys.exit(main())
