"""Jars on which the engine of the fit is measured: made-up ferments and the examples, each thrice.

Forty ferments, four of each kind, and five examples; each is asked about when a third of its rows
were written, two thirds, and all.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from bubblerate.diary.reading import parse
from bubblerate.ferment.crossing import crossing_days
from bubblerate.ferment.curve import as_curve
from bubblerate.verdict.judgement import situation

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # what benches and tests share

from bubblerate.ferment.made_up import KINDS, simulate

from scenes import EXAMPLES

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from bubblerate.ferment.evidence import Evidence

    Floats = NDArray[np.float64]

__all__ = ["crossings", "evidences", "rank_of"]

SHARES = (1 / 3, 2 / 3, 1.0)
NAMED = ("chestnut-honey-mead", "medlar", "perry-pear", "quince", "russet-cider")
NOW = datetime(2026, 12, 31, tzinfo=UTC)


def _pages() -> Iterator[tuple[str, bytes]]:
    for kind in KINDS:
        for seed in range(4):
            yield f"{kind} {seed}", simulate(kind, seed).csv.encode()
    for name in NAMED:
        yield name, (EXAMPLES / f"{name}.csv").read_bytes()


def evidences() -> Iterator[tuple[str, Evidence]]:
    """Each jar at each moment, by name; those with too few counts for a fit are left out."""
    for name, page in _pages():
        jar = parse(Path("jar.csv"), page, pitched=None, now=NOW)
        for share in SHARES:
            last = jar.visits[min(int(share * len(jar.visits)), len(jar.visits) - 1)]
            found = situation(jar, last.when).evidence
            if found is not None:
                yield f"{name}, {share:.0%}", found


def crossings(theta: Floats, names: tuple[str, ...]) -> Floats:
    """Thermal days until one bubble a minute, shape (m,)."""
    curve = as_curve(theta, names)
    return crossing_days(1.0 / np.exp(curve.log_per_point), **curve.gas)[:, 0]


def rank_of(days: float, of: Floats, weights: Floats) -> float:
    """Share of weighted draws that are no later."""
    return float(weights[of <= days].sum())
