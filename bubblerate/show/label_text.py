"""What a bottle's label says, as plain text; no sums here."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from ..course.volumes import measure
from ..text import format_day

if TYPE_CHECKING:
    from datetime import date

    from ..course.label import Label

__all__ = ["as_lines"]


def as_lines(shown: Label, *, width: int) -> list[str]:
    """Write the label below its name, line by line.

    Parameters
    ----------
    shown : Label
    width : int
        Characters a line may hold.

    Returns
    -------
    list of str
        What is not known is left out, but for the strength and the finings.
    """
    head = [str(shown.year)] if shown.year is not None else []
    head += [shown.style] if shown.style is not None else []
    lines = [", ".join(head)] if head else []
    strength = "not known" if shown.abv_pct is None else f"about {shown.abv_pct:.0f} % vol"
    lines.append(f"Strength {strength}" + (" (an estimate)" if shown.abv_pct is not None else ""))
    if shown.litres is not None:
        lines.append(f"Batch of {measure(shown.litres)}")
    if shown.bottled_on is not None:
        lines.append(f"Bottled {format_day(shown.bottled_on)}")
    else:
        lines.append("Not bottled yet")
    if shown.drink_from is not None:
        lines.append(f"Drink from {_month(shown.drink_from)}")
    if shown.best_by is not None:
        lines.append(f"Best by {_month(shown.best_by)}")
    if shown.contains:
        lines.append(f"Contains {', '.join(shown.contains)}")
    if shown.doubtful:
        what = "; ".join(shown.doubtful)
        lines.append(f"Allergens not known: finings {what}")
    return [part for line in lines for part in textwrap.wrap(line, width)]


def _month(day: date) -> str:
    """Month and year: no bottle knows the day."""
    return format_day(day).split(" ", 1)[1]
