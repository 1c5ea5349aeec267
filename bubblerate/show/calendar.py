"""Writes steps as a calendar file (RFC 5545) that can be imported again later.

The next step of a jar is at the hour of counting, with an alarm; later ones are whole days. The UID
of an entry is made from the jar, its wine, the kind of step and its number, so that a later file
moves an entry and does not double it.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING, Final

from ..diary.safe_write import save_output
from ..errors import InputError
from ..verdict.reasons import Kind
from .step_text import also_text, short_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    import icalendar

    from ..course.engine import Step
    from ..course.judgement import Judgement

__all__ = ["Entry", "as_ics", "entries", "save_ics", "step_uid", "wine_of"]

_PRODUCT: Final = "-//bubblerate//calendar of steps//EN"
_HOST: Final = "@bubblerate.invalid"
_USUAL_HOUR: Final = 21.0  # if nothing was counted yet
_TAKES: Final = timedelta(minutes=15)
# calendars show little else of a tentative day
_BOTTLE_NEXT: Final = "bottle, if the last checks show no change"
_BOTTLE_LATER: Final = "bottle, if the verdict is go"


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One step of one jar, as a calendar shows it.

    Attributes
    ----------
    uid : str
    title : str
    on, last : date
        First and last evening.
    told : str
        What to do, with its caution.
    at : datetime or None
        When to remind; None for a whole day.
    cancelled : bool
        It was due once, but no longer.
    """

    uid: str
    title: str
    on: date
    last: date
    told: str
    at: datetime | None = None
    cancelled: bool = False


def step_uid(vessel: str, began: date, kind: str, ordinal: int) -> str:
    """Make the identifier of a step, which stays the same from file to file.

    Parameters
    ----------
    vessel : str
    began : date
        Start of this wine, to tell it from the next in the same jar.
    kind : str
    ordinal : int
        Its number among steps of that kind.

    Returns
    -------
    str
        Plain ASCII; nobody can own its host (RFC 2606).

    Examples
    --------
    >>> step_uid("quince", date(2026, 10, 3), "rack", 1)
    'rack-1-9c90e44ecc503cb3@bubblerate.invalid'
    """
    wine = f"{vessel}\n{began.isoformat()}"
    return f"{kind}-{ordinal}-{hashlib.sha256(wine.encode()).hexdigest()[:16]}{_HOST}"


def wine_of(uid: str) -> str:
    """Part of an identifier for the wine; empty if it is not ours."""
    return uid.removesuffix(_HOST).rpartition("-")[2] if uid.endswith(_HOST) else ""


def entries(judgement: Judgement) -> tuple[Entry, ...]:
    """List the next step of a jar and those after it; none if there is nothing to do.

    Parameters
    ----------
    judgement : Judgement

    Returns
    -------
    tuple of Entry
    """
    course = judgement.course
    if course is None:
        return ()
    vessel, began = judgement.diary.vessel, course.facts.began
    seen: Counter[Kind] = Counter()
    found = []
    for step in (course.next, *course.steps):
        if step.kind is Kind.NOTHING:
            continue
        seen[step.kind] += 1
        uid = step_uid(vessel, began, step.kind.value, seen[step.kind])
        at = _hour(judgement, step.on) if step is course.next else None
        what = short_text(step)
        if step.kind is Kind.BOTTLE:
            what = _BOTTLE_NEXT if step is course.next else _BOTTLE_LATER
        found.append(_entry(step, f"{vessel}: {what}", uid, at))
    return tuple(found)


def _entry(step: Step, title: str, uid: str, at: datetime | None) -> Entry:
    return Entry(
        uid=uid,
        title=title,
        on=step.on,
        last=step.on if step.until is None or step.kind is Kind.DRINK else step.until,
        told="\n".join(part for part in (step.do, also_text(step), step.care) if part),
        at=at,
    )


def _hour(judgement: Judgement, day: date) -> datetime:
    """The usual time of counting on a day, in the UTC offset of the diary."""
    counted = [row.when for row in judgement.diary.batch if row.bubbles is not None]
    hours = [(when.hour - 4) % 24 + when.minute / 60.0 for when in counted]  # an evening from 4 on
    usual = 4.0 + median(hours) if hours else _USUAL_HOUR
    zone = counted[-1].tzinfo if counted else judgement.verdict.asked_at.tzinfo
    start = datetime(day.year, day.month, day.day, tzinfo=zone)
    return (start + timedelta(minutes=round(60.0 * usual))).astimezone(UTC)


def as_ics(found: Iterable[Entry], *, written_at: datetime) -> str:
    """Write entries as a calendar; a cancelled one removes its earlier self.

    Parameters
    ----------
    found : iterable of Entry
    written_at : datetime
        Moment asked about, with UTC offset; a later file overrides an earlier one.

    Returns
    -------
    str
        Lines end in CRLF, none longer than 75 octets.

    Raises
    ------
    InputError
        If there is no entry, since an empty file tells a calendar nothing.
    """
    import icalendar

    calendar = icalendar.Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", _PRODUCT)
    for entry in found:
        calendar.add_component(_event(entry, written_at.astimezone(UTC)))
    if not calendar.subcomponents:
        raise InputError("nothing has a day yet, so no calendar was written")
    written: bytes = calendar.to_ical()
    return written.decode()


def _event(entry: Entry, written_at: datetime) -> icalendar.Event:
    import icalendar

    event = icalendar.Event()
    for name, value in _fields(entry, written_at):
        event.add(name, value)
    if entry.at is not None and not entry.cancelled:
        alarm = icalendar.Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", _shown(entry.title))
        alarm.add("trigger", timedelta(0))
        event.add_component(alarm)
    return event


def _fields(entry: Entry, written_at: datetime) -> Iterator[tuple[str, object]]:
    yield "uid", entry.uid
    yield "dtstamp", written_at
    # minutes since 1970, so that a later file always has a higher number
    yield "sequence", int(written_at.timestamp() // 60)
    yield "dtstart", entry.on if entry.at is None else entry.at
    if entry.at is None:
        yield "dtend", entry.last + timedelta(days=1)  # the first day after it
        yield "transp", "TRANSPARENT"
    else:
        yield "dtend", entry.at + _TAKES
    if entry.cancelled:
        yield "status", "CANCELLED"
    yield "summary", _shown(entry.title)
    yield "description", _shown(entry.told)


def _shown(text: str) -> str:
    """Text without control characters, which calendars do not allow."""
    return "".join(c for c in text if c == "\n" or c.isprintable())


def save_ics(text: str, path: Path | str) -> Path:
    """Save a calendar.

    Raises
    ------
    InputError
        If the name does not end in .ics, or the file cannot be written.
    """
    path = Path(path)
    if path.suffix.lower() != ".ics":
        raise InputError(f"{path.name}: a calendar ends in .ics")
    save_output(path, text.encode())
    return path
