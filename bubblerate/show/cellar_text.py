"""The cellar as a table for people, as CSV for programs, and as a sheet; no sums here."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING, Final

from ..diary.csv_rows import shown_cell
from ..diary.places import typed_again
from ..shelf.cellar import Ready
from ..text import format_day, plural
from ..verdict import cautions
from .blocks import Banner, Block, Grid, Line, Paper, paper_text
from .bottled_text import stock_text

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from ..diary.stock import Stock
    from ..shelf.cellar import Lot

__all__ = ["HEAD", "cellar_csv", "cellar_paper", "cellar_rows", "cellar_text", "stop_texts"]

HEAD = ("wine", "left", "drink from", "best before", "now", "lies")
_READY: Final = {
    Ready.STOP: "stop",
    Ready.CHILL: "chill: in doubt",
    Ready.KEEP: "keep",
    Ready.DRINK: "drink",
    Ready.SOON: "drink soon",
    Ready.PAST: "past its best",
    Ready.GONE: "gone",
}
_COLUMNS = (
    *("vessel", "style", "year", "place", "filled", "left", "left_by_size", "closure"),
    *("bottled_on", "drink_from", "best_before", "abv_pct", "ready", "tasted"),
)


def cellar_text(lots: Sequence[Lot], today: date, *, width: int) -> str:
    """Write the cellar for a person.

    Parameters
    ----------
    lots : sequence of Lot
        At least one.
    today : date
    width : int
        Characters in a line.

    Returns
    -------
    str
        No line end after the last.
    """
    return paper_text(cellar_paper(lots, today), width=width)


def cellar_paper(lots: Sequence[Lot], today: date) -> Paper:
    """Make a sheet of the cellar."""
    left = sum(lot.left.left for lot in lots if lot.left is not None)
    unsure = any(lot.left is None for lot in lots)
    more = " and some that were not counted" if unsure else ""
    paths = [lot.path for lot in lots if lot.ready is Ready.STOP]
    blocks: list[Block] = [
        Banner(f"{text}; see {typed_again(path, 'verdict')}")
        for text, path in zip(stop_texts(lots), paths, strict=True)
    ]
    blocks += [
        Grid(HEAD, cellar_rows(lots), (20, 16, 13, 14, 15, 22)),
        Line(
            "Drinking windows are common practice: most country wines improve for six months to a "
            "year in bottle and keep for up to five. Store in the dark at 10 to 15 C, corked "
            "bottles lying down.",
            small=True,
        ),
        Line(cautions.YOUNG, small=True),
    ]
    total = f"{plural(left, 'bottle')}{more}"
    return Paper(title=f"Cellar, {format_day(today)}: {total}", blocks=tuple(blocks))


def stop_texts(lots: Sequence[Lot]) -> tuple[str, ...]:
    """Warn about wines whose bottles may burst."""
    return tuple(f"{lot.vessel}: its bottles may burst" for lot in lots if lot.ready is Ready.STOP)


def cellar_rows(lots: Sequence[Lot]) -> tuple[tuple[str, ...], ...]:
    """Cells of each wine, under `HEAD`."""
    return tuple(
        (
            lot.vessel,
            _left(lot),
            _month(lot, lot.drink_from),
            _month(lot, lot.best_by),
            _READY[lot.ready],
            lot.place or "-",
        )
        for lot in lots
    )


def cellar_csv(lots: Sequence[Lot]) -> str:
    """Write the cellar as CSV, with a header.

    Parameters
    ----------
    lots : sequence of Lot

    Returns
    -------
    str
        Days in ISO 8601; empty cells if unknown. Ends with a line end.
    """
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(_COLUMNS)
    for lot in lots:
        cells = (
            *(lot.vessel, lot.style, lot.year, lot.place, lot.filled),
            "" if lot.left is None else lot.left.left,
            "" if lot.left is None else "+".join(_sizes(lot.left)),
            *(lot.closure, lot.bottled_on, lot.drink_from, lot.best_by),
            "" if lot.abv_pct is None else f"{lot.abv_pct.middle:.1f}",
            *(lot.ready.value, lot.tasted),
        )
        table.writerow([shown_cell(str(cell)) for cell in cells])
    return out.getvalue()


def _sizes(left: Stock) -> list[str]:
    """Bottles left, in the form of a filling; empty if a size is unknown."""
    return [] if left.unsure else [f"{number}x{size}" for size, number in left.sizes.items()]


def _month(lot: Lot, day: date) -> str:
    """A month; none for bottles that may burst."""
    return "-" if lot.ready in (Ready.STOP, Ready.CHILL) else format_day(day, day=False)


def _left(lot: Lot) -> str:
    if lot.left is None:
        return "not counted"
    if len(lot.left.sizes) > 1 and lot.left.left:
        return stock_text(lot.left)
    return f"{lot.left.left} of {lot.filled} cl"
