"""The shelf at a glance: one line a vessel, in the order in which they are due."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from ..diary.folder import Unread, in_bottle
from ..verdict.as_json import as_object
from ..verdict.judgement import judge
from .common_move import Departure, departure

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ..diary.settings import Settings
    from ..diary.visit import Diary
    from ..verdict.case import Answer, Firmness
    from ..verdict.judgement import Judgement

__all__ = ["Glance", "Line", "due_first", "glance", "line"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """What the shelf shows of one vessel; None where nothing is known.

    Attributes
    ----------
    vessel : str
    asked_at : datetime or None
        The moment judged; None where the diary cannot be read.
    counted_at : datetime or None
        When bubbles were last counted.
    bubbles, seconds : int and float, or None
        That count.
    per_min : float or None
        Its rate [bubbles/min].
    threshold_per_min : float or None
        Rate below which the vessel counts as quiet [bubbles/min].
    below_from, below_about, below_until : datetime or None
        When it falls below: the limits of the 80 % interval, and the median.
    foretold : bool
        Whether those three mean something: None is then more than 60 days ahead.
    answer : {"go", "wait"} or None
    firmness : {"both", "bubbles", "gravity", "none"} or None
    do : str
        The next thing to do.
    due : date or None
        The day for it.
    bottled_at : datetime or None
    error : str
        Why the diary cannot be read; empty if it can.
    """

    vessel: str
    asked_at: datetime | None = None
    counted_at: datetime | None = None
    bubbles: int | None = None
    seconds: float | None = None
    per_min: float | None = None
    threshold_per_min: float | None = None
    below_from: datetime | None = None
    below_about: datetime | None = None
    below_until: datetime | None = None
    foretold: bool = False
    answer: Answer | None = None
    firmness: Firmness | None = None
    do: str = ""
    due: date | None = None
    bottled_at: datetime | None = None
    error: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Glance:
    """All that the shelf keeps of one vessel: little enough for thousands, and to be sent about.

    Attributes
    ----------
    line : Line
    found : dict or None
        The object of ``verdict --json``; None where the diary cannot be read.
    departure : Departure or None
        Of its last count, for what all jars did together.
    """

    line: Line
    found: dict[str, Any] | None = None
    departure: Departure | None = None


def glance(one: Diary | Unread, *, at: datetime, settings: Settings) -> Glance:
    """Judge one vessel and keep what the shelf needs of it.

    Parameters
    ----------
    one : Diary or Unread
    at : datetime
        The moment asked about, aware.
    settings : Settings
        What lies beside the diaries.

    Returns
    -------
    Glance
    """
    if isinstance(one, Unread):
        return Glance(line=line(one))
    judged = judge(one, at=at, settings=settings)
    return Glance(
        line=line(judged),
        found=as_object(judged),
        departure=None if in_bottle(one) else departure(one, at=at),
    )


def due_first(glances: Iterable[Glance]) -> list[Glance]:
    """Put them in the order of the day they are due, then of their names.

    Parameters
    ----------
    glances : iterable of Glance

    Returns
    -------
    list
        Those without a day come after those with one, then what cannot be read, then the bottled.
    """
    return sorted(glances, key=lambda one: _order(one.line))


def line(found: Judgement | Unread) -> Line:
    """Give what the shelf shows of one vessel.

    Parameters
    ----------
    found : Judgement or Unread

    Returns
    -------
    Line
    """
    if isinstance(found, Unread):
        return Line(vessel=found.vessel, error=found.error)
    v, f = found.verdict, found.forecast
    counts = [visit for visit in found.diary.batch if visit.bubbles is not None]
    last = counts[-1] if counts else None
    # a leak misleads the bubbles, and a bottled wine has none to come: then no date is given
    misled = found.gravity is not None and found.gravity.leak
    shown = None if f is None or misled or found.facts.acts.bottled_at is not None else f.crossing
    return Line(
        vessel=v.vessel,
        asked_at=v.asked_at,
        counted_at=None if last is None else last.when,
        bubbles=None if last is None else last.bubbles,
        seconds=None if last is None else last.seconds,
        per_min=None if last is None else last.per_min,
        threshold_per_min=v.threshold_per_min,
        below_from=None if shown is None else shown.low80,
        below_about=None if shown is None else shown.median,
        below_until=None if shown is None else shown.high80,
        foretold=shown is not None,
        answer=v.answer,
        firmness=v.firmness,
        do=v.next.do,
        due=v.next.on,
        bottled_at=found.facts.acts.bottled_at,
    )


def _order(one: Line) -> tuple[bool, bool, date, str]:
    return one.bottled_at is not None, bool(one.error), one.due or date.max, one.vessel
