"""Plays whole lives of jars by makers who do exactly what is next, and compares an expert's days.

Each life is played with a few seeds. The expert knows the true sugar: he racks on the first evening
with five points or less left and a true rate below the threshold, and bottles once it has been
finished for 14 days, clear for long enough, and all else is settled. Two medians follow: days from
his to the maker's; harmful is a bottle filled with more than 2 points that can still ferment.
Obeying changes some lives (warmed, roused, fed): those have no expert day of racking, "-".

The sums are those of the program itself; with --crude, those of the stand-in that the tests of the
table use, twenty times faster.

With --kept the same lives are kept by habit, and the first evening of each go is printed.

Run: python tests/bench/course/obeying.py [--seeds 3] [--lives plum cider-10] [--crude] [--kept]
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).parents[2]))

from bubblerate.course.days import evening_of
from bubblerate.course.engine import course
from bubblerate.verdict.reasons import Kind, Question

from crude import crude
from lives import BY_NAME, LIVES, Played, Wine, about_of, at, bottle_day, habit, obey, rack_day
from weighed import by_proof

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from bubblerate.course.inputs import About
    from bubblerate.course.jar import Weigh

CHANGED = {"elder", "elder-put", "stuck", "stuck-hard", "goose"}
HARMFUL_POINTS = 2.0


def span(values: Sequence[float | None], spec: str = ".0f") -> str:
    """Least and most of some values."""
    known = [v for v in values if v is not None]
    if not known:
        return "-"
    low, high = format(min(known), spec), format(max(known), spec)
    return low if low == high else f"{low}-{high}"


def line(wine: Wine, plays: list[Played]) -> str:
    """One life's row of the table."""
    expert = None if wine.name in CHANGED else rack_day(wine)
    best = [bottle_day(p.jar) for p in plays if p.bottled_day is not None]
    cells = (
        f"{wine.name:11} {wine.litres:4g} L",
        f"{span([p.racked_day for p in plays])} ({expert or '-'})",
        span([p.racked_sg for p in plays], ".3f"),
        f"{span([p.bottled_day for p in plays])} ({span(best)})",
        span([p.bottled_left for p in plays], ".1f"),
        span([p.jar.sampled for p in plays]),
        span([p.visits(Kind.COUNT) for p in plays]),
        span([len({day for day, _ in p.asked}) for p in plays]),
    )
    widths = (18, 14, 12, 20, 9, 6, 7, 7)
    return " ".join(f"{cell:{width}}" for cell, width in zip(cells, widths, strict=True))


def obeying(wines: Sequence[Wine], seeds: int, weigh: Callable[[About], Weigh]) -> None:
    """Print the table of lives lived by the book."""
    racked: list[int] = []
    bottled: list[int] = []
    harmful = unbottled = 0
    print(
        f"{'jar':18} racked(expert) {'at':12} {'bottled(expert)':20} {'left':9} "
        "read   counts  visits"
    )
    for wine in wines:
        plays = [obey(wine, seed, weigh=weigh) for seed in range(1, seeds + 1)]
        print(line(wine, plays), flush=True)
        expert = rack_day(wine)
        if wine.name not in CHANGED and expert is not None:
            racked += [p.racked_day - expert for p in plays if p.racked_day is not None]
        for p in plays:
            best = bottle_day(p.jar)
            unbottled += p.bottled_day is None
            harmful += (p.bottled_left or 0.0) > HARMFUL_POINTS
            if p.bottled_day is not None and best is not None:
                bottled.append(p.bottled_day - best)
    print(delays("racking", racked))
    print(delays("bottling", bottled))
    print(f"harmful {harmful}, never bottled {unbottled}, of {seeds * len(wines)} plays")


def delays(act: str, days: Sequence[int]) -> str:
    """Days after the expert's, for one act."""
    if not days:
        return f"{act}: no expert's day to compare with"
    return f"{act}: median {median(days):g} days after the expert ({min(days)} to {max(days)})"


def kept(wines: Sequence[Wine], seeds: int, weigh: Callable[[About], Weigh]) -> None:
    """Print the first evening of each go in diaries kept by habit, and the most that was left."""
    print("jar          first go: rack (expert)  bottle (expert)  left at any go on bottling")
    for wine in wines:
        about = about_of(wine)
        for seed in range(1, seeds + 1):
            sums = weigh(about)
            first: dict[Question, int] = {}
            left, best = 0.0, None
            for day, jar in habit(wine, seed):
                now = course(jar.rows, about, sums, evening_of(at(day).when))
                for question in Question:
                    if now.go(question):
                        first.setdefault(question, day)
                if now.go(Question.BOTTLING):
                    left = max(left, 0.0 if jar.held else jar.left)
                best = bottle_day(jar)
            rack, bottle = (first.get(q, "-") for q in Question)
            print(f"{wine.name:12} {rack} ({rack_day(wine)})  {bottle} ({best})  {left:.1f}")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--lives", nargs="*", default=[wine.name for wine in LIVES])
    parser.add_argument("--crude", action="store_true")
    parser.add_argument("--kept", action="store_true")
    given = parser.parse_args()
    began = time.process_time()
    chosen = [BY_NAME[name] for name in given.lives]
    (kept if given.kept else obeying)(chosen, given.seeds, crude if given.crude else by_proof)
    print(f"{time.process_time() - began:.0f} s of CPU time")
