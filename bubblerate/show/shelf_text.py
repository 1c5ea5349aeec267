"""The shelf as a table for people and as CSV for programs; no sums here."""

from __future__ import annotations

import csv
import io
import textwrap
from datetime import date, datetime
from typing import TYPE_CHECKING, Final

from ..diary.csv_rows import shown_cell
from ..shelf.overview import Bottled, Judged, Unread
from ..text import format_day, format_rate, plain
from ..verdict.reasons import Kind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..shelf.common_move import CommonMove
    from ..shelf.overview import Line

__all__ = ["move_text", "shelf_csv", "shelf_text"]

Cell = date | float | str | None

_GAP = "  "
_LONGEST_NAME = 24
_SHORTEST_NAME = 8  # where the line is narrow
_NAME_BESIDE = 12  # no name is cut shorter for the sake of the next thing to do
_BELOW = " " * 4  # before what stands on a line of its own
_NEXT = (20, 25)  # characters it needs beside the rest, and likes; else it stands below
# bold green, red, dim; what waits is left plain: it is the usual
_STYLES = {"go": "1;32", "error": "31", "bottled": "2"}
_FELT_C = 1.0  # by so much a thermometer in the room can be trusted
_LONG_AGO_DAYS = 300  # from here on a date needs its year

# The next step in a few words.
_TO_DO: Final[dict[Kind, str]] = {
    Kind.ANSWER: "Answer what is asked",
    Kind.COUNT: "Count the bubbles again",
    Kind.BUNG: "Press the bung so that the airlock moves",
    Kind.READ: "Read the gravity",
    Kind.WARM: "Bring the jar to its usual warmth",
    Kind.ROUSE: "Check the warmth (18 C or more)",
    Kind.RESTART: "Restart it with a starter",
    Kind.RACK: "Rack it off its lees",
    Kind.TOP_UP: "Top it up",
    Kind.LOOK: "Look for new lees",
    Kind.CHILL: "Chill it",
    Kind.FINE: "Fine it",
    Kind.STABILISE: "Keep it under airlock",
    Kind.BOTTLE: "Look first, then bottle",
    Kind.RESCUE: "See to the bottles",
    Kind.LAY: "Lay it down",
    Kind.WATCH: "Watch it",
    Kind.DRINK: "Drink it or keep it",
    Kind.NOTHING: "Nothing",
}
_COLUMNS = (
    "vessel", "counted_at", "bubbles", "seconds", "per_min", "threshold_per_min", "below_from",
    "below_about", "below_until", "verdict", "firmness", "due", "next", "bottled_at", "error",
)  # fmt: skip


def shelf_text(
    lines: Sequence[Line], move: CommonMove | None, *, width: int, colour: bool = False
) -> str:
    """Write the shelf out for a person.

    Parameters
    ----------
    lines : sequence of Unread, Bottled or Judged
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
    known = [line for line in lines if not isinstance(line, Unread)]
    rows = [_head(known[0]), *map(_row, known)] if known else []
    texts = [_next(line) for line in known]
    needed, liked = (min(n, max(map(len, texts), default=0)) for n in _NEXT)
    widths = _widths(rows, width - liked - len(_GAP), shortest=_NAME_BESIDE)
    room = width - sum(widths) - len(_GAP) * len(widths)
    beside = room >= needed
    if not beside:
        widths, room = _widths(rows, width, shortest=_SHORTEST_NAME), width - len(_BELOW)
    out = [_GAP.join([_set(rows[0], widths), *(["next"] if beside else [])])] if rows else []
    for line in lines:
        if isinstance(line, Unread):
            broken = textwrap.wrap(line.error, width, subsequent_indent=_BELOW)
            out += [_styled(part, "error", colour) for part in broken]
            continue
        cells, text = _set(_row(line), widths), _cut(_next(line), room)
        shown = cells + _GAP + text if beside else f"{cells.rstrip()}\n{_BELOW}{text}"
        style = "bottled" if isinstance(line, Bottled) else line.verdict.answer
        out.append(_styled(shown.rstrip(), style, colour))
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
    lines : sequence of Unread, Bottled or Judged

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
        cells = _cells(line)
        table.writerow([_cell(cells.get(name)) for name in _COLUMNS])
    return out.getvalue()


def _cells(line: Line) -> dict[str, Cell]:
    """What the CSV holds of a vessel, by column."""
    match line:
        case Unread():
            return {"vessel": line.vessel, "error": line.error}
        case Bottled():
            return _judged_cells(line) | {"bottled_at": line.bottled_at}
        case Judged():
            c = line.crossing
            names = ("below_from", "below_about", "below_until")
            window = () if c is None else (c.low80, c.median, c.high80)
            return _judged_cells(line) | dict(zip(names, window, strict=False))


def _judged_cells(line: Bottled | Judged) -> dict[str, Cell]:
    v, last = line.verdict, line.last
    cells: dict[str, Cell] = {
        "vessel": line.vessel,
        "threshold_per_min": v.threshold_per_min,
        "verdict": v.answer,
        "firmness": v.firmness,
        "due": v.next.on,
        "next": v.next.do,
    }
    if last is None:
        return cells
    return cells | {
        "counted_at": last.at,
        "bubbles": last.bubbles,
        "seconds": last.seconds,
        "per_min": last.per_min,
    }


def _cell(value: Cell) -> str:
    if value is None or isinstance(value, str):
        return shown_cell(value or "")
    return plain(value) if isinstance(value, int | float) else value.isoformat()


def _head(line: Bottled | Judged) -> tuple[str, ...]:
    threshold = plain(line.verdict.threshold_per_min)
    return "vessel", "last count", f"below {threshold}/min", "go?"


def _row(line: Bottled | Judged) -> tuple[str, ...]:
    if isinstance(line, Bottled):
        return line.vessel, _count(line), "-", "-"
    return line.vessel, _count(line), _window(line), line.verdict.answer


def _count(line: Bottled | Judged) -> str:
    if line.last is None:
        return "none yet"
    return f"{format_rate(line.last.per_min, short=True)} {_day(line.last.at, line)}"


def _window(line: Judged) -> str:
    """80 % interval of the day on which the rate falls below the threshold."""
    if line.crossing is None:
        return "-"
    low, high = line.crossing.low80, line.crossing.high80
    if low is None:
        return "in over 60 days"
    if high is None:
        return f"from {_day(low, line)}"
    if low.date() == high.date():
        return _day(low, line)
    if (low.year, low.month) == (high.year, high.month):
        return f"{low.day}-{_day(high, line)}"
    return f"{_day(low, line)}-{_day(high, line)}"


def _next(line: Bottled | Judged) -> str:
    """The day, and in a few words what is to be done; verdict says all of it."""
    if isinstance(line, Bottled):
        return f"bottled {_day(line.bottled_at, line)}"
    step = line.verdict.next
    if step.on is None:
        return _TO_DO[step.kind]
    today = step.on == line.verdict.asked_at.date()
    return f"{'today' if today else _day(step.on, line)}: {_TO_DO[step.kind]}"


def _day(day: date | datetime, line: Bottled | Judged) -> str:
    """Day and month, with the year where it could be taken for another."""
    apart = abs(day.toordinal() - line.verdict.asked_at.toordinal())
    return format_day(day, year=apart > _LONG_AGO_DAYS)


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
