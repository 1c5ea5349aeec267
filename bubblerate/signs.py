"""What the evenings show besides the curve: how fresh, how warm, how sudden, what was done.

Plain facts for the verdict, read off the rows; rates in bubbles a minute, temperatures in C.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING

from .tail import COLD_C, COLD_DROP_C

if TYPE_CHECKING:
    from collections.abc import Sequence

    from .diary import Visit
    from .tail import Tail

__all__ = ["Signs", "signs"]

STUNNING = frozenset({"sulphited", "stabilised", "fined"})  # yeast may be stunned, not spent
RECENT_DAYS = 14.0  # two weeks: what bottling looks back on
_TEMP_FRESH_DAYS = 4.0
_SUDDEN_PER_DAY = 2.5  # natural log: twelvefold in a day, faster than sugar alone runs out
_SUDDEN_DAYS = 2.5
_WORKING = 2.0  # times the threshold, counted on some evening: a ferment was seen at work
_FEWEST_BUBBLES = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Signs:
    """Facts of one vessel as of one moment.

    Attributes
    ----------
    counts : int
        Counts in the tail that it trusts.
    last_count_at : datetime or None
        When a count was last made that can be compared with others.
    seen_working : bool
        Some evening's count stood well above the threshold.
    peak_at : datetime or None
        When the bubbles came fastest.
    sudden : bool
        The airlock fell quiet faster than sugar runs out.
    temp_c, usual_c : float or None
        Latest temperature of the last few days, and the usual of the tail [C].
    recent_bubbles, recent_seconds : float
        All that was counted in the last two weeks, taken together.
    coldest_c : float or None
        Lowest temperature noted since the gravity stands still [C].
    temps_noted : int
        How many temperatures were noted in that time.
    stunned : tuple of (str, datetime) or None
        Last event of the last two weeks that may have stunned the yeast.
    stabilised_at : datetime or None
        Last time the wine was stabilised.
    bottled_at : datetime or None
        When it was bottled.
    """

    counts: int = 0
    last_count_at: datetime | None = None
    seen_working: bool = False
    peak_at: datetime | None = None
    sudden: bool = False
    temp_c: float | None = None
    usual_c: float | None = None
    recent_bubbles: float = 0.0
    recent_seconds: float = 0.0
    coldest_c: float | None = None
    temps_noted: int = 0
    stunned: tuple[str, datetime] | None = None
    stabilised_at: datetime | None = None
    bottled_at: datetime | None = None

    @property
    def cold(self) -> bool:
        """Whether the yeast may only be resting from the cold."""
        if self.temp_c is None:
            return False
        return self.temp_c < COLD_C or (
            self.usual_c is not None and self.temp_c <= self.usual_c - COLD_DROP_C
        )


def signs(
    visits: Sequence[Visit],
    tail: Tail | None,
    *,
    at: datetime,
    threshold_per_min: float,
    steady_since: datetime | None,
) -> Signs:
    """Read the facts off the rows.

    Parameters
    ----------
    visits : sequence of Visit
        Live rows no later than `at`, oldest first.
    tail : Tail or None
        The counts of the tail among them.
    at : datetime
        The moment asked about.
    threshold_per_min : float
        Rate asked about [bubbles/min].
    steady_since : datetime or None
        First of the gravity readings that stand still; None where there is no reading.

    Returns
    -------
    Signs
    """
    warm_since = at if steady_since is None else steady_since
    window = [v.temp_c for v in visits if v.temp_c is not None and v.when >= warm_since]
    fresh = [v.temp_c for v in visits if v.temp_c is not None and _age(v, at) <= _TEMP_FRESH_DAYS]
    recent = [v for v in visits if v.bubbles is not None and _age(v, at) <= RECENT_DAYS]
    stunning = [v for v in visits if v.event in STUNNING and _age(v, at) < RECENT_DAYS]
    return Signs(
        counts=0 if tail is None else tail.trusted,
        last_count_at=None if tail is None else tail.start + timedelta(days=float(tail.days[-1])),
        seen_working=any(_working(v, threshold_per_min) for v in visits),
        peak_at=_peak_at(visits),
        sudden=_sudden(visits, threshold_per_min),
        temp_c=fresh[-1] if fresh else None,
        usual_c=_usual_c(visits),
        recent_bubbles=float(sum(v.bubbles or 0 for v in recent)),
        recent_seconds=float(sum(v.seconds for v in recent)),
        coldest_c=min(window, default=None),
        temps_noted=len(window),
        stunned=(str(stunning[-1].event), stunning[-1].when) if stunning else None,
        stabilised_at=_last(visits, "stabilised"),
        bottled_at=_last(visits, "bottled"),
    )


def _age(visit: Visit, at: datetime) -> float:
    return (at - visit.when) / timedelta(days=1)


def _last(visits: Sequence[Visit], event: str) -> datetime | None:
    return max((v.when for v in visits if v.event == event), default=None)


def _usual_c(visits: Sequence[Visit]) -> float | None:
    """Usual temperature of the ferment: the median of all that was noted."""
    noted = [v.temp_c for v in visits if v.temp_c is not None]
    return median(noted) if noted else None


def _working(visit: Visit, threshold_per_min: float) -> bool:
    return (
        visit.per_min is not None
        and visit.bubbles is not None
        and visit.bubbles >= _FEWEST_BUBBLES
        and visit.per_min >= _WORKING * threshold_per_min
    )


def _peak_at(visits: Sequence[Visit]) -> datetime | None:
    counted = [(v.per_min, v.when) for v in visits if v.per_min is not None]
    return max(counted, default=(0.0, None), key=lambda pair: pair[0])[1]


def _sudden(visits: Sequence[Visit], threshold_per_min: float) -> bool:
    """Whether the rate last fell through the threshold in one leap."""
    counted = [v for v in visits if v.bubbles is not None]
    for before, after in reversed(list(pairwise(counted))):
        if before.per_min is None or after.bubbles is None or before.per_min <= threshold_per_min:
            continue
        # the last evening above the threshold: how steep was the way down from it
        days = (after.when - before.when) / timedelta(days=1)
        at_most = max(after.bubbles, 1) / after.seconds * 60.0  # a zero may be one just missed
        if not (_working(before, threshold_per_min) and 0.0 < days <= _SUDDEN_DAYS):
            return False
        return math.log(before.per_min / at_most) / max(days, 1.0) > _SUDDEN_PER_DAY
    return False
