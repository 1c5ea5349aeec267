"""The time axis that the panels of a picture share, and their colours.

Colours are from the palette of M. Okabe and K. Ito (2008), made to be told apart by the
colour-blind.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import matplotlib.dates as mdates
from matplotlib.ticker import FuncFormatter

from .words import format_day

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from .shelf import Judgement

__all__ = ["INK", "LEAF", "RUST", "SEA", "dated", "right_edge"]

INK, RUST, SEA, LEAF = "#222222", "#D55E00", "#0072B2", "#009E73"

_LOOK_AHEAD_DAYS = 3.0  # past the last evening, where there is no window to show
_FURTHEST_AHEAD = 1.5  # of the time counted so far: more would crush the counts into a corner


def dated(ax: Axes, judgement: Judgement) -> Axes:
    """Dates along the foot, from the first row to the end of what is foretold."""
    zone = judgement.verdict.asked_at.tzinfo
    ax.xaxis.set_major_locator(mdates.AutoDateLocator(minticks=3, maxticks=7, tz=zone))
    ax.xaxis.set_major_formatter(
        FuncFormatter(lambda x, _: format_day(mdates.num2date(x, tz=zone)).rsplit(" ", 1)[0])
    )
    visits = judgement.diary.live
    start = visits[0].when if visits else judgement.verdict.asked_at
    margin = 0.035 * (right_edge(judgement) - start) + timedelta(hours=6)
    low, high = mdates.date2num([start - margin, right_edge(judgement) + margin])
    ax.set_xlim(float(low), float(high))
    ax.spines[["top", "right"]].set_visible(False)
    ax.grid(color="#dddddd", lw=0.6)
    ax.set_axisbelow(True)
    return ax


def right_edge(judgement: Judgement) -> datetime:
    """Right edge: the far end of the window, unless that would crush the counts."""
    at, visits = judgement.verdict.asked_at, judgement.diary.live
    start = visits[0].when if visits else at
    furthest = at + max(_FURTHEST_AHEAD * (at - start), timedelta(days=_LOOK_AHEAD_DAYS))
    wanted = at + timedelta(days=_LOOK_AHEAD_DAYS)
    if judgement.forecast is not None:
        c = judgement.forecast.crossing
        wanted = max(wanted, c.high95 or furthest)
    return min(wanted, furthest)
