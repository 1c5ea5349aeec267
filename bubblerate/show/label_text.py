"""Writes a bottle's label as plain text; no sums here."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Final

from ..course.volumes import measure
from ..text import format_day, plain, printable

if TYPE_CHECKING:
    from ..course.label import Label

__all__ = ["as_lines"]

_SURE_ABV: Final = 1.5  # % vol


def as_lines(label: Label, *, width: int) -> list[str]:
    """Write the lines of the label below its name.

    Parameters
    ----------
    label : Label
    width : int
        Characters a line may hold.

    Returns
    -------
    list of str
        What is unknown is left out, except strength and finings.
    """
    head = [str(label.year)] if label.year is not None else []
    head += [label.style] if label.style is not None else []
    lines = [", ".join(head)] if head else []
    lines.append(f"Strength {_strength(label)}")
    if label.bottle_cl is not None:
        lines.append(f"{plain(label.bottle_cl)} cl")
    elif label.litres is not None:
        lines.append(f"Batch of {measure(label.litres)}")
    if label.bottled_on is not None:
        lines.append(f"Bottled {format_day(label.bottled_on)}")
    else:
        lines.append("Not bottled yet")
    if label.may_burst:
        lines.append("STOP: this bottle may burst. Do not keep it or give it away.")
    elif label.doubted:
        lines.append("In doubt: it may burst. Keep it cold and give none away until it is settled.")
    keeps = not (label.may_burst or label.doubted)
    if label.drink_from is not None and keeps:
        lines.append(f"Drink from {format_day(label.drink_from, day=False)}")
    if label.best_by is not None and keeps:
        lines.append(f"Best by {format_day(label.best_by, day=False)}")
    if label.contains:
        lines.append(f"Contains {', '.join(label.contains)}")
    if label.doubtful:
        what = "; ".join(label.doubtful)
        lines.append(f"Allergens not known: fined with {what}")
    return [part for line in lines for part in textwrap.wrap(printable(line), width)]


def _strength(label: Label) -> str:
    """Strength to a per cent; with its range if that is wider."""
    if label.abv_pct is None:
        return "not known"
    low, middle, high = label.abv_pct
    if high - low <= _SURE_ABV:
        return f"about {middle:.0f} % vol (an estimate)"
    return f"{low:.0f} to {high:.0f} % vol (an estimate)"
