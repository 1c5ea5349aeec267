"""What the counts of one vessel show besides the curve: how fresh, how quiet, how sudden.

Rates in bubbles a minute, times counted in seconds, spans in days.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import pairwise, takewhile
from typing import TYPE_CHECKING

from ..ferment.gravity import days
from ..ferment.poisson import at_least_per_min
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
    from collections.abc import Sequence

    from ..diary.visit import Visit
    from ..ferment.tail import Tail

__all__ = ["Airlock", "Spell", "airlock", "spell", "working"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Spell:
    """Several counts taken together.

    Attributes
    ----------
    counts : int
    days : float
        From the first to the last.
    seconds : float
        Counted for in all [s].
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
        Counts in the tail that it trusts.
    bubbling_counts : int
        Counts in the tail with at least one bubble: what a decline is seen by.
    last_count_at : datetime or None
        When a count was last made that can be compared with others.
    peak_at : datetime or None
        When the bubbles came fastest.
    seen_working : bool
        Some evening's count since the last break stood well above the threshold.
    sudden : bool
        The airlock fell quiet faster than sugar runs out.
    last_per_min : float
        Rate that the last count surely shows, an exact lower limit of Poisson.
    quiet : Spell
        Latest counts in a row at or below the threshold.
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
    """Read off the counts what they show.

    Parameters
    ----------
    visits : sequence of Visit
        Live rows of one wine no later than `at`, oldest first.
    tail : Tail or None
        The counts of the tail among them.
    since : datetime or None
        When a bubble last changed its size; counts before it compare with none after.
    threshold_per_min : float
        Rate asked about [bubbles/min].

    Returns
    -------
    Airlock
    """
    counted = [v for v in visits if v.bubbles is not None]
    comparable = [v for v in counted if since is None or v.when > since]
    quiet = list(takewhile(lambda v: _quiet(v, threshold_per_min), reversed(comparable)))[::-1]
    return Airlock(
        counts=0 if tail is None else tail.trusted,
        bubbling_counts=0 if tail is None else int((tail.bubbles > 0).sum()),
        last_count_at=None if tail is None else tail.start + timedelta(days=float(tail.days[-1])),
        peak_at=_peak_at(counted),
        seen_working=any(working(v, threshold_per_min) for v in comparable),
        sudden=_sudden(comparable),
        last_per_min=_surely_per_min(comparable[-1]) if comparable else 0.0,
        quiet=spell(quiet),
    )


def spell(visits: Sequence[Visit]) -> Spell:
    """Take rows together, oldest first."""
    if not visits:
        return Spell()
    return Spell(
        counts=len(visits),
        days=days(visits[0].when, visits[-1].when),
        seconds=sum(v.seconds or 0.0 for v in visits),
    )


def _surely_per_min(visit: Visit) -> float:
    """Rate that a count shows: an exact lower limit of Poisson."""
    return at_least_per_min(float(visit.bubbles or 0), (visit.seconds or 60.0) / 60.0, sure=SURELY)


def working(visit: Visit, threshold_per_min: float) -> bool:
    """Whether its count shows a ferment at work, well above the threshold."""
    return (
        visit.per_min is not None
        and visit.bubbles is not None
        and visit.bubbles >= WORKING_BUBBLES
        and visit.per_min >= WORKING_PER_THRESHOLD * threshold_per_min
    )


def _peak_at(counted: Sequence[Visit]) -> datetime | None:
    fastest = max(counted, key=lambda v: v.per_min or 0.0, default=None)
    return None if fastest is None else fastest.when


def _quiet(visit: Visit, threshold_per_min: float) -> bool:
    return visit.per_min is not None and visit.per_min <= threshold_per_min


def _sudden(counted: Sequence[Visit]) -> bool:
    """Whether the rate leapt down, for good, faster than its own pace before."""
    return any(_leapt_down(counted, i) for i in range(1, len(counted)))


def _leapt_down(counted: Sequence[Visit], i: int) -> bool:
    """Whether that count is such a leap from the one before it."""
    last, after = counted[i - 1], counted[i]
    fall = _fall_per_day(last, after)
    if fall <= SUDDEN_LOG_PER_DAY:
        return False
    before = counted[max(0, i - 1 - PACE_COUNTS) : i]
    steps = [abs(_fall_per_day(*pair)) for pair in pairwise(before)]
    pace = max([OWN_PACE_LOG_PER_DAY, *([sum(steps) / len(steps)] if steps else [])])
    for_good = max(v.per_min or 0.0 for v in counted[i:]) < SUDDEN_LEFT_SHARE * (last.per_min or 0)
    near = days(last.when, after.when) <= SUDDEN_GAP_DAYS
    enough = (last.bubbles or 0) >= SUDDEN_BUBBLES
    return enough and near and for_good and fall > SUDDEN_PER_PACE * pace


def _fall_per_day(before: Visit, after: Visit) -> float:
    """Natural log by which the rate fell, a day; a gap of less than a day is one."""
    rates = [
        max(v.bubbles or 0, 1) / (v.seconds or 60.0) for v in (before, after)
    ]  # a zero may be near one
    return math.log(rates[0] / rates[1]) / max(days(before.when, after.when), 1.0)
