"""Draws a label for a bottle: the name as large as fits, the rest below it.

Sizes are in points (1/72 inch) unless the name says otherwise. No display, no global state.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, NamedTuple

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from ...errors import InputError
from ..label_text import as_lines
from .letters import drawable, fonts_for
from .page import A4_INCHES, INK, picture_path, save_picture

if TYPE_CHECKING:
    from pathlib import Path

    from matplotlib.text import Text

    from ...course.label import Label

__all__ = ["draw_label", "save_label", "save_labels"]

_INCHES: Final = (90.0 / 25.4, 70.0 / 25.4)
_EDGE: Final = 20.0  # margin that a printer leaves white
MOST_A_PAGE: Final = 24
_MARGIN: Final = 14.0
_GAP: Final = 8.0  # above and below the rule under the name
_NAME_SIZES: Final = (30.0, 26.0, 22.0, 18.0, 15.0, 12.0, 10.0, 8.0)
_NAME_SHARE: Final = 0.42  # largest share of the height within the margins
_BODY_SIZES: Final = (10.0, 9.0, 8.0, 7.0, 6.0, 5.0)
_LEADING: Final = 1.3


def save_label(label: Label, path: Path | str) -> tuple[Path, str]:
    """Draw a label and save it.

    Parameters
    ----------
    label : Label
    path : Path or str
        Ends in .svg, .pdf or .png.

    Returns
    -------
    path : Path
        Where it was saved.
    lacking : str
        Letters that no font here has, for each of which a ? is drawn.

    Raises
    ------
    InputError
        If the suffix is another, or the file cannot be written.
    """
    path = picture_path(path)
    figure = Figure(figsize=_INCHES)
    lacking = draw_label(label, figure)
    return save_picture(figure, path, dpi=300), lacking


def save_labels(label: Label, path: Path | str, *, per_page: int) -> tuple[Path, str]:
    """Draw an A4 page full of one label, to be cut along the frames, and save it.

    Parameters
    ----------
    label : Label
    path : Path or str
        Ends in .svg, .pdf or .png.
    per_page : int
        Labels on the page, 1 to `MOST_A_PAGE`.

    Returns
    -------
    path : Path
        Where it was saved.
    lacking : str
        Letters that no font here has, for each of which a ? is drawn.

    Raises
    ------
    InputError
        If the suffix or the number is wrong, or the file cannot be written.
    """
    path = picture_path(path)
    if not 1 <= per_page <= MOST_A_PAGE:
        raise InputError(f"{per_page} labels on a page of A4; write 1 to {MOST_A_PAGE}")
    figure = Figure(figsize=A4_INCHES)
    columns = 1 if per_page < 3 else 2 if per_page <= 10 else 3
    rows = math.ceil(per_page / columns)
    wide, high = (72.0 * side - 2.0 * _EDGE for side in A4_INCHES)
    lacking = ""
    for n in range(per_page):
        row, column = divmod(n, columns)
        place = _Place(
            left=_EDGE + column * wide / columns,
            foot=_EDGE + high - (row + 1) * high / rows,
            width=wide / columns,
            height=high / rows,
        )
        lacking = draw_label(label, figure, place)
    return save_picture(figure, path, dpi=150), lacking


class _Place(NamedTuple):
    """Where a label stands on a page."""

    left: float
    foot: float
    width: float
    height: float


def draw_label(label: Label, figure: Figure, place: _Place | None = None) -> str:
    """Draw a label that fills a figure, or a part of it.

    Parameters
    ----------
    label : Label
    figure : Figure
    place : tuple of float, optional
        Left, bottom, width and height; by default the whole figure.

    Returns
    -------
    str
        Letters that no font here has, for each of which a ? is drawn.
    """
    page = _Page(figure, place)
    body = as_lines(label, width=200)
    fonts, lacking = fonts_for("".join([label.name, *body]))
    name = drawable(label.name, lacking)
    top = page.height - _MARGIN
    room = top - _MARGIN
    size, lines = page.fitting(name, _NAME_SIZES, _NAME_SHARE * room, fonts, weight="bold")
    top = page.write(lines, top, size, fonts, weight="bold") - _GAP
    page.rule(top)
    top -= _GAP
    text = "\n".join(drawable(line, lacking) for line in body)
    size, lines = page.fitting(text, _BODY_SIZES, top - _MARGIN, fonts)
    page.write(lines, top, size, fonts)
    return lacking


class _Page:
    """A figure as a page in points, with 0 at the lower left."""

    def __init__(self, figure: Figure, place: _Place | None) -> None:
        self.figure = figure
        self.across, self.up = (72.0 * float(side) for side in figure.get_size_inches())
        self.place = place or _Place(0.0, 0.0, self.across, self.up)
        self.width, self.height = self.place.width, self.place.height
        self.canvas = FigureCanvasAgg(figure)
        edge = _MARGIN / 2.0
        figure.add_artist(
            Rectangle(
                self._at(edge, edge),
                (self.width - 2.0 * edge) / self.across,
                (self.height - 2.0 * edge) / self.up,
                fill=False,
                ec=INK,
                lw=0.8,
                transform=figure.transFigure,
            )
        )

    def _at(self, x: float, y: float) -> tuple[float, float]:
        """A point of the label as shares of the figure."""
        return (self.place.left + x) / self.across, (self.place.foot + y) / self.up

    def fitting(
        self,
        text: str,
        sizes: tuple[float, ...],
        room: float,
        fonts: list[str],
        *,
        weight: str = "normal",
    ) -> tuple[float, list[str]]:
        """Largest size at which the wrapped lines fit in a height; the smallest if none does."""
        for size in sizes:
            lines = [
                part
                for line in text.split("\n")
                for part in self._wrapped(line, size, fonts, weight)
            ]
            if len(lines) * _LEADING * size <= room:
                break
        return size, lines

    def write(
        self, lines: list[str], top: float, size: float, fonts: list[str], *, weight: str = "normal"
    ) -> float:
        """Write centred lines from a height down; give where they end."""
        for line in lines:
            top -= _LEADING * size
            self._text(line, top + 0.3 * size, size, fonts, weight)
        return top

    def rule(self, height: float) -> None:
        """Draw a short line across the middle."""
        corner = self._at(0.35 * self.width, height)
        wide = 0.30 * self.width / self.across
        self.figure.add_artist(
            Rectangle(corner, wide, 0.0, ec=INK, lw=0.6, transform=self.figure.transFigure)
        )

    def _text(self, line: str, y: float, size: float, fonts: list[str], weight: str) -> Text:
        # a dollar sign in the name of a jar is no formula
        return self.figure.text(
            *self._at(0.5 * self.width, y),
            line,
            size=size,
            weight=weight,
            family=fonts,
            color=INK,
            ha="center",
            va="baseline",
            parse_math=False,
        )

    def _wide(self, line: str, size: float, fonts: list[str], weight: str) -> float:
        drawn = self._text(line, 0.0, size, fonts, weight)
        box = drawn.get_window_extent(self.canvas.get_renderer())
        drawn.remove()
        return float(box.width) * 72.0 / self.figure.dpi

    def _wrapped(self, line: str, size: float, fonts: list[str], weight: str) -> list[str]:
        """Break a line at spaces, and a word that is too long anywhere."""
        most = self.width - 2.0 * _MARGIN
        parts = [""]
        for word in line.split():
            joined = f"{parts[-1]} {word}".strip()
            if self._wide(joined, size, fonts, weight) <= most:
                parts[-1] = joined
                continue
            if parts[-1]:
                parts.append("")
            for char in word:
                if parts[-1] and self._wide(parts[-1] + char, size, fonts, weight) > most:
                    parts.append("")
                parts[-1] += char
        return parts
