"""Writes the shelf as a table for people and as CSV for programs; no sums here."""

from __future__ import annotations

import csv
import io
import textwrap
from datetime import date
from typing import TYPE_CHECKING, Final, NamedTuple

from ..diary.csv_rows import shown_cell
from ..shelf.overview import Bottled, Judged, Unread
from ..text import cell_len, format_day, iso, plain
from ..verdict.reasons import Kind, Phase
from .step_text import PHASES_SHORT, answer_text, day_text, short_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..shelf.common_move import CommonMove
    from ..shelf.overview import Line

__all__ = ["Words", "move_text", "shelf_csv", "shelf_text", "words_of"]

Cell = date | float | str | None

_NARROW: Final = 60  # narrower, columns are closer
_FIXED: Final = 4  # columns before what is to be done
_LONGEST_NAME: Final = 24
_SHORTEST_NAME: Final = 8  # if the line is narrow
_REST: Final = 30  # gaps, and what is to be done
_BELOW = " " * 4  # before the second line of an unreadable jar
# bold green, red, dim; wait is plain, as the usual answer
_STYLES = {"go": "1;32", "error": "31", "bottled": "2"}
_SPARE: Final = "a spare, for topping up"
_FELT_C = 1.0  # how well a thermometer in the room can be trusted

_COLUMNS = (
    "vessel", "counted_at", "bubbles", "seconds", "per_min", "threshold_per_min", "below_from",
    "below_about", "below_until", "verdict", "firmness", "due", "next", "bottled_at", "error",
    "phase", "kind", "since", "until",
)  # fmt: skip


class Words(NamedTuple):
    """A vessel in a few words.

    Attributes
    ----------
    vessel, phase, answer, day : str
        The answer is "go", "wait" or "STOP", or "-" if nothing is open.
    do, since : str
        What to do, and since when it is due.
    """

    vessel: str
    phase: str
    answer: str
    day: str
    do: str
    since: str


def shelf_text(
    lines: Sequence[Line], move: CommonMove | None, *, width: int, colour: bool = False
) -> str:
    """Write the shelf for a person.

    Parameters
    ----------
    lines : sequence of Unread, Bottled or Judged
        In the order to show, at least one.
    move : CommonMove or None
        What all jars did together.
    width : int
        Characters in a line; names, and then what to do, are cut to fit.
    colour : bool
        Whether the terminal shows colours; the words tell the same.

    Returns
    -------
    str
        No line end after the last.
    """
    rows = [words_of(line) for line in lines if not isinstance(line, Unread)]
    widths = [max((cell_len(row[i]) for row in rows), default=0) for i in range(_FIXED)]
    widths[0] = min(widths[0], _LONGEST_NAME, max(_SHORTEST_NAME, width - sum(widths[1:]) - _REST))
    gap = " " if width < _NARROW else "  "
    out = []
    for line in lines:
        if isinstance(line, Unread):
            broken = textwrap.wrap(line.error, width, subsequent_indent=_BELOW)
            out += [_styled(part, "error", colour) for part in broken]
            continue
        *cells, text, since = words_of(line)
        shown = gap.join([*map(_set, cells, widths), text])
        shown += since if cell_len(shown + since) <= width else ""
        out.append(_styled(_cut(shown.rstrip(), width), _style(line), colour))
    if move is not None:
        out += ["", *textwrap.wrap(move_text(move), width)]
    return "\n".join(out)


def move_text(move: CommonMove) -> str:
    """Say in a sentence that the jars moved together.

    Parameters
    ----------
    move : CommonMove

    Returns
    -------
    str
    """
    which = "sped up" if move.times > 1.0 else "slowed down"
    who = f"{len(move.jars)} of {move.compared} jars"
    times = f"{move.times:.1f}" if move.times >= 0.1 else "under 0.1"
    cause = "weather or heating, not yeast"
    if move.warmer_c is not None and abs(move.warmer_c) >= _FELT_C:
        word = "warmer" if move.warmer_c > 0.0 else "colder"
        cause += f"; they are {abs(move.warmer_c):.1f} C {word}"
    return f"{format_day(move.on)}: {who} {which} together, to {times} times their usual: {cause}."


def shelf_csv(lines: Sequence[Line]) -> str:
    """Write the shelf as CSV (RFC 4180, except for plain line ends), with a header.

    Parameters
    ----------
    lines : sequence of Unread, Bottled or Judged

    Returns
    -------
    str
        Times in ISO 8601; empty cells if unknown; no text that a spreadsheet takes for a formula.
        Ends with a line end.
    """
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(_COLUMNS)
    for line in lines:
        cells = _cells(line)
        table.writerow([_cell(cells.get(name)) for name in _COLUMNS])
    return out.getvalue()


def _cells(line: Line) -> dict[str, Cell]:
    """The cells of a vessel in the CSV, by column."""
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
        "phase": line.phase.value,
        "kind": v.next.kind.value,
        "since": v.next.since,
        "until": v.next.until,
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
    return plain(value) if isinstance(value, int | float) else iso(value)


def words_of(line: Bottled | Judged) -> Words:
    """Put a vessel into the few words that fit in a line."""
    v, today = line.verdict, line.asked_on
    step = v.next
    if step.kind is Kind.NOTHING:
        spare = line.phase in (Phase.FERMENTING, Phase.CLEARING)
        what = _SPARE if spare else short_text(step)
        return Words(line.vessel, PHASES_SHORT[line.phase], "-", "", what, "")
    rescue = step.kind is Kind.RESCUE
    answer = answer_text(v.answer, step)
    day = "" if step.on is None else day_text(step.on, today)
    overdue = step.on is not None and step.since is not None and step.since < step.on
    since = f" (since {day_text(step.since, today)})" if overdue and step.since else ""
    drinks = isinstance(line, Bottled) and v.answer == "wait" and not rescue
    shown = "-" if drinks else answer if rescue else answer.lower()
    return Words(line.vessel, PHASES_SHORT[line.phase], shown, day, short_text(step), since)


def _style(line: Bottled | Judged) -> str:
    if line.verdict.next.kind is Kind.RESCUE:
        return "error"
    return "bottled" if isinstance(line, Bottled) else line.verdict.answer


def _set(text: str, size: int) -> str:
    cut = _cut(text, size)
    return cut + " " * (size - cell_len(cut))


def _cut(text: str, size: int) -> str:
    """Cut a text to fit, with two dots for what is left out."""
    if cell_len(text) <= size:
        return text
    while text and cell_len(text) > size - 2:
        text = text[:-1]
    return text.rstrip() + ".."


def _styled(text: str, style: str, colour: bool) -> str:
    if not colour or style not in _STYLES:
        return text
    return f"\x1b[{_STYLES[style]}m{text}\x1b[0m"
