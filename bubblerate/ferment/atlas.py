"""The atlas: thousands of simulated whole ferments, which can be read at any time and pace.

A ferment that has only begun to slow says little about its end, but it is like others. The atlas
holds some thousands, from pitching to silence. `bubblerate.ferment.kinetics` makes them, and
`bubblerate.ferment.likeness` compares a jar with them.

A curve gives, for each day, the share of its whole fall that leaves as gas. Gravity is in points
above 1.000, time in days since pitching. Shapes: m curves, c candidates (a curve at a pace), n
times.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["ATLAS_FILE", "DAYS", "Atlas", "Candidates", "load_atlas", "save_atlas"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

ATLAS_FILE: Final = Path(__file__).with_name("atlas.npz")

# Days on which curves are held: 1.4 h apart at first, later 6 % of their age.
_NODES, _SOON_DAYS, _LAST_DAYS = 96, 1.0, 240.0
_STEP: Final = float(np.log1p(_LAST_DAYS / _SOON_DAYS) / (_NODES - 1))
DAYS: Final[Floats] = _SOON_DAYS * np.expm1(_STEP * np.arange(_NODES))

SUGAR_POINTS: Final = 0.386  # points that 1 g/L of sugar adds (sucrose tables)
# Fall in points from 1 g/L of sugar: its own weight, plus how light its alcohol is (0.168 points
# for each g/L of ethanol), less what stays behind as glycerol and acids.
FALL_POINTS: Final = SUGAR_POINTS + 0.47 * 0.168 - 0.012
MOST_EXTRACT_POINTS: Final = 14.0  # points of a must that are no sugar; common practice, no source

_HELD: Final = 0.05  # step of ln in the file: a fifth of an evening's scatter


@dataclass(frozen=True, kw_only=True, eq=False)  # no slots: cached properties need a dict
class Atlas:
    """Curves of m whole ferments.

    Attributes
    ----------
    log_share : ndarray, shape (m, len(DAYS))
        Ln of the share of the whole fall that leaves as gas in a day, on `DAYS`.
    fall, og, extract : ndarray, shape (m,)
        Points: the whole fall, the gravity at the start, and what in the must is no sugar.
    """

    log_share: NDArray[np.float32]
    fall: Floats
    og: Floats
    extract: Floats

    def __len__(self) -> int:
        """Count the ferments."""
        return len(self.fall)

    @cached_property
    def fallen(self) -> NDArray[np.float32]:
        """Share of the whole fall that has fallen by each of `DAYS`; shape as `log_share`."""
        rate = np.exp(self.log_share)
        area = 0.5 * (rate[:, 1:] + rate[:, :-1]) * np.diff(DAYS).astype(np.float32)
        done = np.cumsum(area, axis=1)
        return np.asarray(np.pad(done / done[:, -1:], ((0, 0), (1, 0))), np.float32)


@lru_cache(maxsize=1)
def load_atlas() -> Atlas:
    """Read the atlas that the package ships.

    Returns
    -------
    Atlas
    """
    with np.load(ATLAS_FILE) as held:
        return Atlas(
            log_share=held["log_share"].astype(np.float32) * np.float32(-_HELD),
            **{name: held[name].astype(float) for name in ("fall", "og", "extract")},
        )


def save_atlas(path: Path, *, log_share: Floats, fall: Floats, og: Floats, extract: Floats) -> None:
    """Write an atlas to a file for `load_atlas`.

    Parameters
    ----------
    path : Path
    log_share : ndarray, shape (m, len(DAYS))
        Stored in steps of 0.05 between 0 and -12.75.
    fall, og, extract : ndarray, shape (m,)
        As in `Atlas`; stored in single precision.
    """
    np.savez_compressed(
        path,
        log_share=np.clip(np.round(-log_share / _HELD), 0, 255).astype(np.uint8),
        fall=fall.astype(np.float32),
        og=og.astype(np.float32),
        extract=extract.astype(np.float32),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Candidates:
    """Curves of an atlas, each with a pace and a pitching time.

    Attributes
    ----------
    atlas : Atlas
    row : ndarray of int, shape (c,)
        Which curve of the atlas.
    pace : ndarray, shape (c,)
        How many times slower than the curve.
    shift : ndarray, shape (c,)
        Days from pitching to the moment that the jar's days start at.
    fall, finish : ndarray, shape (c,)
        Points fallen in all, and the gravity at the end.
    log_prior : ndarray, shape (c,)
        Ln of how likely each is before any count is looked at, up to a constant.
    """

    atlas: Atlas
    row: Ints
    pace: Floats
    shift: Floats
    fall: Floats
    finish: Floats
    log_prior: Floats

    def some(self, which: Ints) -> Candidates:
        """The candidates with these indices."""
        names = ("row", "pace", "shift", "fall", "finish", "log_prior")
        return replace(self, **{name: getattr(self, name)[which] for name in names})

    def log_share(self, days: Floats) -> Floats:
        """Ln of the share of the whole fall that leaves in a day, at n `days`; shape (c, n)."""
        slower = np.log(self.pace)[:, None].astype(np.float32)
        return np.asarray(self._at(self.atlas.log_share, days) - slower)

    def fallen(self, days: Floats) -> Floats:
        """Share of the whole fall that has fallen by n `days`; shape (c, n)."""
        return self._at(self.atlas.fallen, days)

    def _at(self, table: NDArray[np.float32], days: Floats) -> Floats:
        """Rows of a table on `DAYS`, each at its own pace, interpolated at n times."""
        # times first, so that loops run along the many candidates
        age = days.astype(np.float32)[:, None] + self.shift.astype(np.float32)
        age = np.maximum(age, 0.0, out=age)
        age /= (_SOON_DAYS * self.pace).astype(np.float32)
        x = np.log1p(age, out=age)
        x /= np.float32(_STEP)
        np.minimum(x, np.float32(_NODES - 1.001), out=x)
        i = x.astype(np.int64)
        x -= i
        i += self.row * _NODES
        flat = table.ravel()
        before = flat.take(i)
        return np.asarray(before + (flat[1:].take(i) - before) * x).T


def last_above(log_rates: Floats, level: float) -> Floats:
    """Find the day from which each curve stays below a level.

    Parameters
    ----------
    log_rates : ndarray, shape (k, len(DAYS))
    level : float
        In the same unit.

    Returns
    -------
    ndarray, shape (k,)
        Interpolated between two of `DAYS`; 0 if it always is, infinite if it is not within them.
    """
    k, last = np.arange(len(log_rates)), _NODES - np.argmax(log_rates[:, ::-1] > level, axis=1)
    last = np.where(np.any(log_rates > level, axis=1), last, 0)
    i = np.clip(last, 1, _NODES - 1)
    above, below = log_rates[k, i - 1], log_rates[k, i]
    part = np.clip((above - level) / np.maximum(above - below, 1e-6), 0.0, 1.0)
    day = np.where(last == 0, 0.0, _SOON_DAYS * np.expm1(_STEP * (i - 1 + part)))
    return np.asarray(np.where(last >= _NODES, np.inf, day), float)
