"""How often a wine is cleared for bottling: wines that have ended, and wines that would hurt.

Every cell is 400 diaries (`sugar_draws`), from the rows to the answer. "+c" is ten five-minute
counts over the last two weeks; without it the fresh look at the airlock is waived, to show what
readings alone do. "no T": no temperature noted. "outlier": one reading 4 off; "again": where the
last reading is asked for again, it is read again the same evening.

Run: python tests/bench/verdict/proof.py [draws] [words that a case must hold]
"""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from sugar_draws import PATTERNS, WINES, Drawn, Wine, draw

from bubblerate.verdict.lacks import Check, lacks
from bubblerate.verdict.proof import evidence_for_bottling
from bubblerate.verdict.sugar_grid import weigh


@dataclass(frozen=True, kw_only=True)
class Column:
    """How the diary was kept."""

    pattern: str
    counts: int = 10
    warmth: bool = True
    outlier: bool = False
    again: bool = False

    @property
    def title(self) -> str:
        words = {"+c": self.counts, "no T": not self.warmth, "outlier": self.outlier}
        return " ".join([self.pattern, *(w for w, said in words.items() if said)]) + (
            ", again" if self.again else ""
        )


COLUMNS = (
    *(Column(pattern=p, counts=c) for p in ("2x14d", "3x15d", "5 weekly") for c in (0, 10)),
    Column(pattern="5 weekly", warmth=False),
    Column(pattern="5 weekly", outlier=True),
    Column(pattern="5 weekly", outlier=True, again=True),
    *(Column(pattern="5 monthly", counts=c) for c in (0, 10)),
)
SEED = 1


def cleared(drawn: Drawn, column: Column) -> bool:
    """Whether the diary is a go, as the column waives or asks again."""
    waived = set() if column.counts else {Check.LOOK}
    diary = drawn.diary
    against = _against(drawn, diary) - waived
    if column.again and Check.ODD_READING in against:
        diary = replace(diary, visits=(*diary.visits, drawn.again))
        against = _against(drawn, diary) - waived
    return not against


def _against(drawn: Drawn, diary: object) -> set[Check]:
    known = evidence_for_bottling(diary, at=drawn.at, settings=drawn.settings)
    return {lack.check for lack in lacks(known, weigh(known))}


def pass_rate(wine: Wine, column: Column, draws: int) -> float:
    """Share of the dangerous draws of a harmful wine, or of all draws of another, cleared."""
    rng = np.random.default_rng(SEED)
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


def main() -> None:
    """Print the table."""
    draws = int(sys.argv[1]) if len(sys.argv) > 1 else 400
    wines = {n: w for n, w in WINES.items() if all(word in n for word in sys.argv[2:])}
    began = time.process_time()
    print("| % cleared | " + " | ".join(column.title for column in COLUMNS) + " |", flush=True)
    print("|---" * (len(COLUMNS) + 1) + "|")
    for name, wine in wines.items():
        rates = (100.0 * pass_rate(wine, column, draws) for column in COLUMNS)
        print(f"| {name} | " + " | ".join(f"{rate:.0f}" for rate in rates) + " |", flush=True)
    proofs = len(wines) * len(COLUMNS) * draws
    print(f"{(time.process_time() - began) / proofs * 1e3:.1f} ms of CPU time a draw and proof")


if __name__ == "__main__":
    main()
