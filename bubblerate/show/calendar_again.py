"""Writes a calendar again, and cancels entries of an earlier file that are no longer due.

Only that file itself is remembered. If it has been moved, the diary tells what was done since.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Final

from .calendar import Entry, entries, step_uid, wine_of
from .step_text import SHORT

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    import icalendar

    from ..course.judgement import Judgement

__all__ = ["renewed"]

_MOST_BYTES: Final = 8_000_000
_KEPT: Final = timedelta(days=90)  # days after its day that a cancelled entry is written again


def renewed(judgements: Iterable[Judgement], path: Path, *, every: bool) -> tuple[Entry, ...]:
    """Make the entries of some jars, and cancelled ones for what is no longer due.

    Parameters
    ----------
    judgements : iterable of Judgement
        As of one moment.
    path : Path
        Where the calendar will be; need not exist.
    every : bool
        Whether these are all jars, so that the earlier file has no other.

    Returns
    -------
    tuple of Entry
        Empty if nothing has a day, and nothing had one in the earlier file.
    """
    due: dict[str, Entry] = {}
    settled: dict[str, Entry] = {}
    kept, wines = [], set()
    earlier = _earlier(path)
    for one in judgements:
        found = {entry.uid: entry for entry in entries(one)}
        due |= found
        if one.course is None:
            continue
        wine = wine_of(step_uid(one.diary.vessel, one.course.facts.began, "", 0))
        wines.add(wine)
        settled |= {entry.uid: entry for entry in _settled(one)}
        oldest = one.course.asked_on - _KEPT
        kept += [e for e in earlier if wine_of(e.uid) == wine and e.last >= oldest]
    if every:
        kept += [e for e in earlier if wine_of(e.uid) not in wines]
    if not due and not kept:
        return ()
    gone = settled | {entry.uid: entry for entry in kept}
    return (*due.values(), *(entry for uid, entry in gone.items() if uid not in due))


def _settled(judgement: Judgement) -> Iterator[Entry]:
    """What the maker has done, which an earlier calendar may have asked for."""
    course, vessel = judgement.course, judgement.diary.vessel
    if course is None:
        return
    for kind, on in course.facts.done.items():
        uid = step_uid(vessel, course.facts.began, kind.value, 1)
        title = f"{vessel}: {SHORT[kind]}"
        yield Entry(uid=uid, title=title, on=on, last=on, told="", cancelled=True)


def _earlier(path: Path) -> list[Entry]:
    """Entries of the existing file, as cancelled ones; none if it is not ours."""
    import icalendar

    try:
        if not path.is_file() or path.stat().st_size > _MOST_BYTES:
            return []
        calendar = icalendar.Calendar.from_ical(path.read_bytes())
    except (OSError, ValueError):
        return []
    found = (_entry(event) for event in calendar.walk("VEVENT"))
    return [entry for entry in found if entry is not None]


def _entry(event: icalendar.Component) -> Entry | None:
    """One entry of a file of ours; None if it is from another program, or has no day."""
    uid, start = str(event.get("UID", "")), getattr(event.get("DTSTART"), "dt", None)
    if not wine_of(uid) or not isinstance(start, date):
        return None
    at = start if isinstance(start, datetime) else None
    end = getattr(event.get("DTEND"), "dt", None)
    first = start.date() if isinstance(start, datetime) else start
    whole = at is None and isinstance(end, date) and not isinstance(end, datetime)
    last = max(first, end - timedelta(days=1)) if whole and end is not None else first
    title = str(event.get("SUMMARY", ""))
    return Entry(uid=uid, title=title, on=first, last=last, told="", at=at, cancelled=True)
