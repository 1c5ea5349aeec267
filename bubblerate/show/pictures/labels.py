"""Writes words at a line or a mark, placed so that they cover nothing.

Places are tried in the order given; the first free one is used, or the one that covers least. Sizes
are in inches from the lower left of a panel, whose limits must be set before.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from matplotlib.collections import LineCollection
from numpy.typing import NDArray

from .layout import DOT
from .letters import wide
from .page import INK, SMALL

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from matplotlib.axes import Axes
    from matplotlib.text import Text

__all__ = ["Labels"]

Floats = NDArray[np.float64]

_HIGH: Final = 1.2 * SMALL * DOT  # height of a line of letters
_GAP: Final = 2.5 * DOT  # gap between words and what they name
_MARK: Final = 4.0 * DOT  # from the middle of a mark to its edge
_STEP: Final = 0.03  # steps at which a line is checked
_PLACES: Final = 25  # places tried along a line


class Labels:
    """What is drawn on a panel, and the words added since.

    Parameters
    ----------
    ax : Axes
        With all its lines and marks; what is drawn later is not considered.
    """

    def __init__(self, ax: Axes) -> None:
        self.ax = ax
        for limits in (ax.get_xlim, ax.get_ylim):
            limits()  # asking for them makes the library fix them
        box = ax.get_window_extent()
        self._to = ax.transAxes
        self._size = np.array([box.width, box.height]) / ax.figure.dpi
        self._drawn = self._within(self._samples())
        self._words: list[tuple[float, float, float, float]] = []

    def beside_upright(self, x: float, text: str, **look: str) -> Text:
        """Label an upright line at a place on the x axis: if possible on its right, and high."""
        at, _ = self._inches(np.array([[x, 0.0]]), self.ax.get_xaxis_transform())[0]
        downwards = np.linspace(self._size[1] - _HIGH, 0.0, _PLACES)
        across = wide(text, SMALL) * DOT
        spots = [(left, y) for left in (at + _GAP, at - _GAP - across) for y in downwards]
        return self._put(text, spots, **look)

    def along_level(self, y: float, *texts: str, **look: str) -> Text:
        """Label a level line at a place on the y axis: if possible above it, and on the left.

        The first text that finds a free place is used, or the last.
        """
        _, at = self._inches(np.array([[0.0, y]]), self.ax.get_yaxis_transform())[0]
        for text in texts:
            across = wide(text, SMALL) * DOT
            lefts = np.linspace(_GAP, self._size[0] - across, _PLACES)
            feet = (at + 0.5 * _GAP, at - _HIGH - 0.5 * _GAP)
            spots = [(x, foot) for foot in feet for x in lefts]
            if self._free(spots, across):
                break
        return self._put(text, spots, **look)

    def by_mark(self, x: float, y: float, text: str, *, must: bool = True) -> Text | None:
        """Label a mark: above, below, or beside it.

        Parameters
        ----------
        x, y : float
            Of the mark, in the units of the axes.
        text : str
        must : bool
            Whether to label it even if that covers something.
        """
        ((x, y),) = self._inches(np.array([[x, y]]), self.ax.transData)
        across, gap = wide(text, SMALL) * DOT, _MARK + _GAP
        upwards = (gap, -gap - _HIGH, gap + _HIGH, -gap - 2.0 * _HIGH)
        lefts = (-0.5 * across, -across - gap, gap)
        spots = [(x + left, y + foot) for foot in upwards[:2] for left in lefts]
        spots += [(x + left, y - 0.5 * _HIGH) for left in lefts[1:]]
        spots += [(x + left, y + foot) for foot in upwards[2:] for left in lefts]
        if not must and not self._free(spots, across):
            return None
        return self._put(text, spots)

    def _put(self, text: str, spots: Sequence[tuple[float, float]], color: str = INK) -> Text:
        across = wide(text, SMALL) * DOT
        # at the panel's edge a place moves inwards, where it may cover something else
        boxes = [self._box(spot, across) for spot in spots]
        best = min(boxes, key=self._covers)
        self._words.append(best)
        left, foot = np.array(best[:2]) / self._size
        return self.ax.text(
            left,
            foot,
            text,
            transform=self._to,
            fontsize=SMALL,
            color=color,
            ha="left",
            va="bottom",
            zorder=4,
            bbox={"boxstyle": "square,pad=0.05", "fc": "white", "ec": "none", "alpha": 0.6},
        )

    def _free(self, spots: Sequence[tuple[float, float]], across: float) -> bool:
        return any(self._covers(self._box(spot, across)) == 0 for spot in spots)

    def _box(self, spot: tuple[float, float], across: float) -> tuple[float, float, float, float]:
        """Box of a text with its lower left at a spot, moved onto the panel: x0, y0, x1, y1."""
        left = float(np.clip(spot[0], _GAP, max(self._size[0] - across, _GAP)))
        foot = float(np.clip(spot[1], _GAP, max(self._size[1] - _HIGH, _GAP)))
        return left, foot, left + across, foot + _HIGH

    def _covers(self, box: tuple[float, float, float, float]) -> int:
        """How much of the drawing, or of other words, is in a box."""
        x0, y0, x1, y1 = box
        x, y = self._drawn.T
        inside = int(np.sum((x > x0) & (x < x1) & (y > y0) & (y < y1)))
        others = sum(x0 < b[2] and b[0] < x1 and y0 < b[3] and b[1] < y1 for b in self._words)
        return inside + 100 * others

    def _inches(self, points: Floats, transform: object) -> Floats:
        """Convert points to inches on the panel."""
        shown = transform.transform(points)  # type: ignore[attr-defined]
        return np.asarray(self._to.inverted().transform(shown) * self._size, float)

    def _samples(self) -> Iterator[Floats]:
        """Points close to each other along all that is drawn."""
        for line in self.ax.lines:
            if len(at := np.asarray(line.get_xydata(), float)):
                points = self._inches(at, line.get_transform())
                marks = line.get_linestyle() in ("None", "none", "")
                high = 0.5 * line.get_linewidth() * DOT
                for up in (-high, high):
                    yield (_around(points) if marks else _along(points)) + (0.0, up)
        for drawn in self.ax.collections:
            if isinstance(drawn, LineCollection) and len(segments := drawn.get_segments()):
                gap = np.full((1, 2), np.nan)  # they are looked at as one line with gaps
                parts = [part for segment in segments for part in (np.asarray(segment), gap)]
                yield _along(self._inches(np.concatenate(parts), drawn.get_transform()))

    def _within(self, parts: Iterable[Floats]) -> Floats:
        points = np.concatenate([np.empty((0, 2)), *parts])
        return np.asarray(points[np.all((points >= 0.0) & (points <= self._size), axis=1)])


def _around(points: Floats) -> Floats:
    """The middle of marks, and four points on their edge."""
    edge = 0.6 * _MARK * np.array([(0, 0), (1, 0), (-1, 0), (0, 1), (0, -1)], float)
    return np.asarray((points[:, None, :] + edge).reshape(-1, 2), float)


def _along(points: Floats) -> Floats:
    """Points along a line, at most a step apart; a line with a gap is two."""
    start, end = points[:-1], points[1:]
    whole = np.all(np.isfinite(start) & np.isfinite(end), axis=1)
    start, end = start[whole], end[whole]
    if not len(start):
        return np.empty((0, 2))
    steps = np.clip(np.ceil(np.abs(end - start).max(axis=1) / _STEP), 1, 400).astype(int)
    before = np.repeat(np.cumsum(steps) - steps, steps)
    share = (np.arange(len(before)) - before) * np.repeat(1.0 / steps, steps)
    way = np.repeat(end - start, steps, axis=0)
    return np.asarray(np.repeat(start, steps, axis=0) + share[:, None] * way, float)
