"""What the counts of one jar show without the curve: how recent, how quiet, how sudden.

Rates in bubbles a minute, times counted in seconds, spans in days.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import groupby, pairwise, takewhile
from typing import TYPE_CHECKING, NamedTuple

from ..ferment.gravity import days
from ..ferment.poisson import at_least_per_min
from .acts import evening
from .limits import (
    OWN_PACE_LOG_PER_DAY,
    PACE_COUNTS,
    SUDDEN_BUBBLES,
    SUDDEN_GAP_DAYS,
    SUDDEN_LEFT_SHARE,
    SUDDEN_LOG_PER_DAY,
    SUDDEN_PER_PACE,
    SURELY,
    WORKING_BUBBLES,
    WORKING_PER_THRESHOLD,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from ..diary.visit import Visit
    from ..ferment.tail import Tail

__all__ = ["Airlock", "Spell", "airlock", "worked_on"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Spell:
    """Several counts taken together.

    Attributes
    ----------
    counts : int
    days : float
        From the first to the last.
    seconds : float
        Counted in all [s].
    """

    counts: int = 0
    days: float = 0.0
    seconds: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Airlock:
    """What the counts show.

    Attributes
    ----------
    counts : int
        Trusted counts in the tail.
    bubbling_counts : int
        Evenings of the tail with at least one bubble, which show a decline.
    last_count_at : datetime or None
        Last count that can be compared with others.
    peak_at : datetime or None
        When the bubbles were fastest.
    seen_working : bool
        On some evening since the last break the count was well above the threshold.
    sudden : bool
        The airlock fell quiet faster than sugar runs out.
    last_per_min : float
        Rate that the last count surely shows: an exact Poisson lower limit.
    quiet : Spell
        The latest evenings in a row at or below the threshold.
    """

    counts: int = 0
    bubbling_counts: int = 0
    last_count_at: datetime | None = None
    peak_at: datetime | None = None
    seen_working: bool = False
    sudden: bool = False
    last_per_min: float = 0.0
    quiet: Spell = field(default_factory=Spell)


def airlock(
    visits: Sequence[Visit],
    tail: Tail | None,
    *,
    since: datetime | None,
    threshold_per_min: float,
) -> Airlock:
    """Find what the counts show.

    Parameters
    ----------
    visits : sequence of Visit
        Live rows of one wine no later than `at`, oldest first.
    tail : Tail or None
        The counts of the tail among them.
    since : datetime or None
        When a bubble last changed its size; counts before it cannot be compared with later ones.
    threshold_per_min : float
        Rate asked about [bubbles/min].

    Returns
    -------
    Airlock
    """
    rows = [v for v in visits if v.bubbles is not None]
    counted = _by_evening(rows)
    comparable = counted if since is None else _by_evening(v for v in rows if v.when > since)
    quiet = list(takewhile(lambda c: c.per_min <= threshold_per_min, reversed(comparable)))[::-1]
    return Airlock(
        counts=0 if tail is None else tail.trusted,
        bubbling_counts=0 if tail is None else _bubbling(tail),
        last_count_at=None if tail is None else tail.start + timedelta(days=float(tail.days[-1])),
        peak_at=_peak_at(counted),
        seen_working=any(_working(c, threshold_per_min) for c in comparable),
        sudden=_sudden(comparable),
        last_per_min=_surely_per_min(comparable[-1]) if comparable else 0.0,
        quiet=_spell(quiet),
    )


class _Count(NamedTuple):
    """All bubbles of one evening, and the seconds they were counted in."""

    when: datetime
    bubbles: int
    seconds: float

    @property
    def per_min(self) -> float:
        """Rate of that evening."""
        return 60.0 * self.bubbles / self.seconds


def _by_evening(rows: Iterable[Visit]) -> list[_Count]:
    """Join the counts of one evening, so that it does not matter how an hour is cut into rows."""
    nights = (list(some) for _, some in groupby(rows, key=lambda v: evening(v.when)))
    return [
        _Count(
            some[-1].when,
            sum(v.bubbles or 0 for v in some),
            math.fsum(v.seconds or 60.0 for v in some),
        )
        for some in nights
    ]


def _spell(counts: Sequence[_Count]) -> Spell:
    """Join evenings, oldest first."""
    if not counts:
        return Spell()
    return Spell(
        counts=len(counts),
        days=days(counts[0].when, counts[-1].when),
        seconds=math.fsum(c.seconds for c in counts),
    )


def _bubbling(tail: Tail) -> int:
    """Evenings of the tail on which a bubble was counted."""
    heard = tail.days[tail.bubbles > 0]
    return len({evening(tail.start + timedelta(days=float(day))) for day in heard})


def _surely_per_min(count: _Count) -> float:
    """Rate that a count surely shows: an exact Poisson lower limit."""
    return at_least_per_min(float(count.bubbles), count.seconds / 60.0, sure=SURELY)


def _working(count: _Count, threshold_per_min: float) -> bool:
    """Whether it shows a ferment at work, well above the threshold."""
    fast = count.per_min >= WORKING_PER_THRESHOLD * threshold_per_min
    return fast and count.bubbles >= WORKING_BUBBLES


def worked_on(visits: Iterable[Visit], threshold_per_min: float) -> frozenset[int]:
    """Evenings whose counts show a ferment at work, as ordinals of the calendar."""
    counts = _by_evening(v for v in visits if v.bubbles is not None)
    return frozenset(evening(c.when) for c in counts if _working(c, threshold_per_min))


def _peak_at(counted: Sequence[_Count]) -> datetime | None:
    fastest = max(counted, key=lambda c: c.per_min, default=None)
    return None if fastest is None else fastest.when


def _sudden(counted: Sequence[_Count]) -> bool:
    """Whether the rate dropped for good, much faster than its own pace before."""
    return any(_leapt_down(counted, i) for i in range(1, len(counted)))


def _leapt_down(counted: Sequence[_Count], i: int) -> bool:
    """Whether this count is such a drop from the one before it."""
    last, after = counted[i - 1], counted[i]
    fall = _fall_per_day(last, after)
    if fall <= SUDDEN_LOG_PER_DAY:
        return False
    before = counted[max(0, i - 1 - PACE_COUNTS) : i]
    steps = [abs(_fall_per_day(*pair)) for pair in pairwise(before)]
    pace = max([OWN_PACE_LOG_PER_DAY, *([sum(steps) / len(steps)] if steps else [])])
    for_good = max(c.per_min for c in counted[i:]) < SUDDEN_LEFT_SHARE * last.per_min
    near = days(last.when, after.when) <= SUDDEN_GAP_DAYS
    enough = last.bubbles >= SUDDEN_BUBBLES
    return enough and near and for_good and fall > SUDDEN_PER_PACE * pace


def _fall_per_day(before: _Count, after: _Count) -> float:
    """Fall of the rate per day, in natural logarithms; less than a day counts as one."""
    rates = [max(c.bubbles, 1) / c.seconds for c in (before, after)]  # a zero may be nearly one
    return math.log(rates[0] / rates[1]) / max(days(before.when, after.when), 1.0)
