"""The shelf at a glance: one line per vessel, most urgent first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from ..course.as_json import as_object
from ..course.engine import any_evening
from ..course.judgement import judge
from ..diary.folder import Unread, in_bottle
from ..text import printable
from ..verdict.reasons import Kind, Phase
from .common_move import Departure, departure

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from ..course.judgement import Judgement
    from ..diary.settings import Settings
    from ..diary.visit import Diary
    from ..ferment.chances import Crossing
    from ..verdict.decide import Verdict

__all__ = [
    "Bottled",
    "Count",
    "Glance",
    "Judged",
    "Line",
    "Unread",
    "due_first",
    "glance",
    "glance_of",
    "line",
    "unread",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """Bubbles counted on one evening.

    Attributes
    ----------
    at : datetime
    bubbles : int
    seconds : float
        Length of the count [s].
    per_min : float
        Its rate [bubbles/min].
    """

    at: datetime
    bubbles: int
    seconds: float
    per_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What the shelf shows about a vessel that is working or may be.

    Attributes
    ----------
    verdict : Verdict
        For the open question, as of the moment asked about; its next step is that of the course.
    phase : Phase
        Fermenting, clearing, or empty.
    asked_on : date
        Evening asked about.
    last : Count or None
        The last count of this batch; None if nothing is counted yet.
    crossing : Crossing or None
        When it falls quiet; None without a forecast, or if a leak misleads.
    """

    verdict: Verdict
    phase: Phase
    asked_on: date
    last: Count | None
    crossing: Crossing | None

    @property
    def vessel(self) -> str:
        """Name of the vessel."""
        return self.verdict.vessel


@dataclass(frozen=True, slots=True, kw_only=True)
class Bottled:
    """What the shelf shows about a vessel whose wine is in bottles.

    Attributes
    ----------
    verdict : Verdict
        As of the moment asked about.
    phase : Phase
    asked_on : date
        Evening asked about.
    last : Count or None
        The last count of this batch; None if nothing was counted.
    bottled_at : datetime
    """

    verdict: Verdict
    phase: Phase
    asked_on: date
    last: Count | None
    bottled_at: datetime

    @property
    def vessel(self) -> str:
        """Name of the vessel."""
        return self.verdict.vessel


_LAST: Final = {Kind.RESCUE: 0, Kind.DRINK: 4, Kind.NOTHING: 5}  # all others are 1 or 2

# What the shelf shows about one vessel; callers match on the type.
Line: TypeAlias = Unread | Bottled | Judged


@dataclass(frozen=True, slots=True, kw_only=True)
class Glance:
    """All that the shelf keeps of one vessel, small enough for thousands and to be sent.

    Attributes
    ----------
    line : Unread or Bottled or Judged
    as_json : dict
        The object of ``verdict --json``; vessel and error where the diary cannot be read.
    departure : Departure or None
        For its last count, to see what all jars did together.
    """

    line: Line
    as_json: dict[str, Any]
    departure: Departure | None = None


def glance(
    diary: Diary | Unread,
    *,
    at: datetime,
    settings: Settings,
    keep: Callable[[Judgement], None] | None = None,
) -> Glance:
    """Judge one vessel and keep what the shelf needs of it.

    Parameters
    ----------
    diary : Diary or Unread
    at : datetime
        The moment asked about, aware.
    settings : Settings
        The settings beside the diaries.
    keep : callable, optional
        Called with the judgement, if more than a glance is needed.

    Returns
    -------
    Glance

    Raises
    ------
    ValueError
        If `at` has no UTC offset.
    """
    if isinstance(diary, Unread):
        return unread(diary)
    if at.utcoffset() is None:
        raise ValueError(f"the moment needs its UTC offset, got {at}")
    try:
        judgement = judge(diary, at=at, settings=settings)
    except Exception as err:  # noqa: BLE001 - a fault of ours in one vessel must not cost the others
        error = f"{diary.vessel}: {type(err).__name__}: {printable(str(err))}"
        return unread(Unread(vessel=diary.vessel, error=error))
    if keep is not None:
        keep(judgement)
    return glance_of(judgement)


def glance_of(judgement: Judgement) -> Glance:
    """Keep what the shelf needs of a judgement."""
    diary, at = judgement.diary, judgement.verdict.asked_at
    return Glance(
        line=line(judgement),
        as_json=as_object(judgement),
        departure=None if in_bottle(diary) else departure(diary, at=at),
    )


def unread(diary: Unread) -> Glance:
    """Give what the shelf keeps for an unreadable diary."""
    return Glance(line=diary, as_json={"vessel": diary.vessel, "error": diary.error})


def due_first(glances: Iterable[Glance]) -> list[Glance]:
    """Sort by urgency: bottles to save, what is due, then by day.

    Parameters
    ----------
    glances : iterable of Glance

    Returns
    -------
    list of Glance
        Among what is due, first the nearest last day, then what has waited longest. What can be
        bottled on any evening comes after what has a day. Then unreadable ones, bottles to drink,
        and jars with nothing to do.
    """
    return sorted(glances, key=lambda one: _order(one.line))


def line(judgement: Judgement) -> Bottled | Judged:
    """Give what the shelf shows about one vessel.

    Parameters
    ----------
    judgement : Judgement

    Returns
    -------
    Bottled or Judged
    """
    verdict, forecast, last = judgement.verdict, judgement.forecast, _last(judgement)
    course = judgement.course
    asked_on = verdict.asked_at.date() if course is None else course.asked_on
    bottled_at = judgement.facts.acts.bottled_at
    if bottled_at is not None and judgement.phase is Phase.BOTTLED:
        return Bottled(
            verdict=verdict,
            phase=judgement.phase,
            asked_on=asked_on,
            last=last,
            bottled_at=bottled_at,
        )
    misled = judgement.gravity is not None and judgement.gravity.leak
    crossing = None if forecast is None or misled else forecast.crossing
    return Judged(
        verdict=verdict, phase=judgement.phase, asked_on=asked_on, last=last, crossing=crossing
    )


def _last(judgement: Judgement) -> Count | None:
    for visit in reversed(judgement.diary.batch):
        n, seconds, per_min = visit.bubbles, visit.seconds, visit.per_min
        if n is not None and seconds is not None and per_min is not None:
            return Count(at=visit.when, bubbles=n, seconds=seconds, per_min=per_min)
    return None


def _order(line: Line) -> tuple[int, date, date, str]:
    """Rank, then two days, then the name."""
    if isinstance(line, Unread):
        return 3, date.max, date.max, line.vessel
    step = line.verdict.next
    if any_evening(step):
        return 2, date.max, date.max, line.vessel
    on, since, until = step.on or date.max, step.since or date.max, step.until or date.max
    rank = _LAST.get(step.kind, 1 if on <= line.asked_on else 2)
    return (rank, until, since, line.vessel) if rank == 1 else (rank, on, until, line.vessel)
