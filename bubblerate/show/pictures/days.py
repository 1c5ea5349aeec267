"""The x axis of the pictures of a tail: first and last day, dates, and today."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Final

import matplotlib.dates as mdates
import numpy as np

from ...text import format_day
from .page import INK

if TYPE_CHECKING:
    from collections.abc import Callable

    from matplotlib.axes import Axes

    from ...course.judgement import Judgement
    from .labels import Labels

__all__ = ["TODAY", "dated", "draw_today", "inches_wide", "name_today", "over_days", "right_edge"]

TODAY: Final = "today"

_LOOK_AHEAD_DAYS = 3.0  # days past the last evening, if there is no window to show
_FURTHEST_AHEAD = 1.5  # times the time counted so far: more would squeeze the counts into a corner
_DATES_PER_INCH = 1.6  # dates that do not collide
_MOST_DATES, _FEWEST_DATES = 7, 3
# steps in days; the first that gives few enough dates is used
_ROUND: tuple[Callable[[date], bool], ...] = (
    lambda _: True,
    lambda day: day.toordinal() % 2 == 0,
    lambda day: day.toordinal() % 4 == 0,
    lambda day: day.weekday() == 0,
    lambda day: day.day in (1, 15),
    lambda day: day.day == 1,
    lambda day: day.day == 1 and day.month % 3 == 1,
    lambda day: day.day == 1 and day.month % 6 == 1,
    lambda day: day.day == day.month == 1,
    lambda day: day.day == day.month == 1 and day.year % 10 == 0,
    lambda day: day.day == day.month == 1 and day.year % 100 == 0,
)
_LONG_DAYS = 300.0  # days; longer spans could be mistaken for another year


def dated(ax: Axes, judgement: Judgement) -> Axes:
    """Write dates along the bottom, from the first row to the end of the forecast."""
    visits = judgement.diary.live
    start = visits[0].when if visits else judgement.verdict.asked_at
    return over_days(ax, start, right_edge(judgement))


def over_days(ax: Axes, start: datetime, end: datetime) -> Axes:
    """Write dates along the bottom between two moments, as many as do not collide."""
    zone, shown = end.tzinfo, end - start
    margin = 0.035 * shown + timedelta(hours=6)
    most = int(np.clip(_DATES_PER_INCH * inches_wide(ax), _FEWEST_DATES, _MOST_DATES))
    days = _days(start - margin, end + margin, most)
    when = [datetime.combine(day, time(), zone) for day in days]
    long = shown > timedelta(days=_LONG_DAYS)
    names = [format_day(day, year=False) + (f"\n{day.year}" if long else "") for day in days]
    ax.set_xticks(mdates.date2num(when), names)
    low, high = mdates.date2num([start - margin, end + margin])
    ax.set_xlim(float(low), float(high))
    return ax


def _days(start: datetime, end: datetime, most: int) -> list[date]:
    """Round days after one moment and up to another, at most so many."""
    last = end.date()
    every = [start.date() + timedelta(days=i + 1) for i in range((last - start.date()).days)]
    for round_day in _ROUND:
        chosen = [day for day in every if round_day(day)]
        if len(chosen) <= most:
            break
    return chosen


def inches_wide(ax: Axes) -> float:
    """Width of a panel, before its labels take some."""
    return float(ax.get_window_extent().width / ax.figure.dpi)


def right_edge(judgement: Judgement) -> datetime:
    """Right edge: the far end of the window, unless that would squeeze the counts."""
    at, visits = judgement.verdict.asked_at, judgement.diary.live
    start = visits[0].when if visits else at
    furthest = at + max(_FURTHEST_AHEAD * (at - start), timedelta(days=_LOOK_AHEAD_DAYS))
    wanted = at + timedelta(days=_LOOK_AHEAD_DAYS)
    if judgement.forecast is not None:
        c = judgement.forecast.crossing
        wanted = max(wanted, c.high95 or furthest)
    return min(wanted, furthest)


def draw_today(ax: Axes, judgement: Judgement) -> None:
    """Draw a thin upright line at the moment asked about, which screens call today."""
    ax.axvline(_today(judgement), color=INK, lw=0.7, zorder=1.5)


def name_today(labels: Labels, judgement: Judgement) -> None:
    """Label the line of today if there is room."""
    labels.beside_upright(_today(judgement), TODAY)


def _today(judgement: Judgement) -> float:
    return float(mdates.date2num(judgement.verdict.asked_at))
