"""The shelf as a table for people and as CSV for programs; no sums here."""

from __future__ import annotations

import csv
import io
import textwrap
from typing import TYPE_CHECKING

from ..diary.csv_rows import guarded
from ..diary.settings import THRESHOLD_PER_MIN
from ..text import format_day, format_rate, plain

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

    from ..shelf.common_move import CommonMove
    from ..shelf.overview import Line

__all__ = ["move_text", "shelf_csv", "shelf_text"]

_GAP = "  "
_LONGEST_NAME = 24
_SHORTEST_NAME = 8  # where the line is narrow
_NAME_BESIDE = 12  # no name is cut shorter for the sake of the next thing to do
_NEXT = (20, 25)  # characters it needs beside the rest, and likes; else it stands below
# bold green, red, dim; what waits is left plain: it is the usual
_STYLES = {"go": "1;32", "error": "31", "bottled": "2"}
_FELT_C = 1.0  # by so much a thermometer in the room can be trusted
_LONG_AGO_DAYS = 300  # from here on a date needs its year

# The columns of the CSV, each with what it takes from a line.
_COLUMNS = {
    "vessel": "vessel",
    "counted_at": "counted_at",
    "bubbles": "bubbles",
    "seconds": "seconds",
    "per_min": "per_min",
    "threshold_per_min": "threshold_per_min",
    "below_from": "below_from",
    "below_about": "below_about",
    "below_until": "below_until",
    "verdict": "answer",
    "firmness": "firmness",
    "due": "due",
    "next": "do",
    "bottled_at": "bottled_at",
    "error": "error",
}


def shelf_text(
    lines: Sequence[Line], move: CommonMove | None, *, width: int, colour: bool = False
) -> str:
    """Write the shelf out for a person.

    Parameters
    ----------
    lines : sequence of Line
        In the order in which they are to stand, at least one.
    move : CommonMove or None
        What all jars did together.
    width : int
        Characters a line may hold; where they are few the next thing to do stands on a line of
        its own.
    colour : bool
        Whether the terminal shows colours; the words say the same without.

    Returns
    -------
    str
        No line end after the last.
    """
    read = [line for line in lines if not line.error]
    rows = [_head(read), *(_row(line) for line in read)] if read else []
    texts = {line.vessel: _next(line) for line in read}
    needed, liked = (min(n, max(map(len, texts.values()), default=0)) for n in _NEXT)
    widths = _widths(rows, width - liked - len(_GAP), shortest=_NAME_BESIDE)
    room = width - sum(widths) - len(_GAP) * len(widths)
    beside = room >= needed
    if not beside:
        widths = _widths(rows, width, shortest=_SHORTEST_NAME)
    out = [_GAP.join([_set(rows[0], widths), *(["next"] if beside else [])])] if rows else []
    for line in lines:
        if line.error:
            broken = textwrap.wrap(line.error, width, subsequent_indent="    ")
            out += [_styled(part, "error", colour) for part in broken]
            continue
        row = _row(line)
        cells = _set(row, widths)
        if beside:
            cells += _GAP + _cut(texts[line.vessel], room)
        elif texts[line.vessel]:
            cells = cells.rstrip() + "\n    " + _cut(texts[line.vessel], width - 4)
        style = "bottled" if line.bottled_at is not None else str(line.answer)
        out.append(_styled(cells.rstrip(), style, colour))
    if move is not None:
        out += ["", *textwrap.wrap(move_text(move), width)]
    return "\n".join(text.rstrip() for text in out)


def move_text(move: CommonMove) -> str:
    """Say in a sentence that the jars moved together.

    Parameters
    ----------
    move : CommonMove

    Returns
    -------
    str
    """
    which = "quickened" if move.times > 1.0 else "slowed"
    who = f"{len(move.jars)} of {move.compared} jars"
    times = f"{move.times:.1f}" if move.times >= 0.1 else "under 0.1"
    cause = "weather or heating, not yeast"
    if move.warmer_c is not None and abs(move.warmer_c) >= _FELT_C:
        word = "warmer" if move.warmer_c > 0.0 else "colder"
        cause += f"; they stand {abs(move.warmer_c):.1f} C {word}"
    return f"{format_day(move.on)}: {who} {which} together, to {times} times their usual: {cause}."


