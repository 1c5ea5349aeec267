"""Writes the story of one wine on a card for the shelf or the neck of the jar."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from ..text import format_day, format_rate, plain, printable
from .diary_text import extras_of
from .label_text import as_lines

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ..course.label import Label
    from ..course.standing import Standing
    from ..diary.visit import Visit

__all__ = ["CARD_WIDTH", "card_text"]

CARD_WIDTH = 56  # an upright postcard, in plain type
_DATE_WIDTH = 8


def card_text(stands: Standing, label: Label) -> str:
    """Write the card.

    Parameters
    ----------
    stands : Standing
    label : Label
        The label of the same wine.

    Returns
    -------
    str
        Several lines, no line end after the last; none longer than `CARD_WIDTH`.
    """
    rule = "-" * CARD_WIDTH
    lines = [rule, *textwrap.wrap(stands.vessel, CARD_WIDTH), *as_lines(label, width=CARD_WIDTH)]
    lines += [rule, *_rows(stands)]
    counted = [visit for visit in stands.rows if visit.bubbles is not None]
    if counted:
        lines += [rule, *textwrap.wrap(_bubbles(counted), CARD_WIDTH)]
    return "\n".join([*lines, rule])


def _rows(stands: Standing) -> Iterator[str]:
    """Each visit except plain counts, under its year."""
    year = None
    for visit in stands.rows:
        text = _visit(visit)
        if not text:
            continue
        if visit.when.year != year:
            year = visit.when.year
            yield str(year)
        day = format_day(visit.when, year=False)
        yield from textwrap.wrap(
            text,
            CARD_WIDTH,
            initial_indent=f"{day:<{_DATE_WIDTH}}",
            subsequent_indent=" " * _DATE_WIDTH,
        )


def _visit(visit: Visit) -> str:
    """What was done, read and noted; empty for a plain count."""
    parts = []
    if visit.event is not None and not (visit.event == "sampled" and visit.sg is not None):
        parts.append(str(visit.event))
    if visit.sg is not None:
        parts.append(f"gravity {visit.sg:.3f}")
    if visit.litres is not None:
        parts.append(f"{plain(visit.litres)} L")
    parts += extras_of(visit)
    if visit.note.strip():
        parts.append(printable(visit.note))
    return ", ".join(parts)


def _bubbles(counted: list[Visit]) -> str:
    """All counts in a sentence."""
    fastest = max(counted, key=lambda visit: visit.per_min or 0.0)
    last = counted[-1]
    return (
        f"{len(counted)} bubble counts. Fastest {format_rate(fastest.per_min or 0.0)} on "
        f"{format_day(fastest.when)}; last {format_rate(last.per_min or 0.0)} on "
        f"{format_day(last.when)}."
    )
