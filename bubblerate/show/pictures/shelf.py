"""Picture of a shelf, a small panel for each vessel: Axes in, the same Axes out; no display."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ...text import format_rate, format_when
from .marks import (
    counted,
    dated,
    draw_counts,
    draw_curve,
    draw_window,
    floor_of,
    inches_wide,
    log_rates,
)
from .page import (
    INK,
    RUST,
    SIDE,
    SMALL,
    WIDTH_CM,
    drawable,
    fonts_for,
    new_axes,
    page,
    picture_path,
    save_picture,
    with_key,
    with_title,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime
    from pathlib import Path

    from matplotlib.axes import Axes

    from ...verdict.judgement import Judgement

__all__ = ["MOST_PANELS", "plot_shelf", "save_shelf"]

MOST_PANELS = 24  # on one page
_PANEL_INCHES = (2.2, 1.75)
_NAMED = 12  # vessels left out, of which more are only numbered
_LETTER = 0.5  # mean width of a letter, as a share of its size; panels grow wider yet


def plot_shelf(
    judgements: Iterable[Judgement], axes: Sequence[Axes] | None = None
) -> Sequence[Axes]:
    """Draw each vessel on a panel: counts, curve, threshold, its name and its verdict.

    Parameters
    ----------
    judgements : iterable of Judgement
        As many as there are panels; taken one by one, so that no more than one need be held.
    axes : sequence of Axes, optional
        Drawn on, each with its own days and rates; by default those of a figure of its own.

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
        visits = counted(judgement)
        threshold = judgement.verdict.threshold_per_min
        floor = floor_of(visits, threshold)
        draw_curve(ax, judgement, floor)
        draw_counts(ax, visits, judgement, floor, size=3.0)
        label = f"threshold, {format_rate(threshold)}"
        ax.axhline(threshold, color=RUST, lw=SIDE, ls="--", label=label)
        draw_window(ax, judgement, width=4.0)
        log_rates(ax, floor)
        dated(ax, judgement)
        ax.tick_params(labelsize=SMALL)
        if not visits:
            ax.text(0.5, 0.6, "no bubbles counted", transform=ax.transAxes, ha="center")
        _name(ax, judgement)
    return axes


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
        Of the vessels to be drawn, in order.
    path : Path or str
        Ends in .png, .svg or .pdf.
    vessels : int
        How many they are, from 1 to `MOST_PANELS`.
    at : datetime
        The moment asked about.
    left_out : sequence of str
        Names of the vessels that are not drawn, which the picture says.
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
    with page(width_cm, rows * height + 0.5) as figure:
        axes = [*figure.subplots(rows, columns, squeeze=False).ravel()]
        for ax in axes[vessels:]:
            ax.remove()
        plot_shelf(judgements, axes[:vessels])
        figure.supylabel("bubbles a minute", fontsize=8.5)
        with_key(figure)
        with_title(figure, _title(vessels, at, left_out))
        return save_picture(figure, path)


def _title(vessels: int, at: datetime, left_out: Sequence[str]) -> str:
    """How many vessels of how many, and the names of the others."""
    if not left_out:
        return f"The shelf, {format_when(at)}"
    few = ", ".join(left_out[:_NAMED])
    more = f" and {len(left_out) - _NAMED} more" if len(left_out) > _NAMED else ""
    all_ = vessels + len(left_out)
    return f"The shelf, {format_when(at)}: {vessels} of {all_}\nnot drawn: {few}{more}"


def _name(ax: Axes, judgement: Judgement) -> None:
    """Name and verdict over a panel; a long name is cut, the verdict never."""
    v = judgement.verdict
    word = "bottled" if judgement.facts.acts.bottled_at is not None else v.answer.upper()
    fitting = int(72.0 * inches_wide(ax) / (_LETTER * 9.0)) - len(word) - 2
    name = v.vessel if len(v.vessel) <= fitting else v.vessel[: fitting - 2].rstrip() + ".."
    families, lacking = fonts_for(name)
    title = f"{drawable(name, lacking)}: {word}"
    ax.set_title(title, loc="left", color=INK, parse_math=False, fontfamily=families)
