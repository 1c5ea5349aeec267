"""Writes blocks on A4 pages, one below the other, with page breaks.

Sizes are in points (1/72 inch) unless the name says otherwise, from the lower left.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from ...errors import InputError
from ..blocks import Banner, Boxes, Grid, Heading, Line, Pairs
from .letters import drawable, wrapped
from .page import A4_INCHES, ASH, INK

if TYPE_CHECKING:
    from ..blocks import Block

__all__ = ["Pen"]

_MM: Final = 72.0 / 25.4
_MARGIN: Final = 15.0 * _MM
_LEADING: Final = 1.32
_TITLE, _HEAD, _BODY, _SMALL = 17.0, 11.5, 9.5, 8.0
_LABEL_WIDTH: Final = 62.0
_BOX: Final = 8.0
_QR_MM: Final = 24.0


class Pen:
    """Writes from the top of a page down, and starts a new page when it is full."""

    def __init__(self, fonts: list[str], lacking: str, scale: float) -> None:
        self.fonts, self.lacking, self.scale = fonts, lacking, scale
        # in units of the pen: a smaller pen has more room on a page
        self.width, self.height = (72.0 * side / scale for side in A4_INCHES)
        self.pages: list[Figure] = []
        self.link_foot = self.height
        self._turn()

    def _turn(self) -> None:
        self.pages.append(Figure(figsize=A4_INCHES))
        self.top = self.height - _MARGIN
        self.link_foot = self.height

    def number(self) -> None:
        """Write the number of each page, if there are several."""
        for n, page in enumerate(self.pages, 1):
            if len(self.pages) > 1:
                page.text(0.5, 0.02, f"{n} of {len(self.pages)}", size=_SMALL, ha="center")

    @property
    def room(self) -> float:
        """Width between the margins."""
        return self.width - 2.0 * _MARGIN

    def down(self, points: float) -> None:
        """Leave some space."""
        self.top -= points

    def need(self, points: float) -> None:
        """Start a new page if this much does not fit."""
        if self.top - points < _MARGIN:
            self._turn()

    def block(self, block: Block) -> None:
        """Draw one block."""
        match block:
            case Heading(text):
                self.need(4.0 * _HEAD)
                self.down(6.0)
                self.write(text, _HEAD, bold=True)
                self.down(1.5)
            case Line(text, small):
                self.write(text, _SMALL if small else _BODY)
                self.down(1.5)
            case Banner(text):
                self._banner(text)
            case Boxes(items):
                for item in items:
                    self._boxed(item)
            case Pairs(rows):
                for label, text in rows:
                    self._pair(label, text)
            case Grid():
                self._grid(block)

    def title(self, text: str, link: str) -> None:
        """Write the title, beside the code of the address if there is one."""
        if link:
            self.code(link)
        self.write(text, _TITLE, bold=True, narrower=_QR_MM * _MM + 6.0 if link else 0.0)
        self.down(4.0)

    def write(
        self,
        text: str,
        size: float,
        *,
        bold: bool = False,
        left: float = 0.0,
        narrower: float = 0.0,
    ) -> None:
        """Write a paragraph from the left margin down."""
        for line in wrapped(text, size, self.room - left - narrower, bold=bold):
            self.need(_LEADING * size)
            self.top -= _LEADING * size
            self._text(line, _MARGIN + left, self.top + 0.3 * size, size, bold=bold)

    def code(self, link: str) -> None:
        """Draw an address as a code, in the upper right corner."""
        try:
            import segno
        except ImportError:
            raise InputError(
                'the code for --link needs a library: pip install "bubblerate[phone]"; or leave '
                "--link out"
            ) from None
        rows = [[int(dot) for dot in row] for row in segno.make(link, error="m").matrix]
        side = _QR_MM * _MM
        dot = side / len(rows)
        left, top = self.width - _MARGIN - side, self.height - _MARGIN
        for n, row in enumerate(rows):
            for m, dark in enumerate(row):
                if dark:
                    self._box(left + m * dot, top - (n + 1) * dot, dot, dot, fill=INK, edge=None)
        self.link_foot = top - side

    def _banner(self, text: str) -> None:
        lines = wrapped(text, _BODY, self.room - 12.0, bold=True)
        high = len(lines) * _LEADING * _BODY + 8.0
        self.need(high + 4.0)
        self.down(3.0)
        self._box(_MARGIN, self.top - high, self.room, high, fill="#E9E9E9", edge=INK)
        self.down(4.0)
        self.write(text, _BODY, bold=True, left=6.0, narrower=6.0)
        self.down(7.0)

    def _boxed(self, text: str) -> None:
        self.need(_LEADING * _BODY)
        foot = self.top - _LEADING * _BODY + 1.0
        self._box(_MARGIN, foot + 1.0, _BOX, _BOX, fill=None, edge=INK)
        self.write(text, _BODY, left=_BOX + 6.0)
        self.down(1.5)

    def _pair(self, label: str, text: str) -> None:
        self.need(_LEADING * _BODY)
        top = self.top - _LEADING * _BODY
        self._text(label, _MARGIN, top + 0.3 * _BODY, _BODY, bold=True)
        narrower = _QR_MM * _MM + 6.0 if self.top > self.link_foot else 0.0
        self.write(text, _BODY, left=_LABEL_WIDTH, narrower=narrower)
        self.down(1.0)

    def _grid(self, grid: Grid) -> None:
        self.down(max(self.top - self.link_foot, 0.0) + 3.0)  # as wide as the page: below the code
        self._row(grid, grid.head, bold=True)
        for row in grid.rows:
            self._row(grid, row)
        self.down(4.0)

    def _row(self, grid: Grid, row: tuple[str, ...], *, bold: bool = False) -> None:
        size = _SMALL
        share = self.room / sum(grid.widths)
        wide = [width * share for width in grid.widths]
        cells = [
            wrapped(cell, size, room - 6.0, bold=bold) if cell else []
            for cell, room in zip(row, wide, strict=True)
        ]
        lines = max([1, *map(len, cells)])
        high = max(grid.row_mm * _MM, lines * _LEADING * size + 5.0)
        if self.top - high < _MARGIN:
            self._turn()
            if not bold:
                self._row(grid, grid.head, bold=True)
        left = _MARGIN
        for cell, room in zip(cells, wide, strict=True):
            self._box(left, self.top - high, room, high, fill=None, edge=ASH)
            for n, line in enumerate(cell, 1):
                y = self.top - n * _LEADING * size
                self._text(line, left + 3.0, y, size, bold=bold)
            left += room
        self.top -= high

    def _box(
        self, x: float, y: float, wide: float, high: float, *, fill: str | None, edge: str | None
    ) -> None:
        page = self.pages[-1]
        page.add_artist(
            Rectangle(
                (x / self.width, y / self.height),
                wide / self.width,
                high / self.height,
                facecolor=fill or "none",
                edgecolor=edge or "none",
                lw=0.6 if edge else 0.0,
                transform=page.transFigure,
            )
        )

    def _text(self, line: str, x: float, y: float, size: float, *, bold: bool) -> None:
        self.pages[-1].text(
            x / self.width,
            y / self.height,
            drawable(line, self.lacking),
            size=size * self.scale,
            weight="bold" if bold else "normal",
            family=self.fonts,
            color=INK,
            va="baseline",
            parse_math=False,  # a dollar sign in the name of a jar is no formula
        )
