"""Draws several ferments for comparison: Axes in, the same Axes out; no display.

Days on the x axis, bubbles a minute and SG on the y axes. Each ferment has its own mark and line
besides its colour, so that a grey print is readable.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, Final

from matplotlib.ticker import FuncFormatter

from ...text import format_day, format_rate
from ..beside_text import beside_title
from .layout import panels, settle
from .marks import log_rates
from .page import (
    ASH,
    INK,
    LEAF,
    RUST,
    SEA,
    SIDE,
    WIDTH_CM,
    page,
    picture_path,
    save_picture,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matplotlib.axes import Axes

    from ...course.season import By, Season

__all__ = ["MOST_BESIDE", "plot_beside", "save_beside"]

_LOOKS: Final = (
    (INK, "o", "-", True),
    (SEA, "s", "--", False),
    (LEAF, "^", "-.", True),
    (ASH, "D", (0, (4, 1, 1, 1, 1, 1)), True),
)
MOST_BESIDE: Final = len(_LOOKS)
_INCHES: Final = (2.7, 1.3)
_LEAST_PER_MIN: Final = 0.05  # what is slower, or zero, is drawn at the bottom


def plot_beside(
    seasons: Sequence[Season], rates: Axes, gravities: Axes, *, threshold_per_min: float, by: By
) -> tuple[Axes, Axes]:
    """Draw counts and gravities of several ferments over the same days.

    Parameters
    ----------
    seasons : sequence of Season
        Up to `MOST_BESIDE`.
    rates, gravities : Axes
        Drawn on.
    threshold_per_min : float
        Bubbles a minute.
    by : {"pitching", "year"}
        What days are counted from.

    Returns
    -------
    rates, gravities : Axes
        The same.
    """
    for one, (colour, mark, line, full) in zip(seasons, _LOOKS, strict=False):
        look: dict[str, Any] = {
            "color": colour,
            "marker": mark,
            "ls": line,
            "mfc": colour if full else "white",
            "label": f"{one.vessel}, {format_day(one.began)}",
        }
        days = [one.offset_days + day for day, _ in one.counts]
        rates.plot(days, [max(n, _LEAST_PER_MIN) for _, n in one.counts], **look, lw=SIDE, ms=3.5)
        days = [one.offset_days + day for day, _ in one.gravities]
        gravities.plot(days, [sg for _, sg in one.gravities], **look, lw=SIDE)
    label = f"threshold, {format_rate(threshold_per_min)}"
    rates.axhline(threshold_per_min, color=RUST, lw=SIDE, ls=(0, (1, 1)), label=label)
    log_rates(rates, _LEAST_PER_MIN)
    rates.set_ylabel("bubbles a minute (none: at the foot)")
    gravities.set_ylabel("gravity, SG")
    gravities.yaxis.set_major_formatter(FuncFormatter(lambda y, _: f"{y:.3f}"))
    _days(gravities, by)
    return rates, gravities


def _days(ax: Axes, by: By) -> None:
    if by == "pitching":
        ax.set_xlabel("days since pitching")
        return
    new_year = date(2026, 1, 1)  # any year that is no leap year
    ax.xaxis.set_major_formatter(
        FuncFormatter(lambda x, _: format_day(new_year + timedelta(days=x - 1), year=False))
    )
    ax.set_xlabel("day of the year")


def save_beside(
    seasons: Sequence[Season],
    path: Path | str,
    *,
    threshold_per_min: float,
    by: By,
    width_cm: float = WIDTH_CM,
) -> Path:
    """Draw several ferments for comparison, and save the picture.

    Parameters
    ----------
    seasons : sequence of Season
    path : Path or str
        Ends in .png, .svg or .pdf.
    threshold_per_min : float
        Bubbles a minute.
    by : {"pitching", "year"}
        What days are counted from.
    width_cm : float

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
    with page(width_cm, sum(_INCHES)) as figure:
        rows = panels(figure, _INCHES, shared=True)
        (rates,), (gravities,) = rows
        plot_beside(seasons, rates, gravities, threshold_per_min=threshold_per_min, by=by)
        settle(figure, rows, beside_title([one.vessel for one in seasons]))
        return save_picture(figure, path)
