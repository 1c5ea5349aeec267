"""Tells whether a wine that was steady has started to fall again by itself.

Gravity is in points (0.001 SG) above 1.000, days are evenings (`acts`), temperatures C.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean, median
from typing import TYPE_CHECKING, Final

from ..ferment.poisson import at_least_per_min

if TYPE_CHECKING:
    from collections.abc import Sequence

    from .acts import Reading
    from .sugar_evidence import SugarEvidence

__all__ = ["FORTNIGHT", "WOKE_STANDS_DAYS", "surely_per_min", "woke"]

FORTNIGHT: Final = 14  # dates; in less, no stem can tell 0.1 points a day from nothing (trade)
WOKE_POINTS: Final = 2.5  # below a steady level (our judgement, no source), and then
WOKE_STANDS_DAYS, WOKE_WARM_DAYS, WOKE_WARM_C = 60, 14, 18.0
PAIR_POINTS, FIT_POINTS, SPREAD_POINTS = 0.5, 1.0, 2.0  # that two, or more, readings may fall; and
LEVEL_POINTS: Final = 1.5  # this close, readings may all be of one level (our judgement, no source)


@dataclass(frozen=True, slots=True, kw_only=True)
class Woke:
    """A wine that was steady and then fell on, though nothing was done to it.

    Attributes
    ----------
    stood_points, now_points : float
        Level at which it was steady, and its level now.
    since : int
        Evening from which it is at the level of now.
    warm_days : float
        Days of that at 18 C or more.
    """

    stood_points: float
    now_points: float
    since: int
    warm_days: float

    def settled(self, last: int) -> bool:
        """Whether it has been steady again for long enough, and warm, by its last reading."""
        return last - self.since >= WOKE_STANDS_DAYS and self.warm_days >= WOKE_WARM_DAYS


def woke(known: SugarEvidence) -> Woke | None:
    """Find out whether a wine that was steady has fallen again; None if it has not.

    Parameters
    ----------
    known : SugarEvidence

    Returns
    -------
    Woke or None

    Notes
    -----
    It has if two later readings are 2.5 points or more below the line through readings that were
    steady over 14 dates. A tail that slows down never does that: it bends the other way.
    """
    read = known.readings
    days = [r.day for r in read]
    for end in range(len(read) - 2, 1, -1):
        begin = max(bisect_right(days, days[end - 1] - FORTNIGHT) - 1, 0)
        fell = _fell_on(read[begin:end], read[end:])
        last = read[end - 1].day
        if fell is not None and not any(last <= day <= fell for day in known.roused):
            now = median(r.points for r in read[-2:])
            since = _level_since(read, now)
            return Woke(
                stood_points=fmean(r.points for r in read[begin:end]),
                now_points=now,
                since=since,
                warm_days=_warm_days(known, since),
            )
    return None


def surely_per_min(known: SugarEvidence) -> float:
    """Largest rate that tonight, the last two evenings, ..., the last two weeks surely show.

    Over every run of newest evenings, so that many old zeros never hide tonight's bubbles, and over
    each gap timed on the newest one.
    """
    most, bubbles, minutes = max((e.gap_per_min for e in known.counts[-1:]), default=0.0), 0, 0.0
    for e in reversed(known.counts):
        if e.day < known.looked - FORTNIGHT:
            break
        bubbles, minutes = bubbles + e.bubbles, minutes + e.minutes
        most = max(most, at_least_per_min(bubbles, minutes))
    return most


def _fell_on(stood: Sequence[Reading], later: Sequence[Reading]) -> int | None:
    """Evening of the first of two readings well below those that were steady before."""
    line = _line(stood)
    if line is None:
        return None
    mean, slope, middle = line
    below = [mean + slope * (r.day - middle) - r.points for r in later]
    low = (
        fmean(pair) >= WOKE_POINTS - 1e-6 and min(pair) >= LEVEL_POINTS - 1e-6  # no single slip
        for pair in pairwise(below)
    )
    return next((r.day for r, fell in zip(later, low, strict=False) if fell), None)


def _line(stood: Sequence[Reading]) -> tuple[float, float, float] | None:
    """Mean [points], fall [points/day] and middle day of steady readings; else None."""
    days, points = [float(r.day) for r in stood], [r.points for r in stood]
    if days[-1] - days[0] < FORTNIGHT or max(points) - min(points) > SPREAD_POINTS + 1e-6:
        return None
    middle, mean = fmean(days), fmean(points)
    around = sum((d - middle) ** 2 for d in days)
    slope = sum((d - middle) * p for d, p in zip(days, points, strict=True)) / around
    most = PAIR_POINTS if len(stood) == 2 else FIT_POINTS
    if abs(slope) * (days[-1] - days[0]) > most + 1e-6:
        return None
    return mean, min(slope, 0.0), middle


def _level_since(read: Sequence[Reading], now: float) -> int:
    """Evening from which every reading is near the level of now."""
    since = read[-1].day
    for r in reversed(read):
        if abs(r.points - now) > LEVEL_POINTS + 1e-6:
            break
        since = r.day
    return since


def _warm_days(known: SugarEvidence, since: int) -> float:
    spells = [s for s in known.warmth if s.temp_c >= WOKE_WARM_C]
    return sum(max(min(s.last, known.looked) - max(s.first, since), 0.0) for s in spells)
