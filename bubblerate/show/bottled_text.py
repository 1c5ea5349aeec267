"""Words what comes after bottling; no sums here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..course.windows import drink_from, keeps_until
from ..course.words import ALSO
from ..text import format_day
from ..verdict.reasons import Kind, Phase

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ..course.engine import Course
    from ..diary.stock import Stock

__all__ = ["bottled_lines", "stock_text"]


def stock_text(left: Stock) -> str:
    """Bottles left by size: "4 of 75 cl, 1 of 37.5 cl", then those of unknown size subtracted."""
    told = [f"{number} of {size} cl" for size, number in left.sizes.items() if number]
    less = f", less {left.unsure} of a size not noted" if left.unsure and len(told) > 1 else ""
    return ", ".join(told) + less


def bottled_lines(course: Course) -> Iterator[str]:
    """Say when to lay bottles down, to squeeze the plastic test bottle, and to drink.

    Of bottles in doubt only that they are.

    Parameters
    ----------
    course : Course
        Course of a wine in bottles.

    Yields
    ------
    str
    """
    if course.facts.doubted_on is not None:
        yield f"In doubt: {ALSO['bottles']}. The verdict says what would settle it."
        return
    if course.phase is not Phase.BOTTLED or course.facts.bottles is None:
        return
    every = (course.next, *course.steps)
    for kind, words in ((Kind.LAY, "Lay them down"), (Kind.WATCH, "Squeeze the plastic bottle")):
        days = [format_day(step.on, year=False) for step in every if step.kind is kind]
        if days:
            yield f"{words} on {', '.join(days)}."
    on = course.facts.bottles.on
    first, last = drink_from(course.facts, on), keeps_until(course.facts, on)
    yield (
        f"Drink from {format_day(first, day=False)}, best before {format_day(last, day=False)} "
        "[common practice]."
    )
