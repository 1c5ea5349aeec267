"""Does a new entry look like a slip: said when it is written, never a reason to refuse it."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from .words import format_rate, format_when

if TYPE_CHECKING:
    from .diary import Diary, Visit

__all__ = ["doubts"]

SG_LOW, SG_HIGH = 0.980, 1.180  # what wine, cider, perry and mead read; common practice, no source
RISE_POINTS = 2.0
LEAP = 10.0  # times last evening's count
_FEWEST_BUBBLES = 5  # of the larger count, so that chance alone makes no leap
_CLOCK_SLACK = timedelta(minutes=5)


def doubts(diary: Diary, visit: Visit, *, now: datetime) -> tuple[str, ...]:
    """Questions that a new entry raises.

    Parameters
    ----------
    diary : Diary
        The rows before it was written, or with it; rows no earlier than the entry are not used.
    visit : Visit
        The new entry.
    now : datetime
        The moment of writing, aware.

    Returns
    -------
    tuple of str
        One short sentence each; empty where nothing looks odd.
    """
    before = [v for v in diary.live if v.when < visit.when]
    found = [_time(diary, visit, now), _gravity(before, visit), _count(before, visit)]
    return tuple(doubt for doubt in found if doubt)


def _time(diary: Diary, visit: Visit, now: datetime) -> str | None:
    if visit.when > now + _CLOCK_SLACK:
        return f"{format_when(visit.when)} is in the future."
    pitched = diary.pitched
    if pitched is not None and visit.when < pitched:
        return f"{format_when(visit.when)} is before the start, {format_when(pitched)}."
    return None


def _gravity(before: list[Visit], visit: Visit) -> str | None:
    if visit.sg is None:
        return None
    if not SG_LOW <= visit.sg <= SG_HIGH:
        return f"{visit.sg:.3f} is outside what wine reads ({SG_LOW:.3f} to {SG_HIGH:.3f})."
    for earlier in reversed([*before, visit]):
        if earlier.event in {"fed", "topped-up"}:
            return None
        if earlier is not visit and earlier.sg is not None:
            rise = (visit.sg - earlier.sg) * 1000.0
            if rise > RISE_POINTS + 1e-6:
                return f"That is {rise:.0f} points above the last reading, with nothing added."
            return None
    return None


def _count(before: list[Visit], visit: Visit) -> str | None:
    counted = [v for v in before if v.bubbles is not None]
    if visit.bubbles is None or not counted:
        return None
    last = counted[-1]
    assert last.bubbles is not None
    assert last.per_min is not None
    assert visit.per_min is not None
    if max(last.bubbles, visit.bubbles) < _FEWEST_BUBBLES:
        return None
    # a zero may be a slow bubble missed, so it counts as one
    then = max(last.per_min, 60.0 / last.seconds)
    present = max(visit.per_min, 60.0 / visit.seconds)
    if present >= LEAP * then:
        return f"That is ten times the last count or more ({format_rate(last.per_min)})."
    if then >= LEAP * present:
        return f"That is a tenth of the last count or less ({format_rate(last.per_min)})."
    return None
