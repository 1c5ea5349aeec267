"""What pouring one wine into another means: which is less far, and whether sugar comes with it."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Final

from ..course.judgement import judge
from ..diary.events import Event
from ..physics.scales import fall_points
from ..verdict.reasons import Phase

if TYPE_CHECKING:
    from datetime import datetime

    from ..course.judgement import Judgement
    from ..diary.outcomes import Opened

__all__ = ["Spare", "less_far", "spare_is"]

_LOW_SG: Final = 1.005  # at or below it wine is as good as dry; common practice, no source
_LIKE_POINTS: Final = 2.0  # two stems read by hand may differ by so much; common practice
_AT_WORK: Final = frozenset({"busy", "slowing", "back"})


class Spare(StrEnum):
    """What a spare brings, by what its diary shows."""

    UNREAD = "unread"  # never counted or read by itself: taken as finished wine
    WINE = "wine"  # near its end, or no sweeter than the jar it goes into
    WORKING = "working"  # its bubbles say that it still ferments
    SWEET = "sweet"  # sweeter than the jar: yeast there may find sugar

    @property
    def feeds(self) -> bool:
        """Whether the jar that gets it is fed."""
        return self in (Spare.WORKING, Spare.SWEET)


def less_far(one: Opened, other: Opened, *, at: datetime) -> tuple[Opened, Opened]:
    """Two wines, the less advanced first: its course is the one to follow once they are joined.

    Parameters
    ----------
    one, other : Opened
    at : datetime
        Aware.

    Returns
    -------
    tuple of Opened
        By phase, then by what the airlock does, then by gravity: the higher is less far.
    """
    first, last = sorted((one, other), key=lambda jar: _advance(_judged(jar, at)))
    return first, last


def spare_is(spare: Opened, jar: Opened, *, at: datetime) -> Spare:
    """What a spare brings to a jar that is topped up from it.

    Parameters
    ----------
    spare, jar : Opened
    at : datetime
        Aware.

    Returns
    -------
    Spare
        Sugar is supposed where it cannot be ruled out by a reading, unless nothing was ever read.
    """
    course = _judged(spare, at).course
    if course is None or not _watched(spare, at):
        return Spare.UNREAD
    facts = course.facts
    if facts.air.state in _AT_WORK:
        return Spare.WORKING
    last = facts.gravity.last
    if last is None:
        return Spare.UNREAD
    into = _judged(jar, at).course
    own = None if into is None else into.facts.gravity.last
    if last.sg <= _LOW_SG or (own is not None and fall_points(last.sg, own.sg) <= _LIKE_POINTS):
        return Spare.WINE
    return Spare.SWEET


def _watched(jar: Opened, at: datetime) -> bool:
    """Whether it was counted or read since it was split off, where it was."""
    rows = jar.diary.until(at).batch
    parted = [n for n, row in enumerate(rows) if row.event is Event.SPLIT]
    own = rows[parted[-1] + 1 :] if parted else rows
    return any(row.bubbles is not None or row.sg is not None for row in own)


def _judged(jar: Opened, at: datetime) -> Judgement:
    return judge(jar.diary, at=at, settings=jar.settings)


def _advance(judged: Judgement) -> tuple[bool, bool, float]:
    course = judged.course
    if course is None:
        return False, False, 0.0
    last = course.facts.gravity.last
    at_rest = course.facts.air.state not in _AT_WORK
    return course.phase is not Phase.FERMENTING, at_rest, 0.0 if last is None else -last.sg
