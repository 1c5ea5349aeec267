"""Draws the panel of gravity below the counts: readings, fit, finish."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import matplotlib.dates as mdates
import numpy as np
from matplotlib.ticker import FuncFormatter

from ...ferment.bands import gravity_bands
from ...ferment.priors import READING_SD_POINTS
from .days import dated, draw_today, inches_wide, name_today, right_edge
from .labels import Labels
from .page import BARS, INK, LEAF, SEA, SIDE, axes_or_new

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from matplotlib.axes import Axes

    from ...course.judgement import Judgement
    from ...ferment.chances import Span
    from ...ferment.fit import Fit
    from ...ferment.gravity import Reading

__all__ = ["plot_gravity"]

_LABEL_INCHES = 0.45  # labels of readings closer than this would collide
_NAMED_AT = 30  # of 160 places along the curve: high, but not at the start


def plot_gravity(judgement: Judgement, ax: Axes | None = None) -> Axes:
    """Draw the corrected readings, the gravity of the joint fit, and the finish.

    Parameters
    ----------
    judgement : Judgement
    ax : Axes, optional
        Where to draw; by default in a new figure.

    Returns
    -------
    Axes
        The one drawn on.

    Notes
    -----
    The fit forecasts gravity once it uses a reading of the tail. If gravity shows that the bubbles
    mislead, it is left out.

    Examples
    --------
    >>> import bubblerate
    >>> ax = bubblerate.plot_gravity(bubblerate.judge(bubblerate.read("examples/quince.csv")))
    >>> ax.get_ylabel()
    'gravity, SG'
    """
    ax = axes_or_new(ax)
    g, f, fit = judgement.gravity, judgement.forecast, judgement.fit
    ax.set_ylabel("gravity, SG")
    ax.yaxis.set_major_formatter(FuncFormatter(lambda y, _: f"{y:.3f}"))
    ax.margins(y=0.25)
    dated(ax, judgement)
    draw_today(ax, judgement)
    if g is None:
        name_today(Labels(ax), judgement)
        return ax
    ax.axhline(g.finish_sg, color=LEAF, lw=SIDE, ls=":")
    trusted = fit is not None and not (fit.distrust or g.leak or g.gas_only)
    end, curve = right_edge(judgement), None
    if fit is not None and trusted and len(fit.evidence.reading_days):
        curve = _gravity_by_fit(ax, fit, end)
    at_end = f.finish_sg if f is not None and trusted else None
    if at_end is not None:
        _forecast_finish(ax, at_end, end)
    _draw_readings(ax, g.readings)
    labels = Labels(ax)
    name_today(labels, judgement)
    if at_end is not None:
        labels.by_mark(float(mdates.date2num(end)), at_end.median, "forecast, 80 %")
    if curve is not None:
        labels.by_mark(*curve, "by fit, 80 %")
    whose = "likely" if g.said_finish_sg is None else "as you set it"
    labels.along_level(g.finish_sg, f"finish, {whose}", color=LEAF)
    _name_readings(labels, ax, g.readings)
    return ax


def _gravity_by_fit(ax: Axes, fit: Fit, end: datetime) -> tuple[float, float]:
    """Draw the median and 80 % band from counts and readings; give a place high on it."""
    days = np.linspace(0.0, fit.tail.day_of(end), 160)
    low, median, high = gravity_bands(fit, days, [0.1, 0.5, 0.9])
    when = mdates.date2num([fit.tail.start + timedelta(days=float(d)) for d in days])
    ax.fill_between(when, low, high, color=SEA, alpha=0.2, lw=0)
    ax.plot(when, median, color=SEA, lw=SIDE, ls=(0, (4, 1)))
    return float(when[_NAMED_AT]), float(median[_NAMED_AT])


def _forecast_finish(ax: Axes, finish_sg: Span, end: datetime) -> None:
    """Draw a square with its 80 % interval at the right edge, where nothing is read yet."""
    middle = finish_sg.median
    reach = [[middle - finish_sg.low80], [finish_sg.high80 - middle]]
    at = mdates.date2num([end])
    ax.errorbar(at, [middle], yerr=reach, fmt="s", color=INK, capsize=3)


def _draw_readings(ax: Axes, readings: Sequence[Reading]) -> None:
    """Draw diamonds with the error of a reading."""
    ax.errorbar(
        mdates.date2num([reading.when for reading in readings]),
        [reading.sg for reading in readings],
        yerr=READING_SD_POINTS / 1000.0,
        fmt="D",
        color=INK,
        mfc="white",
        lw=BARS,
        capsize=2,
        zorder=3,
    )


def _name_readings(labels: Labels, ax: Axes, readings: Sequence[Reading]) -> None:
    """Write the number beside readings that have room for it, and always for the newest."""
    low, high = ax.get_xlim()
    gap = timedelta(days=(high - low) * _LABEL_INCHES / inches_wide(ax))
    for i, reading in enumerate(_apart(readings, gap)):
        x = float(mdates.date2num(reading.when))
        labels.by_mark(x, reading.sg, f"{reading.sg:.3f} read", must=i == 0)


def _apart(readings: Sequence[Reading], gap: timedelta) -> list[Reading]:
    """Readings at least a gap apart, the latest first."""
    chosen: list[Reading] = []
    for reading in reversed(readings):
        if not chosen or chosen[-1].when - reading.when >= gap:
            chosen.append(reading)
    return chosen
