"""Writes rows of a diary for people: one in words, or all as a table; no sums here."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from ..text import beside, format_day, format_rate, format_seconds, format_when, plain, printable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..diary.visit import Diary, Visit

__all__ = ["diary_text", "extras_of", "last_count_text", "note_text", "visit_text"]

_NUMBER: Final = 7  # column at which a note, or a row in words, starts


def visit_text(visit: Visit) -> str:
    """Write a row in words: "12 in 90 s = 8.0 a minute, 18.5 C, on 24 Nov 2026 21:30".

    Parameters
    ----------
    visit : Visit

    Returns
    -------
    str
    """
    parts = []
    if visit.event is not None:
        parts.append(str(visit.event))
    if visit.seconds is not None and visit.per_min is not None:
        spell = format_seconds(visit.seconds)
        parts.append(f"{visit.bubbles} in {spell} = {format_rate(visit.per_min)}")
    if visit.sg is not None:
        at = "" if visit.sample_c is None else f" at {plain(visit.sample_c)} C"
        digits = 3 if round(visit.sg, 3) == visit.sg else 4
        parts.append(f"gravity {visit.sg:.{digits}f}{at}")
    if visit.refractometer_brix is not None:
        parts.append(f"{plain(visit.refractometer_brix)} Brix by refractometer")
    if visit.temp_c is not None:
        parts.append(f"{plain(visit.temp_c)} C")
    if visit.pressure_hpa is not None:
        parts.append(f"{plain(visit.pressure_hpa)} hPa")
    if visit.litres is not None:
        parts.append(f"{plain(visit.litres)} litres")
    parts += extras_of(visit)
    if visit.note:
        parts.append(f'"{printable(visit.note)}"')
    return ", ".join([*parts, f"on {format_when(visit.when)}"])


def last_count_text(diary: Diary) -> str:
    """Write the last count of the wine in a jar, without the rest of its row."""
    counts = [visit for visit in diary.batch if visit.bubbles is not None]
    if not counts:
        return "no count yet"
    return visit_text(replace(counts[-1], event=None, litres=None, note=""))


def note_text(visit: Visit) -> str:
    """Write the question about a row whose note mentions sugar."""
    return (
        f"The note of {format_day(visit.when)} mentions sugar, but notes are not used in the sums: "
        "did you feed it?"
    )


def extras_of(visit: Visit) -> list[str]:
    """Write the optional columns."""
    parts = []
    if visit.added_l is not None:
        parts.append(f"{plain(visit.added_l)} L added")
    if visit.sugar_g is not None:
        parts.append(f"{plain(visit.sugar_g)} g of sugar")
    if visit.sulphite_g is not None:
        parts.append(f"{plain(visit.sulphite_g)} g of sulphite")
    if visit.sorbate_g is not None:
        parts.append(f"{plain(visit.sorbate_g)} g of sorbate")
    if visit.finings_amount:
        amount = visit.finings_amount.removesuffix("ml")
        spaced = f"{amount} mL" if amount != visit.finings_amount else f"{amount[:-1]} g"
        parts.append(f"{spaced} of finings")
    if visit.bottles:
        parts.append(f"{visit.bottles} cl")
    if visit.closure is not None:
        parts.append(str(visit.closure))
    if visit.other:
        parts.append(f"other jar {visit.other}")
    return parts


def diary_text(diary: Diary, *, width: int = 0) -> str:
    """Write every row of a diary with its rate, struck rows marked, as a table for people.

    Parameters
    ----------
    diary : Diary
    width : int
        Characters in a line; 0 for any. If the table is wider, notes go below their rows; if it is
        still wider, rows are written in words.

    Returns
    -------
    str
        Several lines, no line end after the last.
    """
    if not diary.visits:
        return f"{diary.vessel}: nothing has been written down yet"
    head = (
        *("line", "when", "count", "a minute", "C", "gravity", "refractometer", "event", "litres"),
        *("more", "note"),
    )
    rows = [head, *(_row(visit) for visit in diary.visits)]
    lines = _aligned(rows)
    if width and max(map(len, lines)) > width:
        lines = _aligned([row[:-1] for row in rows])
        if max(map(len, lines)) > width:
            return "\n".join(line for visit in diary.visits for line in _told(visit, width))
        below = [beside("", row[-1], width=width, column=_NUMBER) for row in rows[1:]]
        lines[1:] = ["\n".join([line, *more]) for line, more in zip(lines[1:], below, strict=True)]
    return "\n".join(lines)


def _aligned(rows: Sequence[tuple[str, ...]]) -> list[str]:
    """Columns with anything in them, below their headings."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    used = [i for i in range(len(widths)) if any(row[i] for row in rows[1:])]
    return ["  ".join(row[i].ljust(widths[i]) for i in used).rstrip() for row in rows]


def _told(visit: Visit, width: int) -> list[str]:
    """Write a row in words, for a screen too narrow for the table."""
    text = f"{'STRUCK ' if visit.struck else ''}{visit_text(visit)}"
    return beside(str(visit.line), text, width=width, column=_NUMBER)


def _row(visit: Visit) -> tuple[str, ...]:
    per_min = visit.per_min
    struck = f"STRUCK {visit.note}".strip() if visit.struck else visit.note
    return (
        str(visit.line),
        format_when(visit.when),
        ""
        if visit.seconds is None or per_min is None
        else f"{visit.bubbles} in {format_seconds(visit.seconds)}",
        "" if per_min is None else f"{per_min:.2f}",
        "" if visit.temp_c is None else plain(visit.temp_c),
        "" if visit.sg is None else f"{visit.sg:.3f}",
        "" if visit.refractometer_brix is None else f"{plain(visit.refractometer_brix)} Brix",
        visit.event or "",
        "" if visit.litres is None else plain(visit.litres),
        ", ".join(extras_of(visit)),
        printable(struck),
    )
