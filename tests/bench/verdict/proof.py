"""Measures how often a wine may be bottled: wines that have finished, and wines that would burst.

Every cell is 400 diaries (`sugar_draws`), from the rows to the answer. "+c" is ten five-minute
counts over the last two weeks; without it the fresh look at the airlock is waived, to show what
readings alone do. "no T": no temperature noted. "outlier": one reading 4 off; "again": where the
last reading is asked for again, it is read again the same evening.

Run: python tests/bench/verdict/proof.py [draws] ["bars", or words that a case must hold]
"""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from bubblerate.verdict.lacks import lacks
from bubblerate.verdict.proof import evidence_for_bottling
from bubblerate.verdict.reasons import Code
from bubblerate.verdict.sugar_grid import weigh

from sugar_draws import PATTERNS, WINES, Drawn, Wine, draw

if TYPE_CHECKING:
    from bubblerate.diary.visit import Diary


@dataclass(frozen=True, kw_only=True)
class Column:
    """How the diary was kept."""

    pattern: str
    counts: int = 10
    warmth: bool = True
    outlier: bool = False
    again: bool = False
    temp_c: float | None = None

    @property
    def title(self) -> str:
        words = {"+c": self.counts, "no T": not self.warmth, "outlier": self.outlier}
        title = " ".join([self.pattern, *(w for w, said in words.items() if said)])
        warm = "" if self.temp_c is None else f" {self.temp_c:.0f} C"
        return title + warm + (", again" if self.again else "")


WEEKLY = Column(pattern="5 weekly")
AT_20_C = Column(pattern="5 weekly", temp_c=20.0)
AGAIN = Column(pattern="5 weekly", outlier=True, again=True)
MONTHLY = Column(pattern="5 monthly")
COLUMNS = (
    *(Column(pattern=p, counts=c) for p in ("2x14d", "3x15d", "5 weekly") for c in (0, 10)),
    Column(pattern="5 weekly", warmth=False),
    Column(pattern="5 weekly", outlier=True),
    AGAIN,
    AT_20_C,
    Column(pattern="5 monthly", counts=0),
    MONTHLY,
)
SWEETER = ("finished cider 1.004", "finished perry 1.010", "finished mead 1.006")
# What must be reached: per cent, less or more two standard errors.
AT_LEAST = {
    ("finished dry 0.994", WEEKLY): 95,
    **{(name, WEEKLY): 90 for name in SWEETER},
    **{(name, column): 94 for name in SWEETER for column in (AT_20_C, MONTHLY)},
    ("finished dry 0.994", AGAIN): 95,
}
AT_MOST = {
    ("falling 0.07, 4 left", WEEKLY): 5,
    ("falling 0.10, 4 left", WEEKLY): 1,
    ("paused, 5 left, then 19 C", WEEKLY): 12,
    ("stuck 1.012", WEEKLY): 0,
    ("stabilised, falling 0.10", WEEKLY): 2,
}
SEED = 1


def cleared(drawn: Drawn, column: Column) -> bool:
    """Whether the diary is a go, as the column waives or asks again."""
    waived = set() if column.counts else {Code.FEW_COUNTS}
    diary = drawn.diary
    against = _against(drawn, diary) - waived
    if column.again and Code.ODD_READING in against:
        diary = replace(diary, visits=(*diary.visits, drawn.again))
        against = _against(drawn, diary) - waived
    return not against


def _against(drawn: Drawn, diary: Diary) -> set[Code]:
    known = evidence_for_bottling(diary, at=drawn.at, settings=drawn.settings)
    return {lack.check for lack in lacks(known, weigh(known))}


def pass_rate(wine: Wine, column: Column, draws: int) -> float:
    """Share of the dangerous draws of a harmful wine, or of all draws of another, cleared."""
    rng = np.random.default_rng(SEED)
    if column.temp_c is not None and not wine.wakes:
        wine = replace(wine, temp_c=column.temp_c)
    days = PATTERNS[column.pattern]
    went = [
        cleared(drawn, column)
        for _ in range(draws)
        for drawn in [
            draw(
                wine,
                days,
                counts=column.counts,
                rng=rng,
                warmth=column.warmth,
                outlier=column.outlier,
            )
        ]
        if drawn.dangerous or not wine.harmful
    ]
    return sum(went) / len(went) if went else float("nan")


def print_bars(draws: int) -> None:
    """Print the rates that have a bar, and whether it is reached within two standard errors."""
    for bars, sign in ((AT_LEAST, 1), (AT_MOST, -1)):
        for (name, column), bar in bars.items():
            rate = pass_rate(WINES[name], column, draws)
            error = (rate * (1.0 - rate) / draws) ** 0.5
            reached = sign * (rate - bar / 100.0) >= -2.0 * error - 1e-9
            word = "at least" if sign > 0 else "at most"
            print(
                f"{name}, {column.title}: {100 * rate:.1f} +- {100 * error:.1f} %, {word} {bar}: "
                f"{'reached' if reached else 'MISSED'}",
                flush=True,
            )


def print_table(draws: int, words: list[str]) -> None:
    """Print the rates of the wines whose names hold these words."""
    wines = {n: w for n, w in WINES.items() if all(word in n for word in words)}
    print("| % cleared | " + " | ".join(column.title for column in COLUMNS) + " |", flush=True)
    print("|---" * (len(COLUMNS) + 1) + "|")
    for name, wine in wines.items():
        rates = (100.0 * pass_rate(wine, column, draws) for column in COLUMNS)
        print(f"| {name} | " + " | ".join(f"{rate:.0f}" for rate in rates) + " |", flush=True)


def main() -> None:
    """Print the table, or the bars."""
    draws = int(sys.argv[1]) if len(sys.argv) > 1 else 400
    if sys.argv[2:] == ["bars"]:
        print_bars(draws)
    else:
        print_table(draws, sys.argv[2:])
    print(f"{time.process_time():.0f} s of CPU time")


if __name__ == "__main__":
    main()
