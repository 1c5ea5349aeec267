"""The panel of the gravity below the counts: what was read, the fit, the finish."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import matplotlib.dates as mdates
import numpy as np
from matplotlib.ticker import FuncFormatter

from ...ferment.bands import gravity_bands
from ...ferment.priors import READING_SD_POINTS
from .marks import dated, inches_wide, right_edge
from .page import BARS, INK, LEAF, SEA, SIDE, SMALL, axes_or_new

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from matplotlib.axes import Axes

    from ...ferment.chances import Span
    from ...ferment.fit import Fit
    from ...ferment.gravity import Reading
    from ...verdict.judgement import Judgement

__all__ = ["plot_gravity"]

_LABEL_INCHES = 0.45  # labels of readings nearer than this would collide
_EDGE = 0.1  # of the width


def plot_gravity(judgement: Judgement, ax: Axes | None = None) -> Axes:
    """Draw the gravity read, corrected, the gravity of the joint fit, and the finish.

    Parameters
    ----------
    judgement : Judgement
    ax : Axes, optional
        Drawn on; by default one of a figure of its own.

    Returns
    -------
    Axes
        The one drawn on.

    Notes
    -----
    The fit forecasts gravity once a reading of the tail takes part in it; where gravity shows that
    the bubbles mislead it is left out.

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
    if g is None:
        return ax
    whose = "likely" if g.said_finish_sg is None else "as you set it"
    ax.axhline(g.finish_sg, color=LEAF, lw=SIDE, ls=":", label=f"finish, {whose}")
    if fit is not None and not (fit.distrust or g.leak or g.gas_only):
        end = right_edge(judgement)
        if len(fit.evidence.reading_days):
            _gravity_by_fit(ax, fit, end)
        if f is not None and f.finish_sg is not None:
            _forecast_finish(ax, f.finish_sg, end)
    _readings(ax, g.readings)
    return ax


def _gravity_by_fit(ax: Axes, fit: Fit, end: datetime) -> None:
    """Median and 80 % band of the gravity that counts and readings together make likely."""
    days = np.linspace(0.0, fit.tail.day_of(end), 160)
    low, median, high = gravity_bands(fit, days, [0.1, 0.5, 0.9])
    when = mdates.date2num([fit.tail.start + timedelta(days=float(d)) for d in days])
    label = "gravity by fit, 80 %"
    ax.fill_between(when, low, high, color=SEA, alpha=0.2, lw=0, label=label)
    ax.plot(when, median, color=SEA, lw=SIDE, ls=(0, (4, 1)), label="gravity by fit")


def _forecast_finish(ax: Axes, finish_sg: Span, end: datetime) -> None:
    """A square with its 80 % interval at the right edge, where nothing is read yet."""
    middle = finish_sg.median
    ax.errorbar(
        mdates.date2num([end]),
        [middle],
        yerr=[[middle - finish_sg.low80], [finish_sg.high80 - middle]],
        fmt="s",
        color=INK,
        capsize=3,
        label="forecast finish, 80 %",
    )


def _readings(ax: Axes, readings: Sequence[Reading]) -> None:
    """Diamonds with the error of a reading, and the number beside those that have room for it."""
    ax.errorbar(
        mdates.date2num([reading.when for reading in readings]),
        [reading.sg for reading in readings],
        yerr=READING_SD_POINTS / 1000.0,
        fmt="D",
        color=INK,
        mfc="white",
        lw=BARS,
        capsize=2,
        label="gravity read",
        zorder=3,
    )
    low, high = ax.get_xlim()
    gap = timedelta(days=(high - low) * _LABEL_INCHES / inches_wide(ax))
    for reading in _apart(readings, gap):
        x = float(mdates.date2num(reading.when))
        ax.annotate(
            f"{reading.sg:.3f}",
            (x, reading.sg),
            xytext=(0, 6),
            textcoords="offset points",
            ha=_beside((x - low) / (high - low)),
            fontsize=SMALL,
            bbox={"boxstyle": "square,pad=0.1", "fc": "white", "ec": "none", "alpha": 0.7},
        )


def _beside(share: float) -> str:
    """How a label is set at a share of the width, so that it stays on the panel."""
    return "left" if share < _EDGE else "right" if share > 1.0 - _EDGE else "center"


def _apart(readings: Sequence[Reading], gap: timedelta) -> list[Reading]:
    """Readings no nearer to each other than a gap, the latest first."""
    chosen: list[Reading] = []
    for reading in reversed(readings):
        if not chosen or chosen[-1].when - reading.when >= gap:
            chosen.append(reading)
    return chosen
