"""Draws a shelf, a small panel for each vessel: Axes in, the same Axes out; no display."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ...text import format_when
from ..date_text import days_text
from ..step_text import ANSWERS
from .counts import counted, draw_counts, floor_of
from .days import dated, draw_today, inches_wide, name_today
from .labels import Labels
from .layout import DOT, panels, settle
from .letters import drawable, fonts_for, wide
from .marks import draw_curve, draw_window, log_rates
from .page import INK, RUST, SIDE, SMALL, WIDTH_CM, new_axes, page, picture_path, save_picture

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime
    from pathlib import Path

    from matplotlib.axes import Axes

    from ...course.judgement import Judgement

__all__ = ["MOST_PANELS", "plot_shelf", "save_shelf"]

MOST_PANELS = 24  # on one page
_PANEL_INCHES = (2.2, 1.25)
_LEFT_INCHES, _WORDS_INCHES = 0.45, 0.2  # space for numbers at each panel, and at all of them
_NAMES_INCHES = 0.42  # above each panel
_NAME_SIZE = 9.0
_SHORTEST_NAME = 4
_NAMED = 12  # names of vessels left out; for more, only their number


def plot_shelf(
    judgements: Iterable[Judgement], axes: Sequence[Axes] | None = None
) -> Sequence[Axes]:
    """Draw each vessel on a panel: counts, curve, threshold, its name and its verdict.

    Parameters
    ----------
    judgements : iterable of Judgement
        As many as there are panels; used one by one, so that only one is in memory.
    axes : sequence of Axes, optional
        Where to draw, each with its own days and rates; by default in a new figure.

    Returns
    -------
    sequence of Axes
        Those drawn on.

    Examples
    --------
    >>> import bubblerate
    >>> jars = (bubblerate.read(f"examples/{name}.csv") for name in ("quince", "sloe"))
    >>> [ax.get_title(loc="left") for ax in bubblerate.plot_shelf(map(bubblerate.judge, jars))]
    ['quince: GO', 'sloe: WAIT']
    """
    if axes is None:
        judgements = [*judgements]
        axes = new_axes(len(judgements))
    for judgement, ax in zip(judgements, axes, strict=True):
        _draw(judgement, ax)
    return axes


def _draw(judgement: Judgement, ax: Axes) -> None:
    """One vessel on its panel."""
    visits, threshold = counted(judgement), judgement.verdict.threshold_per_min
    floor = floor_of(visits, threshold)
    draw_curve(ax, judgement, floor, few=True)
    slips = draw_counts(ax, visits, judgement, floor, size=3.0)
    ax.axhline(threshold, color=RUST, lw=SIDE, ls="--")
    draw_window(ax, judgement, width=4.0)
    log_rates(ax, floor, fine=False)
    dated(ax, judgement)
    draw_today(ax, judgement)
    ax.tick_params(labelsize=SMALL)
    labels = Labels(ax)
    name_today(labels, judgement)
    for x, y in slips:
        labels.by_mark(x, y, "mistake?")
    labels.along_level(threshold, "threshold", color=RUST)
    if not visits:
        ax.text(0.5, 0.6, "no bubbles counted", transform=ax.transAxes, ha="center")
    _name(ax, judgement)


def save_shelf(
    judgements: Iterable[Judgement],
    path: Path | str,
    *,
    vessels: int,
    at: datetime,
    left_out: Sequence[str] = (),
    width_cm: float = WIDTH_CM,
) -> Path:
    """Draw a panel for each vessel and save the picture.

    Parameters
    ----------
    judgements : iterable of Judgement
        Of the vessels to draw, in order.
    path : Path or str
        Ends in .png, .svg or .pdf.
    vessels : int
        Number of vessels, from 1 to `MOST_PANELS`.
    at : datetime
        The moment asked about.
    left_out : sequence of str
        Names of vessels that are not drawn, which the picture lists.
    width_cm : float
        Width of the picture.

    Returns
    -------
    Path
        Where it was saved.

    Raises
    ------
    InputError
        If the suffix is another, or the file cannot be written.
    """
    path = picture_path(path)
    width, height = _PANEL_INCHES
    columns = min(vessels, max(1, int(width_cm / 2.54 / width)))
    rows = math.ceil(vessels / columns)
    with page(width_cm, rows * height) as figure:
        grid = panels(
            figure,
            [height] * rows,
            columns,
            last=vessels - (rows - 1) * columns,
            left=_LEFT_INCHES,
            before=_WORDS_INCHES,
        )
        plot_shelf(judgements, [ax for row in grid for ax in row])
        settle(figure, grid, _title(vessels, at, left_out), over=[_NAMES_INCHES] * rows)
        at_edge = _WORDS_INCHES / figure.get_figwidth()
        figure.supylabel("bubbles a minute", x=at_edge, ha="right", fontsize=8.5)
        return save_picture(figure, path)


def _title(vessels: int, at: datetime, left_out: Sequence[str]) -> str:
    """How many vessels are drawn, and the names of the others."""
    if not left_out:
        return f"The shelf, {format_when(at)}"
    few = ", ".join(left_out[:_NAMED])
    more = f" and {len(left_out) - _NAMED} more" if len(left_out) > _NAMED else ""
    all_ = vessels + len(left_out)
    return f"The shelf, {format_when(at)}: {vessels} of {all_}\nnot drawn: {few}{more}"


def _name(ax: Axes, judgement: Judgement) -> None:
    """Name and verdict over a panel, with the day below; only a long name is cut."""
    v = judgement.verdict
    word = "bottled" if judgement.facts.acts.bottled_at is not None else ANSWERS[v.answer]
    families, lacking = fonts_for(v.vessel)
    room = inches_wide(ax) / DOT
    name = drawable(v.vessel, lacking)
    while wide(f"{name}: {word}", _NAME_SIZE) > room and len(name) > _SHORTEST_NAME:
        name = name.removesuffix("..")[:-1].rstrip() + ".."
    ax.set_title(
        f"{name}: {word}",
        loc="left",
        pad=1.3 * SMALL + 6.0,
        color=INK,
        fontsize=_NAME_SIZE,
        parse_math=False,
        fontfamily=families,
    )
    ax.annotate(
        days_text(judgement),
        (0.0, 1.0),
        xycoords="axes fraction",
        xytext=(0.0, 4.0),
        textcoords="offset points",
        fontsize=SMALL,
    )
