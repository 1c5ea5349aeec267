"""Rows of a diary as text for people: one in words, or all of them as a table; no sums here."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from ..text import format_day, format_rate, format_seconds, format_when, plain, printable

if TYPE_CHECKING:
    from ..diary.visit import Diary, Visit

__all__ = ["diary_text", "extras_of", "last_count_text", "note_text", "visit_text"]


def visit_text(visit: Visit) -> str:
    """One row in words: "12 in 90 s = 8.0 a minute, 18.5 C, on 24 Nov 2026 21:30".

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
    """The last count of the wine that is in a jar, without what else its row holds."""
    counts = [visit for visit in diary.batch if visit.bubbles is not None]
    if not counts:
        return "no count yet"
    return visit_text(replace(counts[-1], event=None, litres=None, note=""))


def note_text(visit: Visit) -> str:
    """The question about a row whose note mentions sugar."""
    return (
        f"The note of {format_day(visit.when)} mentions sugar, but notes are not used in the sums: "
        "did you feed it?"
    )


def extras_of(visit: Visit) -> list[str]:
    """What the later columns hold."""
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


def diary_text(diary: Diary) -> str:
    """Every row of a diary with its rate, struck rows marked, as a table for people.

    Parameters
    ----------
    diary : Diary

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
    widths = [max(len(row[i]) for row in rows) for i in range(len(head))]
    used = [i for i in range(len(head)) if any(row[i] for row in rows[1:])]
    return "\n".join("  ".join(row[i].ljust(widths[i]) for i in used).rstrip() for row in rows)


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
