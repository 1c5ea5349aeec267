"""What the evenings show besides the curve: how fresh, how warm, how sudden, what was done.

Plain facts for the verdict, read off the rows; rates in bubbles a minute, temperatures in C.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise, takewhile
from statistics import median
from typing import TYPE_CHECKING

from .diary import BREAKS
from .tail import COLD_C, COLD_DROP_C

if TYPE_CHECKING:
    from collections.abc import Sequence

    from .diary import Visit
    from .tail import Tail

__all__ = ["Signs", "signs"]

STUNNING = frozenset({"sulphited", "stabilised", "fined"})  # yeast may be stunned, not spent
RECENT_DAYS = 14.0  # two weeks: what bottling looks back on
_TEMP_FRESH_DAYS = 4.0
_SUDDEN_PER_DAY = 1.3  # natural log: nearly fourfold in a day,
_SUDDEN_TIMES = 4.0  # and so many times the jar's own pace before: sugar runs out more gently
_OWN_PACE = 0.2  # at least, natural log a day: what chance makes of a level stretch
_PACE_EVENINGS = 3
_SUDDEN_GAP_DAYS = 2.5
_SUDDEN_BUBBLES = 8  # before the leap, so that chance alone makes none
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
    quiet_counts : int
        Latest counts in a row at or below the threshold.
    quiet_days : float
        Days that they span.
    sudden : bool
        The airlock fell quiet faster than sugar runs out.
    temp_c, usual_c : float or None
        Latest temperature of the last few days, and the usual of the tail [C].
    recent_bubbles, recent_seconds : float
        All that was counted in the last two weeks, since the last break, taken together.
    coldest_c : float or None
        Lowest temperature noted in the last two weeks [C].
    temps_noted : int
        How many temperatures were noted in that time.
    broken : tuple of (str, datetime) or None
        Last event that changed what a bubble is.
    fed_at : datetime or None
        When sugar or juice was last added.
    racked_at : datetime or None
        When it was last racked.
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
    quiet_counts: int = 0
    quiet_days: float = 0.0
    sudden: bool = False
    temp_c: float | None = None
    usual_c: float | None = None
    recent_bubbles: float = 0.0
    recent_seconds: float = 0.0
    coldest_c: float | None = None
    temps_noted: int = 0
    broken: tuple[str, datetime] | None = None
    fed_at: datetime | None = None
    racked_at: datetime | None = None
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

    Returns
    -------
    Signs
    """
    window = [v.temp_c for v in visits if v.temp_c is not None and _age(v, at) <= RECENT_DAYS]
    fresh = [v.temp_c for v in visits if v.temp_c is not None and _age(v, at) <= _TEMP_FRESH_DAYS]
    breaks = [(str(v.event), v.when) for v in visits if v.event in BREAKS]
    comparable = [
        v for v in visits if v.bubbles is not None and (not breaks or v.when > breaks[-1][1])
    ]
    recent = [v for v in comparable if _age(v, at) <= RECENT_DAYS]
    quiet = list(takewhile(lambda v: _quiet(v, threshold_per_min), reversed(comparable)))
    stunning = [v for v in visits if v.event in STUNNING and _age(v, at) < RECENT_DAYS]
    return Signs(
        counts=0 if tail is None else tail.trusted,
        last_count_at=None if tail is None else tail.start + timedelta(days=float(tail.days[-1])),
        seen_working=any(_working(v, threshold_per_min) for v in visits),
        peak_at=_peak_at(visits),
        quiet_counts=len(quiet),
        quiet_days=(quiet[0].when - quiet[-1].when) / timedelta(days=1) if quiet else 0.0,
        sudden=_sudden(comparable),
        temp_c=fresh[-1] if fresh else None,
        usual_c=_usual_c(visits),
        recent_bubbles=float(sum(v.bubbles or 0 for v in recent)),
        recent_seconds=float(sum(v.seconds for v in recent)),
        coldest_c=min(window, default=None),
        temps_noted=len(window),
        broken=breaks[-1] if breaks else None,
        fed_at=max(filter(None, (_last(visits, "fed"), _last(visits, "topped-up"))), default=None),
        racked_at=_last(visits, "racked"),
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


def _quiet(visit: Visit, threshold_per_min: float) -> bool:
    return visit.per_min is not None and visit.per_min <= threshold_per_min


def _sudden(counted: Sequence[Visit]) -> bool:
    """Whether the rate leapt down, for good, faster than its own pace before."""
    for i in range(1, len(counted)):
        if _step(counted[i - 1], counted[i]) <= _SUDDEN_PER_DAY:
            continue
        gap = (counted[i].when - counted[i - 1].when) / timedelta(days=1)
        before = counted[max(0, i - 1 - _PACE_EVENINGS) : i]
        steps = [abs(_step(*pair)) for pair in pairwise(before)]
        pace = max([_OWN_PACE, *([sum(steps) / len(steps)] if steps else [])])
        last, later = before[-1], [v.per_min or 0.0 for v in counted[i:]]
        for_good = max(later) < 0.5 * (last.per_min or 0.0)
        enough = (last.bubbles or 0) >= _SUDDEN_BUBBLES and gap <= _SUDDEN_GAP_DAYS
        if enough and for_good and _step(last, counted[i]) > _SUDDEN_TIMES * pace:
            return True
    return False


def _step(before: Visit, after: Visit) -> float:
    """Natural log by which the rate fell, a day; a gap of less than a day is one."""
    rates = [max(v.bubbles or 0, 1) / v.seconds for v in (before, after)]  # a zero may be near one
    return math.log(rates[0] / rates[1]) / max((after.when - before.when) / timedelta(days=1), 1.0)
