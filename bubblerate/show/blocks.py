"""A sheet of paper as blocks, one below the other, that can be printed or drawn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from ..text import cell_len, printable, wrapped

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["Banner", "Block", "Boxes", "Grid", "Heading", "Line", "Pairs", "Paper", "paper_text"]


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading above a part."""

    text: str


@dataclass(frozen=True, slots=True)
class Line:
    """A paragraph; small where it is a caution or a source."""

    text: str
    small: bool = False


@dataclass(frozen=True, slots=True)
class Banner:
    """A warning across the page."""

    text: str


@dataclass(frozen=True, slots=True)
class Boxes:
    """A list to tick off."""

    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Pairs:
    """Words with their meaning beside them."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Grid:
    """A table; `widths` are shares of the page, and blank rows are there to fill in by hand."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[float, ...]
    row_mm: float = 5.5


Block: TypeAlias = Heading | Line | Banner | Boxes | Pairs | Grid


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """One sheet.

    Attributes
    ----------
    title : str
    blocks : tuple of Block
    link : str
        Address to draw as a QR code; empty for none.
    """

    title: str
    blocks: tuple[Block, ...]
    link: str = ""


def paper_text(paper: Paper, *, width: int) -> str:
    """Write a sheet for a screen.

    Parameters
    ----------
    paper : Paper
    width : int
        Characters a line may hold.

    Returns
    -------
    str
        No line end after the last. Rows to fill in are left out.
    """
    lines = [printable(paper.title)]
    for block in paper.blocks:
        lines += [part.rstrip() for part in _lines(block, width)]
    return "\n".join(lines)


def _lines(block: Block, width: int) -> Iterator[str]:
    match block:
        case Heading(text):
            yield ""
            yield from wrapped(text, width)
        case Line(text):
            yield from wrapped(text, width, first="  ", later="  ")
        case Banner(text):
            yield from wrapped(text, width, first="! ", later="  ")
        case Boxes(items):
            for item in items:
                yield from wrapped(item, width, first="  [ ] ", later="      ")
        case Pairs(rows):
            for label, text in rows:
                start = f"  {label:<11}"
                yield from wrapped(text, width, first=start, later=" " * len(start))
        case Grid():
            yield from _grid(block, width)


def _grid(grid: Grid, width: int) -> Iterator[str]:
    """The filled rows, each column as wide as needed; the last is cut to fit."""
    rows = [grid.head, *(row for row in grid.rows if any(row))]
    sizes = [max(cell_len(row[i]) for row in rows) for i in range(len(grid.head))]
    for row in rows:
        cells = (
            cell + " " * (size - cell_len(cell)) for cell, size in zip(row, sizes, strict=True)
        )
        line = "  ".join(cells).rstrip()
        yield line if cell_len(line) <= width else line[: width - 2].rstrip() + ".."


def _set(cell: str, size: int) -> str:
    return cell + " " * (size - cell_len(cell))
