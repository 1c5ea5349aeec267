"""What pictures of a tail are put together from: days, counts, fitted curve, days of crossing.

Times on the x axis, rates in bubbles a minute on the y axis, whose foot is given: on a log axis
what lies below it stands on it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

import matplotlib.dates as mdates
import numpy as np
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter
from numpy.typing import NDArray

from ...ferment.bands import rate_bands, rates_ahead
from ...ferment.poisson import at_least_per_min, at_most_per_min
from ...text import format_day
from .page import ASH, BARS, INK, RUST, SEA

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from matplotlib.axes import Axes

    from ...diary.visit import Visit
    from ...verdict.judgement import Judgement

__all__ = [
    "Floats",
    "counted",
    "dated",
    "draw_counts",
    "draw_curve",
    "draw_window",
    "floor_of",
    "inches_wide",
    "log_rates",
    "over_days",
    "right_edge",
]

Floats = NDArray[np.float64]

_BANDS = [0.1, 0.25, 0.5, 0.75, 0.9]
_SURE = 0.9  # of each end of the bars on counts, which so hold the rate four times in five
_MANY = 120  # counts, from which marks are smaller and bars fainter
_FEW_DECADES = 2.0  # of an axis on which 2 and 5 are written too
_LEAST_TIMES = 10.0  # that the top of a log axis is above its foot
_LOWEST_SHOWN = 0.4  # foot of a log axis, of the least that must be seen
_LOOK_AHEAD_DAYS = 3.0  # past the last evening, where there is no window to show
_FURTHEST_AHEAD = 1.5  # of the time counted so far: more would crush the counts into a corner
_DATES_PER_INCH = 1.6  # that do not collide
_MOST_DATES, _FEWEST_DATES = 7, 3
# days to name, the first that are few enough
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
_LONG_DAYS = 300.0  # from here on a day could be taken for that of another year


def counted(judgement: Judgement) -> list[Visit]:
    """Live rows that hold a count."""
    return [v for v in judgement.diary.live if v.bubbles is not None]


def floor_of(visits: Sequence[Visit], threshold_per_min: float) -> float:
    """Foot of a log axis: under every rate that is not none, and under the threshold."""
    return _LOWEST_SHOWN * min([*(v.per_min for v in visits if v.per_min), threshold_per_min])


def log_rates(ax: Axes, floor: float) -> None:
    """Make the y axis a log axis of rates that stands on a foot."""
    ax.set_yscale("log")
    top = max(ax.get_ylim()[1], _LEAST_TIMES * floor)
    ax.set_ylim(floor, top)
    steps = (1.0, 2.0, 5.0) if np.log10(top / floor) < _FEW_DECADES else (1.0,)
    ax.yaxis.set_major_locator(LogLocator(subs=steps))
    ax.yaxis.set_major_formatter(FuncFormatter(lambda y, _: f"{y:g}"))
    ax.yaxis.set_minor_formatter(NullFormatter())


def draw_counts(
    ax: Axes, visits: Sequence[Visit], judgement: Judgement, floor: float, *, size: float = 4.5
) -> None:
    """Rates with exact Poisson bars; those outside the tail paler and smaller."""
    start = None if judgement.tail is None else judgement.tail.start
    many = len(visits) > _MANY
    for in_tail, some, none in (
        (False, "counted, earlier", "none, earlier"),
        (True, "counted", "none in that time"),
    ):
        chosen = [v for v in visits if (start is not None and v.when >= start) == in_tail]
        colour = INK if in_tail else ASH
        marks = {"color": colour, "ms": size * (0.6 if many else 1.0 if in_tail else 0.85)}
        for mark, fill, label, alike in (
            ("o", colour, some, [v for v in chosen if v.bubbles]),
            ("^", "white", none, [v for v in chosen if not v.bubbles]),
        ):
            if alike:
                _rates(ax, alike, floor, faint=many, fmt=mark, mfc=fill, label=label, **marks)


def _rates(ax: Axes, visits: Sequence[Visit], floor: float, *, faint: bool, **look: Any) -> None:
    """One kind of mark for some counts, each with the bar of the rates that it leaves possible."""
    n = np.array([v.bubbles for v in visits], float)
    minutes = np.array([v.seconds for v in visits]) / 60.0
    low, high = (
        np.array([limit(b, m, sure=_SURE) for b, m in zip(n, minutes, strict=True)])
        for limit in (at_least_per_min, at_most_per_min)
    )
    rate = np.maximum(n / minutes, floor)
    _, _, (bars,) = ax.errorbar(
        mdates.date2num([v.when for v in visits]),
        rate,
        yerr=[rate - np.clip(low, floor, rate), np.maximum(high, rate) - rate],
        lw=BARS,
        clip_on=False,
        zorder=3,
        **look,
    )
    if faint:
        bars.set(alpha=0.3, linewidth=0.5 * BARS)


def draw_curve(ax: Axes, judgement: Judgement, floor: float) -> None:
    """Fitted median with its 50 and 80 % bands, and what is forecast past the last count.

    A fit that does not vouch for its spread is drawn without bands, and says that it is rough.
    """
    fit, tail = judgement.fit, judgement.tail
    rough = fit is not None and bool(fit.distrust)
    if fit is not None:
        days = np.linspace(0.0, float(fit.tail.days[-1]), 160)
        look = _Look(":", "curve, rough guess") if rough else _Look("-", "curve, median", "curve")
        _stretch(ax, fit.tail.start, days, rate_bands(fit, days, _BANDS), floor, look)
    if judgement.forecast is None or tail is None:
        return
    # on its own, for it is at the usual temperature and may begin with a step
    last, end = tail.moment(float(tail.days[-1])), right_edge(judgement)
    days = np.linspace(0.0, (end - last) / timedelta(days=1), 120)
    name, whose = ("as others went", "others") if fit is None else ("forecast, usual warmth", "")
    look = _Look(":") if rough else _Look("-.", name, whose)
    bands = rates_ahead(fit, judgement.whole, last, days, _BANDS)
    _stretch(ax, last, days, bands, floor, look)


@dataclass(frozen=True, slots=True)
class _Look:
    """How a part of the curve is drawn: its line, and whose its bands are; None for no bands."""

    style: str
    name: str = ""
    whose: str | None = None


def _stretch(
    ax: Axes, start: datetime, days: Floats, bands: Floats, floor: float, look: _Look
) -> None:
    """A part of the curve, over some days from a start, where it stands above the foot."""
    low80, low50, median, high50, high80 = bands
    when = mdates.date2num([start + timedelta(days=float(d)) for d in days])
    for low, high, alpha, share in ((low80, high80, 0.16, "80"), (low50, high50, 0.30, "50")):
        if look.whose is None or not np.any(high > floor):
            continue
        bottom, top = np.maximum(low, floor), np.maximum(high, floor)
        label = f"{look.whose}, {share} % band" if look.whose else None
        ax.fill_between(when, bottom, top, color=SEA, alpha=alpha, lw=0, label=label)
    if np.any(median > floor):
        line = np.where(median > floor, median, np.nan)
        ax.plot(when, line, color=SEA, ls=look.style, label=look.name or None)


def draw_window(ax: Axes, judgement: Judgement, *, width: float = 6.0) -> None:
    """The days in which the rate should cross the threshold, as bars on the threshold.

    The thick one holds the day four times in five, the thin one nineteen times in twenty; one that
    goes on beyond what is shown ends in an arrow. Of a leak or a rough fit none is drawn.
    """
    g, f, tail = judgement.gravity, judgement.forecast, judgement.tail
    if f is None or tail is None or f.distrust or (g is not None and g.leak):
        return
    c, end = f.crossing, right_edge(judgement)
    if c.low80 is None or c.median is None or c.median <= tail.start:
        return  # beyond what is forecast, or quiet since before the counts that can be compared
    level = c.threshold_per_min
    _reach(ax, level, c.low95, c.high95, end, lw=0.5 * width, ms=1.2 * width, share="95")
    _reach(ax, level, c.low80, c.high80, end, lw=width, ms=1.2 * width, share="80")
    if c.median <= end:
        at = mdates.date2num([c.median])
        ax.plot(at, [level], "|", color=RUST, ms=14 * width / 6.0, mew=2, zorder=4)


def _reach(
    ax: Axes,
    level: float,
    low: datetime | None,
    high: datetime | None,
    end: datetime,
    *,
    lw: float,
    ms: float,
    share: str,
) -> None:
    """One of these bars, as far as the end of what is shown."""
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
        label=f"falls below it, {share} %",
        zorder=2.5,
    )
    if high is None or high > end:
        ax.plot([float(mdates.date2num(end))], [level], ">", color=RUST, ms=ms, clip_on=False)


def dated(ax: Axes, judgement: Judgement) -> Axes:
    """Dates along the foot, from the first row to the end of what is forecast."""
    visits = judgement.diary.live
    start = visits[0].when if visits else judgement.verdict.asked_at
    return over_days(ax, start, right_edge(judgement))


def over_days(ax: Axes, start: datetime, end: datetime) -> Axes:
    """Dates along the foot from one moment to another, as many as do not collide."""
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
    """Round days after one moment and up to another, no more than so many."""
    last = end.date()
    every = [start.date() + timedelta(days=i + 1) for i in range((last - start.date()).days)]
    for round_day in _ROUND:
        chosen = [day for day in every if round_day(day)]
        if len(chosen) <= most:
            break
    return chosen


def inches_wide(ax: Axes) -> float:
    """Width of a panel, before its labels have taken their part."""
    return float(ax.get_window_extent().width / ax.figure.dpi)


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
