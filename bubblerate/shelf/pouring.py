"""Pours wine from jar to jar, deciding which is less advanced and whether sugar comes along.

The commands and the page pour only through this; `diary.mingling` writes the rows.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Final

from ..course.balance import blended
from ..course.judgement import judge
from ..diary.events import Event
from ..diary.kin import kin
from ..diary.mingling import join as poured_together
from ..diary.mingling import top_up as topped_up
from ..errors import InputError
from ..physics.scales import fall_points
from ..verdict.reasons import Phase

if TYPE_CHECKING:
    from datetime import datetime

    from ..course.balance import Balance
    from ..course.judgement import Judgement
    from ..diary.mingling import Poured
    from ..diary.outcomes import Opened
    from ..diary.shelf import Shelf

__all__ = ["Spare", "join", "less_far", "spare_is", "top_up"]

_LOW_SG: Final = 1.005  # at or below it wine is as good as dry; common practice, no source
_LIKE_POINTS: Final = 2.0  # two stems read by hand may differ by this; common practice
_AT_WORK: Final = frozenset({"busy", "slowing", "back"})


class Spare(StrEnum):
    """What a spare brings, as its diary shows."""

    UNREAD = "unread"  # never counted or read itself: taken as finished wine
    WINE = "wine"  # near its end, or no sweeter than the jar it goes into
    WORKING = "working"  # its bubbles show that it still ferments
    SWEET = "sweet"  # sweeter than the jar: yeast there may find sugar

    @property
    def feeds(self) -> bool:
        """Whether the jar that gets it counts as fed."""
        return self in (Spare.WORKING, Spare.SWEET)


def join(
    shelf: Shelf, one: str, other: str, *, into: str, litres: float | None, at: datetime
) -> tuple[Poured, str]:
    """Pour two wines together; the history of the less advanced is continued.

    Parameters
    ----------
    shelf : Shelf
    one, other : str
        The jars.
    into : str
        A new jar, or the less advanced of the two; empty for that one.
    litres : float or None
        Wine of both together [L]; by default the sum.
    at : datetime
        Aware.

    Returns
    -------
    poured : Poured
    lesser : str
        The less advanced of the two.

    Raises
    ------
    BubbleRateError
        If there is no such jar, the wines cannot be joined, or a diary cannot be written.
    """
    if one == other:
        raise InputError(f"{one} is one jar; name two to join")
    jars = less_far(shelf.open(one), shelf.open(other), at=at)
    lesser, further = (jar.diary.vessel for jar in jars)
    if into == further:
        raise InputError(
            f"{further} is further on than {lesser}; pour them into a new jar, or into {lesser}"
        )
    blend = blended(*jars, at=at, of=kin(shelf.folder))
    notes = (blend_note(blend), "")
    into = into or lesser
    return poured_together(
        shelf, lesser, further, into=into, litres=litres, at=at, notes=notes
    ), lesser


def top_up(
    shelf: Shelf, name: str, *, spare: str, litres: float, at: datetime, note: str = ""
) -> tuple[Poured, Spare]:
    """Top a jar up from another; if that brings sugar, the jar counts as fed.

    Parameters
    ----------
    shelf : Shelf
    name, spare : str
        The jar, and the one that it is topped up from.
    litres : float
        Wine poured over [L].
    at : datetime
        Aware.
    note : str

    Returns
    -------
    poured : Poured
    what : Spare
        What the spare was taken as.

    Raises
    ------
    BubbleRateError
        If there is no such jar, it holds less than that, or a diary cannot be written.
    """
    what = spare_is(shelf.open(spare), shelf.open(name), at=at)
    done = topped_up(shelf, name, spare=spare, litres=litres, working=what.feeds, at=at, note=note)
    return done, what


def blend_note(balance: Balance | None) -> str:
    """Note what a joined wine should read: a sum and not a reading."""
    if balance is None:
        return ""
    so2 = balance.so2_mg_per_litre.middle
    doses = f", {so2:.0f} mg/L of SO2 put in" if so2 > 0.5 else ""
    sums = f"gravity {balance.sg.middle:.3f}, {balance.abv_pct.middle:.1f} % vol{doses}"
    return f"worked out by volume: {sums}"


def less_far(one: Opened, other: Opened, *, at: datetime) -> tuple[Opened, Opened]:
    """Put the less advanced of two wines first; the joined wine follows its course.

    Parameters
    ----------
    one, other : Opened
    at : datetime
        Aware.

    Returns
    -------
    tuple of Opened
        Sorted by phase, then by the airlock, then by gravity: the higher is less advanced.
    """
    first, last = sorted((one, other), key=lambda jar: _advance(_judged(jar, at)))
    return first, last


def spare_is(spare: Opened, jar: Opened, *, at: datetime) -> Spare:
    """Find what a spare brings to a jar that is topped up from it.

    Parameters
    ----------
    spare, jar : Opened
    at : datetime
        Aware.

    Returns
    -------
    Spare
        Sugar is assumed if no reading rules it out, unless nothing was ever read.
    """
    course = _judged(spare, at).course
    if course is None or not _watched(spare, at):
        return Spare.UNREAD
    facts = course.facts
    if facts.air.state in _AT_WORK:
        return Spare.WORKING
    last = facts.gravity.last
    if last is None:  # a must whose start was read, and nothing since
        return Spare.SWEET if any(r.sg for r in spare.diary.until(at).batch) else Spare.UNREAD
    into = _judged(jar, at).course
    own = None if into is None else into.facts.gravity.last
    if last.sg <= _LOW_SG or (own is not None and fall_points(last.sg, own.sg) <= _LIKE_POINTS):
        return Spare.WINE
    return Spare.SWEET


def _watched(jar: Opened, at: datetime) -> bool:
    """Whether it was counted or read, since it was split off if it was."""
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
