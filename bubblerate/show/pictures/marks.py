"""Draws parts of the pictures of a tail: the scale, the fitted curve, the days of crossing.

Times on the x axis, rates in bubbles a minute on the y axis with a given bottom: on a log axis,
lower rates are drawn at the bottom.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Final

import matplotlib.dates as mdates
import numpy as np
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter, NullLocator
from numpy.typing import NDArray

from ...ferment.bands import rate_bands, rates_ahead
from ..date_text import why_no_date
from .days import inches_wide, right_edge
from .page import RUST, SEA

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from ...course.judgement import Judgement

__all__ = ["Floats", "draw_curve", "draw_window", "log_rates"]

Floats = NDArray[np.float64]

_BANDS: Final = [0.1, 0.25, 0.5, 0.75, 0.9]
_CURVE: Final = "curve, 50 and 80 %"
_FALLS: Final = "falls below, 80 and 95 %"
_NODES_PER_INCH: Final = 24.0
_NODES: Final = (40, 160)
_FEW_DECADES: Final = 2.0  # decades of an axis on which 2 and 5 are written too
_LEAST_TIMES: Final = 10.0  # decades between bottom and top of a log axis, at least


def log_rates(ax: Axes, floor: float, *, fine: bool = True) -> None:
    """Make the y axis a log axis of rates from a given bottom, with or without fine marks."""
    ax.set_yscale("log")
    top = max(ax.get_ylim()[1], _LEAST_TIMES * floor)
    ax.set_ylim(floor, top)
    steps = (1.0, 2.0, 5.0) if np.log10(top / floor) < _FEW_DECADES else (1.0,)
    ax.yaxis.set_major_locator(LogLocator(subs=steps))
    ax.yaxis.set_major_formatter(FuncFormatter(lambda y, _: f"{y:g}"))
    ax.yaxis.set_minor_formatter(NullFormatter())
    if not fine:
        ax.yaxis.set_minor_locator(NullLocator())


def draw_curve(ax: Axes, judgement: Judgement, floor: float, *, few: bool = False) -> None:
    """Draw the fitted median with its 50 and 80 % bands, and the forecast past the last count.

    A fit whose spread cannot be trusted is drawn without bands and called rough.

    Parameters
    ----------
    ax : Axes
        Drawn on.
    judgement : Judgement
    floor : float
        Bottom of the y axis [bubbles/min].
    few : bool
        Whether the key has room for few words, as in small panels.
    """
    fit, tail = judgement.fit, judgement.tail
    rough = fit is not None and bool(fit.distrust)
    if fit is not None:
        days = np.linspace(0.0, float(fit.tail.days[-1]), _nodes(ax))
        look = (
            _Look(":", "" if few else "curve, rough guess") if rough else _Look("-", _CURVE, True)
        )
        _stretch(ax, fit.tail.start, days, rate_bands(fit, days, _BANDS), floor, look)
    if judgement.forecast is None or tail is None:
        return
    # separate, since it is at the usual temperature and may start with a step
    last, end = tail.moment(float(tail.days[-1])), right_edge(judgement)
    days = np.linspace(0.0, (end - last) / timedelta(days=1), _nodes(ax))
    name = "by other ferments" if fit is None else "usual warmth"
    look = (
        _Look(":")
        if rough
        else _Look("-.", "forecast" if few else f"forecast, {name}", banded=True)
    )
    bands = rates_ahead(fit, judgement.whole, last, days, _BANDS)
    _stretch(ax, last, days, bands, floor, look)


def _nodes(ax: Axes) -> int:
    """Days at which a curve is worked out, for a panel of this width."""
    return int(np.clip(_NODES_PER_INCH * inches_wide(ax), *_NODES))


@dataclass(frozen=True, slots=True)
class _Look:
    """How a part of the curve is drawn: its line, its name in the key, whether it has bands."""

    style: str
    name: str = ""
    banded: bool = False


def _stretch(
    ax: Axes, start: datetime, days: Floats, bands: Floats, floor: float, look: _Look
) -> None:
    """Draw a part of the curve, over some days from a start, while it is above the bottom."""
    low80, low50, median, high50, high80 = bands
    when = mdates.date2num([start + timedelta(days=float(d)) for d in days])
    for low, high, alpha in ((low80, high80, 0.16), (low50, high50, 0.30)):
        if look.banded and np.any(high > floor):
            bottom, top = np.maximum(low, floor), np.maximum(high, floor)
            label = f"_{look.name}"  # bands under the line, shown with it in the key
            ax.fill_between(when, bottom, top, color=SEA, alpha=alpha, lw=0, label=label)
    if np.any(median > floor):
        line = np.where(median > floor, median, np.nan)
        ax.plot(when, line, color=SEA, ls=look.style, label=look.name or None)


def draw_window(
    ax: Axes, judgement: Judgement, *, width: float = 6.0
) -> tuple[float, datetime] | None:
    """Draw the days in which the rate should cross the threshold, as bars on the threshold.

    The thick one holds the day four times out of five, the thin one nineteen times out of twenty. A
    bar that goes on beyond the picture ends in an arrow. If no day can be told, none is drawn.

    Returns
    -------
    tuple of float and datetime, or None
        The threshold [bubbles/min] and the likeliest day, where its mark is drawn.
    """
    f, tail = judgement.forecast, judgement.tail
    if f is None or tail is None or why_no_date(judgement) is not None:
        return None
    c, end = f.crossing, right_edge(judgement)
    if c.low80 is None or c.median is None or c.median <= tail.start:
        return None  # beyond the forecast, or quiet since before the first comparable count
    level = c.threshold_per_min
    _reach(ax, level, c.low95, c.high95, end, lw=0.5 * width, ms=1.2 * width, name=f"_{_FALLS}")
    _reach(ax, level, c.low80, c.high80, end, lw=width, ms=1.2 * width, name=_FALLS)
    if c.median > end:
        return None
    at = mdates.date2num([c.median])
    ax.plot(at, [level], "|", color=RUST, ms=14 * width / 6.0, mew=2, zorder=4)
    return level, c.median


def _reach(
    ax: Axes,
    level: float,
    low: datetime | None,
    high: datetime | None,
    end: datetime,
    *,
    lw: float,
    ms: float,
    name: str,
) -> None:
    """Draw one of these bars, up to the edge of the picture."""
    to = min(high or end, end)
    if low is None or low >= to:
        return
    ax.plot(
        mdates.date2num([low, to]),
        [level] * 2,
        color=RUST,
        lw=lw,
        alpha=0.5,
        solid_capstyle="butt",
        label=name,
        zorder=2.5,
    )
    if high is None or high > end:
        ax.plot([float(mdates.date2num(end))], [level], ">", color=RUST, ms=ms, clip_on=False)
