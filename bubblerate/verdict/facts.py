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

from ..diary.events import ADDED, BREAKS
from ..diary.visit import bottled
from ..ferment.tail import COLD_C, COLD_DROP_C

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..diary.visit import Visit
    from ..ferment.tail import Tail

__all__ = ["Signs", "signs"]

STUNNING = frozenset(
    {"sulphited", "stabilised", "fined", "fined-two-part"}
)  # yeast may be stunned, not spent
RECENT_DAYS = 14.0  # two weeks: what bottling looks back on
_TEMP_FRESH_DAYS = 4.0
_STABLE = timedelta(days=30)  # for so long a stabilised wine may be sweetened
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
        Some evening's count since the last break stood well above the threshold.
    bubbling_counts : int
        Counts in the tail with at least one bubble: what a decline is seen by.
    peak_at : datetime or None
        When the bubbles came fastest.
    last_per_min : float
        Rate that the last count surely shows; about the lower 80 % limit of Poisson.
    quiet_counts : int
        Latest counts in a row at or below the threshold.
    quiet_days : float
        Days that they span.
    quiet_seconds : float
        Time counted in them [s].
    sudden : bool
        The airlock fell quiet faster than sugar runs out.
    temp_c, usual_c : float or None
        Latest temperature of the last few days, and the usual of the tail [C].
    worked_c : float or None
        Usual temperature of the evenings on which it was seen at work [C].
    recent_seconds : float
        Time counted in the last two weeks, all together [s].
    recent_days : float
        Days that those counts span.
    surely_per_min : float
        Largest rate that some count of the last two weeks, or all of them, surely show.
    coldest_c : float or None
        Lowest temperature noted since two weeks before the last reading of gravity [C].
    warmth_days : float
        Days that those temperatures span.
    broken : tuple of (str, datetime) or None
        Last event that changed what a bubble is.
    fed_at : datetime or None
        When sugar or juice was last added.
    racked_at : datetime or None
        When it was last racked.
    stunned : tuple of (str, datetime) or None
        Last event of the last two weeks that may have stunned the yeast.
    stabilised_at : datetime or None
        Last time the wine was stabilised, unless sugar was added long after.
    bottled_at : datetime or None
        When it was bottled.
    """

    counts: int = 0
    last_count_at: datetime | None = None
    seen_working: bool = False
    bubbling_counts: int = 0
    peak_at: datetime | None = None
    last_per_min: float = 0.0
    quiet_counts: int = 0
    quiet_days: float = 0.0
    quiet_seconds: float = 0.0
    sudden: bool = False
    temp_c: float | None = None
    usual_c: float | None = None
    worked_c: float | None = None
    recent_seconds: float = 0.0
    recent_days: float = 0.0
    surely_per_min: float = 0.0
    coldest_c: float | None = None
    warmth_days: float = 0.0
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
    last_reading_at: datetime | None,
) -> Signs:
    """Read the facts off the rows.

    Parameters
    ----------
    visits : sequence of Visit
        Live rows of one wine no later than `at`, oldest first.
    tail : Tail or None
        The counts of the tail among them.
    at : datetime
        The moment asked about.
    threshold_per_min : float
        Rate asked about [bubbles/min].
    last_reading_at : datetime or None
        When the gravity was last read.

    Returns
    -------
    Signs
    """
    proof_began = (last_reading_at or at) - timedelta(days=RECENT_DAYS)
    noted = [v for v in visits if v.temp_c is not None]
    proof = [v for v in noted if v.when >= proof_began]
    breaks = [(str(v.event), v.when) for v in visits if v.event in BREAKS]
    counted = [v for v in visits if v.bubbles is not None]
    comparable = [v for v in counted if not breaks or v.when > breaks[-1][1]]
    recent = [v for v in counted if _age(v, at) <= RECENT_DAYS]
    quiet = list(takewhile(lambda v: _quiet(v, threshold_per_min), reversed(comparable)))
    stunning = [v for v in visits if v.event in STUNNING and _age(v, at) < RECENT_DAYS]
    fed_at = max((v.when for v in visits if v.event in ADDED), default=None)
    return Signs(
        counts=0 if tail is None else tail.trusted,
        last_count_at=None if tail is None else tail.start + timedelta(days=float(tail.days[-1])),
        seen_working=any(_working(v, threshold_per_min) for v in comparable),
        bubbling_counts=0 if tail is None else int((tail.bubbles > 0).sum()),
        peak_at=_peak_at(counted),
        last_per_min=_surely_per_min(comparable[-1:]),
        quiet_counts=len(quiet),
        quiet_days=_span(quiet),
        quiet_seconds=sum(v.seconds or 0.0 for v in quiet),
        sudden=_sudden(comparable),
        temp_c=next((v.temp_c for v in reversed(noted) if _age(v, at) <= _TEMP_FRESH_DAYS), None),
        usual_c=_median_c(noted),
        worked_c=_median_c([v for v in noted if _working(v, threshold_per_min)]),
        recent_seconds=sum(v.seconds or 0.0 for v in recent),
        recent_days=_span(recent),
        surely_per_min=_surely_per_min(recent),
        coldest_c=min((v.temp_c for v in proof if v.temp_c is not None), default=None),
        warmth_days=_span(proof),
        broken=breaks[-1] if breaks else None,
        fed_at=fed_at,
        racked_at=_last(visits, "racked"),
        stunned=(str(stunning[-1].event), stunning[-1].when) if stunning else None,
        stabilised_at=_stabilised_at(visits, fed_at),
        bottled_at=max((v.when for v in bottled(visits)), default=None),
    )


def _span(visits: Sequence[Visit]) -> float:
    """Days from the first to the last, whichever way they are ordered."""
    if not visits:
        return 0.0
    return abs(visits[-1].when - visits[0].when) / timedelta(days=1)


def _stabilised_at(visits: Sequence[Visit], fed_at: datetime | None) -> datetime | None:
    """When it was stabilised; sugar added long after finds the yeast awake again."""
    at = _last(visits, "stabilised")
    late = at is not None and fed_at is not None and fed_at - at > _STABLE
    return None if late else at


def _surely_per_min(recent: Sequence[Visit]) -> float:
    """Largest rate that a count, or all together, show; about the lower 80 % limit of Poisson.

    One by one, because many old zeros would drown tonight's bubbles.
    """
    sums = [(float(v.bubbles or 0), v.seconds or 60.0) for v in recent]
    if sums:
        sums.append((sum(n for n, _ in sums), sum(t for _, t in sums)))
    return max((60.0 * (n - 1.28 * math.sqrt(n)) / t for n, t in sums), default=0.0)


def _age(visit: Visit, at: datetime) -> float:
    return (at - visit.when) / timedelta(days=1)


def _last(visits: Sequence[Visit], event: str) -> datetime | None:
    return max((v.when for v in visits if v.event == event), default=None)


def _median_c(noted: Sequence[Visit]) -> float | None:
    """Median of the temperatures noted."""
    temps = [v.temp_c for v in noted if v.temp_c is not None]
    return median(temps) if temps else None


def _working(visit: Visit, threshold_per_min: float) -> bool:
    return (
        visit.per_min is not None
        and visit.bubbles is not None
        and visit.bubbles >= _FEWEST_BUBBLES
        and visit.per_min >= _WORKING * threshold_per_min
    )


def _peak_at(counted: Sequence[Visit]) -> datetime | None:
    fastest = max(counted, key=lambda v: v.per_min or 0.0, default=None)
    return None if fastest is None else fastest.when


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
    rates = [
        max(v.bubbles or 0, 1) / (v.seconds or 60.0) for v in (before, after)
    ]  # a zero may be near one
    return math.log(rates[0] / rates[1]) / max((after.when - before.when) / timedelta(days=1), 1.0)
