"""The cellar: every wine in bottles, where it is, how many are left, and when to drink it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from ..course.balance import balance
from ..course.days import evening_of
from ..course.judgement import judge
from ..course.windows import drink_from, keeps_until
from ..diary.events import Event
from ..diary.outcomes import Opened
from ..diary.stock import stock
from ..diary.visit import Diary, bottled
from ..verdict.reasons import Kind

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import date, datetime
    from pathlib import Path

    from ..course.balance import Middle
    from ..course.engine import Course
    from ..diary.folder import Unread
    from ..diary.settings import Settings
    from ..diary.stock import Stock
    from ..diary.visit import Visit

__all__ = ["Lot", "Ready", "lots"]

_CARRIED = frozenset({Event.MOVED, Event.CHILLED, Event.WARMED})
_FADES_DAYS = 60  # days before its best is over, when to drink it


class Ready(StrEnum):
    """Whether to drink a wine now."""

    STOP = "stop"  # it may burst
    CHILL = "chill"  # in doubt, until what is left in the jar settles it
    KEEP = "keep"
    DRINK = "drink"
    SOON = "drink soon"  # soon past its best
    PAST = "past its best"
    GONE = "gone"  # none left


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """The bottles of one wine.

    Attributes
    ----------
    vessel : str
    path : Path
        Its diary.
    style : str
        In the maker's words; empty if not set.
    year : int
        Year in which it was pitched.
    place : str
        Where they are, by the note of their last move, else by the settings.
    filled : str
        Bottles filled, as written: "6x75", in cl.
    left : Stock or None
        None if they were not counted.
    closure : str
    bottled_on, drink_from, best_by : date
    abv_pct : Middle or None
    ready : Ready
    tasted : str
        Newest note about an opened bottle.
    """

    vessel: str
    path: Path
    style: str
    year: int
    place: str
    filled: str
    left: Stock | None
    closure: str
    bottled_on: date
    drink_from: date
    best_by: date
    abv_pct: Middle | None
    ready: Ready
    tasted: str


def lots(
    diaries: Iterable[Diary | Unread],
    *,
    at: datetime,
    settings: Settings,
    of: Callable[[str], Opened | None],
) -> list[Lot]:
    """List every wine in bottles, what to drink first on top.

    Parameters
    ----------
    diaries : iterable of Diary or Unread
        Unreadable ones are left out; the shelf says why.
    at : datetime
        The moment asked about, aware.
    settings : Settings
        The settings beside the diaries.
    of : callable
        Diary of another jar, by its name.

    Returns
    -------
    list of Lot
    """
    found = [
        _lot(diary.until(at), at=at, settings=settings, of=of)
        for diary in diaries
        if isinstance(diary, Diary) and bottled(diary.until(at).batch)
    ]
    order = [*Ready]
    return sorted(found, key=lambda lot: (order.index(lot.ready), lot.best_by, lot.vessel))


def _lot(
    diary: Diary, *, at: datetime, settings: Settings, of: Callable[[str], Opened | None]
) -> Lot:
    course = judge(diary, at=at, settings=settings).course
    assert course is not None, "a diary with a bottling has rows"
    rows, said = diary.batch, settings.vessel(diary.vessel)
    filled = bottled(rows)
    on = evening_of(filled[-1].when)
    first, last = drink_from(course.facts, on), keeps_until(course.facts, on)
    left = stock(rows)
    holds = balance(Opened(diary, settings, ()), at=at, of=of)
    return Lot(
        vessel=diary.vessel,
        path=diary.path,
        style=said.style or "",
        year=rows[0].when.year,
        place=_place(rows, filled[0]) or said.place,
        filled="+".join(row.bottles for row in filled if row.bottles),
        left=left,
        closure=next((row.closure for row in reversed(filled) if row.closure), ""),
        bottled_on=on,
        drink_from=first,
        best_by=last,
        abv_pct=None if holds is None else holds.abv_pct,
        ready=_ready(course, left, first, last),
        tasted=next((row.note for row in reversed(rows) if row.event is Event.OPENED), ""),
    )


def _place(rows: tuple[Visit, ...], bottling: Visit) -> str:
    """Note of the last move of the bottles."""
    carried = [row for row in rows if row.event in _CARRIED and row.when >= bottling.when]
    return next((row.note for row in reversed(carried) if row.note), "")


def _ready(course: Course, left: Stock | None, first: date, last: date) -> Ready:
    today = course.asked_on
    if left is not None and not left.left:
        return Ready.GONE
    if course.next.kind is Kind.RESCUE:
        return Ready.STOP
    if course.facts.doubted_on is not None:
        return Ready.CHILL
    if today < first:
        return Ready.KEEP
    if today > last:
        return Ready.PAST
    return Ready.SOON if (last - today).days <= _FADES_DAYS else Ready.DRINK
