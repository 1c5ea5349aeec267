"""Picture of the gravity beside what counts and gravity together make of it: Axes in and out."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import matplotlib.dates as mdates
import numpy as np
from matplotlib.ticker import FuncFormatter

from ...ferment.forecast import gravity_bands
from ...ferment.priors import READING_SD_POINTS
from .style import BARS, INK, LEAF, SEA, SIDE, SMALL
from .time_axis import dated, inches_wide, right_edge

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from ...ferment.gravity import Reading
    from ...verdict.judgement import Judgement

__all__ = ["plot_gravity"]

_LABEL_INCHES = 0.45  # labels of readings nearer than this would collide
_EDGE = 0.1  # of the width


def plot_gravity(judgement: Judgement, ax: Axes) -> Axes:
    """Draw the gravity read, corrected, the gravity of the joint fit, and the finish.

    Parameters
    ----------
    judgement : Judgement
    ax : Axes
        Drawn on.

    Returns
    -------
    Axes
        The same.

    Notes
    -----
    The fit foretells gravity once a reading of the tail takes part in it; where gravity shows that
    the bubbles mislead it is left out.
    """
    g, f, fit = judgement.gravity, judgement.forecast, judgement.fit
    ax.set_ylabel("gravity, SG")
    ax.yaxis.set_major_formatter(FuncFormatter(lambda y, _: f"{y:.3f}"))
    ax.margins(y=0.25)
    dated(ax, judgement)
    if g is None:
        return ax
    known = "expected" if g.finish_known else "usual"
    ax.axhline(g.finish_sg, color=LEAF, lw=SIDE, ls=":", label=f"finish, {known}")
    told = fit is not None and not (fit.distrust or g.leak or g.gas_only)
    if told and fit is not None and len(fit.evidence.reading_days):
        days = np.linspace(0.0, fit.tail.day_of(right_edge(judgement)), 160)
        low, median, high = gravity_bands(fit, days, [0.1, 0.5, 0.9])
        when = mdates.date2num([fit.tail.start + timedelta(days=float(d)) for d in days])
        label = "gravity by fit, 80 %"
        ax.fill_between(when, low, high, color=SEA, alpha=0.2, lw=0, label=label)
        ax.plot(when, median, color=SEA, lw=SIDE, ls=(0, (4, 1)), label="gravity by fit")
    if told and f is not None and f.finish_sg is not None:
        low80, mid, high80 = f.finish_sg.low80, f.finish_sg.median, f.finish_sg.high80
        ax.errorbar(
            mdates.date2num([right_edge(judgement)]),  # where nothing is read yet
            [mid],
            yerr=[[mid - low80], [high80 - mid]],
            fmt="s",
            color=INK,
            capsize=3,
            label="finish foretold, 80 %",
        )
    _readings(ax, g.readings)
    return ax


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
        ax.annotate(
            f"{reading.sg:.3f}",
            (float(mdates.date2num(reading.when)), reading.sg),
            xytext=(0, 6),
            textcoords="offset points",
            ha=_beside((float(mdates.date2num(reading.when)) - low) / (high - low)),
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