def shelf_csv(lines: Sequence[Line]) -> str:
    """Write the shelf as CSV (RFC 4180 but for plain line ends), with a header.

    Parameters
    ----------
    lines : sequence of Line

    Returns
    -------
    str
        Times in ISO 8601; empty cells where nothing is known; no text that a spreadsheet takes for
        a formula. Ends with a line end.
    """
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(_COLUMNS)
    for line in lines:
        table.writerow([_cell(getattr(line, name)) for name in _COLUMNS.values()])
    return out.getvalue()


def _cell(value: date | float | str | None) -> str:
    if value is None or isinstance(value, str):
        return guarded(value or "")
    return plain(value) if isinstance(value, int | float) else value.isoformat()


def _head(read: Sequence[Line]) -> tuple[str, ...]:
    threshold = plain(read[0].threshold_per_min or THRESHOLD_PER_MIN)
    return "vessel", "last count", f"below {threshold}/min", "go?"


def _row(line: Line) -> tuple[str, ...]:
    if line.bottled_at is not None:
        return line.vessel, _count(line), "-", "-"
    return line.vessel, _count(line), _window(line), line.answer or ""


def _count(line: Line) -> str:
    if line.per_min is None or line.counted_at is None:
        return "none yet"
    rate = format_rate(line.per_min).replace(" a minute", "/min").replace("fewer than", "under")
    return f"{rate} {_day(line.counted_at, line)}"


def _window(line: Line) -> str:
    """80 % interval of the day on which the rate falls below the threshold."""
    if not line.foretold:
        return "-"
    low, high = line.below_from, line.below_until
    if low is None:
        return "in over 60 days"
    if high is None:
        return f"from {_day(low, line)}"
    if low.date() == high.date():
        return _day(low, line)
    if (low.year, low.month) == (high.year, high.month):
        return f"{low.day}-{_day(high, line)}"
    return f"{_day(low, line)}-{_day(high, line)}"


def _next(line: Line) -> str:
    """The day, and the first clause of what is to be done; verdict says all of it."""
    if line.bottled_at is not None:
        return f"bottled {_day(line.bottled_at, line)}"
    do = line.do
    for mark in ".,:;":
        do = do.partition(mark)[0]
    if line.due is None or line.asked_at is None:
        return do
    day = "today" if line.due == line.asked_at.date() else _day(line.due, line)
    return f"{day}: {do}"


def _day(day: date | datetime, line: Line) -> str:
    """Day and month, with the year where it could be taken for another."""
    text = format_day(day)
    if line.asked_at is None:
        return text
    apart = abs(day.toordinal() - line.asked_at.toordinal())
    return text if apart > _LONG_AGO_DAYS else text.rsplit(" ", 1)[0]


def _widths(rows: Sequence[tuple[str, ...]], width: int, *, shortest: int) -> list[int]:
    """Width of each column, the names cut where the line would not hold them."""
    if not rows:
        return []
    name, *rest = (max(len(row[i]) for row in rows) for i in range(len(rows[0])))
    most = width - sum(rest) - len(_GAP) * len(rest)
    return [min(name, _LONGEST_NAME, max(shortest, most)), *rest]


def _set(row: Sequence[str], widths: Sequence[int]) -> str:
    return _GAP.join(_cut(cell, size).ljust(size) for cell, size in zip(row, widths, strict=True))


def _cut(text: str, size: int) -> str:
    """Text that fits, cut after a word where there is one."""
    if len(text) <= size:
        return text
    kept = text[: max(0, size - 2)]
    words = kept.rpartition(" ")[0] if " " in kept and not text[size - 2].isspace() else kept
    return words.rstrip() + ".."


def _styled(text: str, style: str, colour: bool) -> str:
    if not colour or style not in _STYLES:
        return text
    return "\n".join(f"\x1b[{_STYLES[style]}m{part}\x1b[0m" for part in text.split("\n"))
