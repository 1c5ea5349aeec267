"""Places the panels, title and key of a picture.

Sizes are in inches. Letters have one size and the panels' sizes are given, so all places are known
before drawing, and nothing is laid out twice.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING, Final, cast

from matplotlib.legend_handler import HandlerTuple

from .letters import drawable, fonts_for, wide, wrapped
from .page import RC, SMALL

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["DOT", "panels", "settle"]

DOT: Final = 1.0 / 72.0  # a point

_EDGE: Final = 0.08  # margin of the page
_LEFT: Final = 0.72  # below a panel: numbers, and what they are
_RIGHT: Final = 0.14
_SLACK: Final = 0.95  # of a line: letters drawn on whole dots are a little wider
_LINE: Final = 1.3  # from line to line, as a share of the size of the letters
_KEY_ROW: Final = 1.5 * SMALL * DOT
_KEY_GAP: Final = 0.06
_BESIDE_WORDS: Final = 4.0 * SMALL  # mark and gaps beside the words in a key [points]
_TICK: Final = 9.0 * DOT  # the mark of a day, and the gap to its name


def panels(
    figure: Figure,
    heights: Sequence[float],
    columns: int = 1,
    *,
    last: int | None = None,
    left: float = _LEFT,
    before: float = 0.0,
    shared: bool = False,
) -> list[list[Axes]]:
    """Put panels on a page, filling its width.

    Parameters
    ----------
    figure : Figure
        Of `page.page`.
    heights : sequence of float, length r
        Heights of the rows, from the top [inches].
    columns : int
    last : int, optional
        Panels of the last row, which may have fewer than the others.
    left : float
        Space on the left of each panel [inches].
    before : float
        Space on the left of all panels [inches].
    shared : bool
        Whether panels in a column share their x axis, which is written below the last.

    Returns
    -------
    list of list of Axes
        By row; `settle` gives them their place on the page.
    """
    across, down = figure.get_size_inches()
    wide_each = (across - before - _RIGHT) / columns
    rows: list[list[Axes]] = []
    for i, height in enumerate(heights):
        row: list[Axes] = []
        for j in range(columns if last is None or i + 1 < len(heights) else last):
            place = (
                (before + j * wide_each + left) / across,
                0.1,
                (wide_each - left) / across,
                height / down,
            )
            row.append(figure.add_axes(place, sharex=rows[0][j] if shared and rows else None))
            if shared and i + 1 < len(heights):
                row[-1].tick_params(labelbottom=False)
        rows.append(row)
    return rows


def settle(
    figure: Figure,
    rows: Sequence[Sequence[Axes]],
    title: str,
    *,
    over: Sequence[float] = (),
    key: bool = True,
) -> None:
    """Write title and key, and give each row the space it needs; the page gets as long.

    Parameters
    ----------
    figure : Figure
        Of `page.page`.
    rows : sequence of sequence of Axes
        From `panels`, drawn. The last of a row may be missing.
    title : str
        A dollar sign in it is no formula; its line ends are kept. A tab is the first place to break
        a line that is too long.
    over : sequence of float
        Space above each row [inches]; none if not given.
    key : bool
        Whether to explain the marks below the panels.
    """
    across, down = figure.get_size_inches()
    size = float(str(RC["figure.titlesize"]))
    families, lacking = fonts_for(title)
    room = _SLACK * (across - 2.0 * _EDGE) / DOT
    lines = [part for line in title.split("\n") for part in _parted(line, lacking, size, room)]
    tops, y = [], _EDGE + len(lines) * _LINE * size * DOT + _EDGE
    for i, row in enumerate(rows):
        y += over[i] if i < len(over) else 0.0
        tops.append(y)
        y += _height(row[0], down) + max(map(_under, row))
    named = _named(figure) if key else {}
    columns, deep = _key_size(list(named), across)
    total = y + deep + _EDGE
    for row, top in zip(rows, tops, strict=True):
        for ax in row:
            box, height = ax.get_position(), _height(ax, down)
            ax.set_position((box.x0, 1.0 - (top + height) / total, box.width, height / total))
    figure.set_figheight(total)
    place = {"x": 0.5, "y": 1.0 - _EDGE / total, "va": "top"}
    figure.suptitle("\n".join(lines), parse_math=False, fontfamily=families, **place)
    if named:
        figure.legend(
            cast("list[Artist]", [*named.values()]),  # marks in a tuple, one over the other
            [*named],
            loc="lower center",
            ncols=columns,
            borderaxespad=0.0,
            bbox_to_anchor=(0.5, _EDGE / total),
            handler_map={tuple: HandlerTuple(ndivide=1, pad=0.0)},
        )


def _parted(line: str, lacking: str, size: float, room: float) -> list[str]:
    """Break a line of a title into as many as needed, first at its tabs."""
    whole = drawable(line.replace("\t", " "), lacking)
    if wide(whole, size) <= room:
        return [whole]
    parts = (drawable(part, lacking) for part in line.split("\t"))
    return [piece for part in parts for piece in wrapped(part, size, room)]


def _height(ax: Axes, down: float) -> float:
    return float(ax.get_position().height * down)


def _under(ax: Axes) -> float:
    """Space below a panel: dates or numbers, and what they are."""
    labelled = ax.xaxis.get_tick_params()["labelbottom"]
    names = ax.xaxis.get_major_formatter().format_ticks([*ax.get_xticks()]) if labelled else []
    lines = max((name.count("\n") + 1 for name in names), default=0)
    named = 1 if ax.get_xlabel() else 0
    size = float(str(RC["font.size"]))
    return float(_TICK + (lines + named) * _LINE * size * DOT)


def _named(figure: Figure) -> dict[str, tuple[Artist, ...]]:
    """Collect marks by meaning, once for all panels; what belongs to a mark is drawn under it.

    An underscore before a name means that an artist belongs to another; the library leaves such
    names out of keys.
    """
    named: dict[str, tuple[Artist, ...]] = {}
    for ax in figure.axes:
        for handle, label in zip(*ax.get_legend_handles_labels(), strict=True):
            if label not in named:
                under = [a for a in ax.get_children() if a.get_label() == f"_{label}"]
                named[str(label)] = (*under, handle)
    return named


def _key_size(names: Sequence[str], across: float) -> tuple[int, float]:
    """Columns of a key, as many as fit on the page, and its height."""
    if not names:
        return 1, 0.0
    each = [(wide(name, SMALL) + _BESIDE_WORDS) * DOT for name in names]
    for columns in range(len(names), 0, -1):
        rows = math.ceil(len(names) / columns)
        # columns are filled one by one; the first ones may be longer
        ends = [0]
        for i in range(columns):
            ends.append(ends[-1] + len(names) // columns + (i < len(names) % columns))
        if sum(max(each[a:b]) for a, b in pairwise(ends)) <= across - 2.0 * _EDGE:
            break
    return columns, _KEY_GAP + rows * _KEY_ROW
