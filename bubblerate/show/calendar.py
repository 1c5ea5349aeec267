"""Steps as a calendar file (RFC 5545) that any calendar can take in, and take in again.

Whole days without a time zone. The UID of a step follows from the vessel, the day its wine was
pitched and the step, so that a later file moves an entry and does not double it.
"""

from __future__ import annotations

import hashlib
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Final

from ..diary.safe_write import save_output
from ..errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from ..course.cellar_work import State, Step

__all__ = ["as_ics", "save_ics", "step_uid"]

_LINE_OCTETS: Final = 75  # RFC 5545, 3.1: without the line break
_STATUS: Final[dict[State, str]] = {
    "done": "CONFIRMED",
    "due": "TENTATIVE",
    "dropped": "CANCELLED",
}
# RFC 5545, 3.3.11, and the backslash first.
_ESCAPES: Final = (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n"))


def step_uid(vessel: str, pitched_on: date | None, key: str) -> str:
    """Identifier of a step that stays the same from file to file.

    Parameters
    ----------
    vessel : str
    pitched_on : date or None
        Tells this wine from the next in the same jar.
    key : str
        Of the step.

    Returns
    -------
    str
        Plain ASCII; the host is one that nobody can own (RFC 2606).

    Examples
    --------
    >>> step_uid("quince", date(2026, 10, 3), "racking-1")
    'racking-1-9c90e44ecc503cb3@bubblerate.invalid'
    """
    wine = f"{vessel}\n{'' if pitched_on is None else pitched_on.isoformat()}"
    return f"{key}-{hashlib.sha256(wine.encode()).hexdigest()[:16]}@bubblerate.invalid"


def as_ics(
    steps: Iterable[Step], *, vessel: str, pitched_on: date | None, written_at: datetime
) -> str:
    """Write steps as a calendar.

    Parameters
    ----------
    steps : iterable of Step
        Those without a day are left out.
    vessel : str
    pitched_on : date or None
    written_at : datetime
        Moment asked about, aware; a file of a later one goes before an earlier.

    Returns
    -------
    str
        Lines end in CRLF, none longer than 75 octets.
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//bubblerate//calendar of steps//EN"]
    for step in steps:
        if step.on is not None:
            uid = step_uid(vessel, pitched_on, step.key)
            lines += _event(step, step.on, vessel, uid, written_at.astimezone(UTC))
    lines.append("END:VCALENDAR")
    return "".join(f"{_folded(line)}\r\n" for line in lines)


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


def _event(step: Step, on: date, vessel: str, uid: str, written_at: datetime) -> Iterator[str]:
    last = step.until if step.until is not None else on
    told = [step.how, f"Day from: {step.basis}." if step.basis else "", *step.care]
    yield "BEGIN:VEVENT"
    yield f"UID:{uid}"
    yield f"DTSTAMP:{written_at:%Y%m%dT%H%M%SZ}"
    # minutes since 1970: a later file has the higher number, whatever was kept of earlier ones
    yield f"SEQUENCE:{int(written_at.timestamp() // 60)}"
    yield f"DTSTART;VALUE=DATE:{on:%Y%m%d}"
    yield f"DTEND;VALUE=DATE:{last + timedelta(days=1):%Y%m%d}"  # the first day after
    yield f"SUMMARY:{_escaped(f'{vessel}: {step.title}')}"
    if any(told):
        yield f"DESCRIPTION:{_escaped(chr(10).join(part for part in told if part))}"
    yield f"STATUS:{_STATUS[step.state]}"
    yield "TRANSP:TRANSPARENT"
    yield "END:VEVENT"


def _escaped(text: str) -> str:
    """Text as a value may hold it, without control characters."""
    text = "".join(c for c in text if c == "\n" or c.isprintable())
    for plain, written in _ESCAPES:
        text = text.replace(plain, written)
    return text


def _folded(line: str) -> str:
    """Break a line so that no part is longer than 75 octets, and no character is torn."""
    parts, room = [""], _LINE_OCTETS
    for char in line:
        size = len(char.encode())
        if size > room:
            parts.append("")
            room = _LINE_OCTETS - 1  # the space that begins the next line counts
        parts[-1] += char
        room -= size
    return "\r\n ".join(parts)
