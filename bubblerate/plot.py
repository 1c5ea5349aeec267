"""Pictures of a judgement: Axes in, the same Axes out; no display, no global state.

Times on the x axis, rates in bubbles a minute, gravity in SG. Every mark has its own shape or
line besides its colour, so that a grey print still reads.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Literal

import matplotlib.dates as mdates
import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, NullFormatter
from numpy.typing import NDArray
from scipy.special import gammaincinv

from .forecast import rate_bands
from .picture import picture_path, save_picture
from .readings import READING_SD_POINTS
from .report import headline
from .timeline import INK, LEAF, RUST, SEA, dated, right_edge
from .words import format_rate

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matplotlib.axes import Axes

    from .diary import Visit
    from .readings import Reading
    from .shelf import Judgement

__all__ = ["plot_gravity", "plot_tail", "save_tail"]

Floats = NDArray[np.float64]

_SIZE_INCHES = (7.5, 6.2)
_LABEL_SHARE = 0.07  # of the time shown: labels of readings nearer than this would collide
_COVERAGE = 0.8  # of the bars on counts


def plot_tail(ax: Axes, judgement: Judgement, *, axis: Literal["log", "linear"] = "log") -> Axes:
    """Draw the counts with their error bars, the fit, the threshold, the window and the events.

    Parameters
    ----------
    ax : Axes
        Drawn on.
    judgement : Judgement
    axis : {"log", "linear"}
        Scale of the rate. On a log axis a count of none stands at the foot, as an open triangle
        whose bar reaches up to the rate it leaves possible.

    Returns
    -------
    Axes
        The same.
    """
    seen = [v for v in judgement.diary.live if v.bubbles is not None]
    floor = _floor(seen, judgement.verdict.threshold_per_min) if axis == "log" else 0.0
    _bands(ax, judgement, floor)
    _counts(ax, seen, judgement, floor)
    threshold = judgement.verdict.threshold_per_min
    ax.axhline(threshold, color=RUST, lw=1.4, ls="--", label=f"threshold, {format_rate(threshold)}")
    _window(ax, judgement)
    if axis == "log":
        ax.set_yscale("log")
        ax.set_ylim(bottom=floor)
        ax.yaxis.set_major_formatter(FuncFormatter(lambda y, _: f"{y:g}"))
        ax.yaxis.set_minor_formatter(NullFormatter())
    else:
        ax.set_ylim(bottom=0.0)
    _events(ax, judgement.diary.live)
    ax.set_ylabel("bubbles a minute")
    return dated(ax, judgement)


def plot_gravity(ax: Axes, judgement: Judgement) -> Axes:
    """Draw the gravity readings, corrected, with the finish expected and foretold.

    Parameters
    ----------
    ax : Axes
        Drawn on.
    judgement : Judgement

    Returns
    -------
    Axes
        The same.
    """
    g, f = judgement.gravity, judgement.forecast
    if g is not None:
        ax.errorbar(
            mdates.date2num([reading.when for reading in g.readings]),
            [reading.sg for reading in g.readings],
            yerr=READING_SD_POINTS / 1000.0,
            fmt="D",
            ms=5,
            color=SEA,
            mfc="white",
            capsize=2,
            label="gravity read",
        )
        for reading in _apart(
            g.readings, _LABEL_SHARE * (right_edge(judgement) - g.readings[0].when)
        ):
            ax.annotate(
                f"{reading.sg:.3f}",
                (float(mdates.date2num(reading.when)), reading.sg),
                xytext=(0, 6),
                textcoords="offset points",
                ha="center",
                fontsize=7.5,
                color=INK,
            )
        known = "expected" if g.finish_known else "usual"
        ax.axhline(g.finish_sg, color=LEAF, lw=1.2, ls=":", label=f"finish, {known}")
        if f is not None and f.finish_sg is not None and not (g.leak or g.gas_only):
            low, mid, high = f.finish_sg.low80, f.finish_sg.median, f.finish_sg.high80
            ax.errorbar(
                mdates.date2num([judgement.verdict.asked_at]),
                [mid],
                yerr=[[mid - low], [high - mid]],
                fmt="s",
                ms=5,
                color=INK,
                capsize=3,
                label="finish foretold (80 %)",
            )
    ax.set_ylabel("gravity, SG")
    ax.yaxis.set_major_formatter(FuncFormatter(lambda y, _: f"{y:.3f}"))
    ax.margins(y=0.25)
    return dated(ax, judgement)


def _apart(readings: Sequence[Reading], gap: timedelta) -> list[Reading]:
    """Readings no nearer to each other than a gap, the latest first."""
    chosen: list[Reading] = []
    for reading in reversed(readings):
        if not chosen or chosen[-1].when - reading.when >= gap:
            chosen.append(reading)
    return chosen


def save_tail(
    judgement: Judgement, path: Path | str, *, axis: Literal["log", "linear"] = "log"
) -> Path:
    """Draw the whole picture, counts above gravity, and save it.

    Parameters
    ----------
    judgement : Judgement
    path : Path or str
        Ends in .png, .svg or .pdf.
    axis : {"log", "linear"}
        Scale of the rate.

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
    figure = Figure(figsize=_SIZE_INCHES, layout="constrained")
    if judgement.gravity is None:
        top = figure.subplots()
    else:
        top, below = figure.subplots(2, 1, sharex=True, height_ratios=[2.4, 1.0])
        plot_gravity(below, judgement)
    plot_tail(top, judgement, axis=axis)
    figure.legend(loc="outside lower center", ncols=3, fontsize=7.5, frameon=False)
    # a dollar in the name of a file is no formula
    figure.suptitle(headline(judgement), fontsize=11, color=INK, parse_math=False)
    return save_picture(figure, path)


def _floor(seen: Sequence[Visit], threshold: float) -> float:
    """Foot of a log axis: under every rate that is not none, and under the threshold."""
    rates = [v.per_min for v in seen if v.per_min]
    return 0.4 * min([*rates, threshold])


def _counts(ax: Axes, seen: Sequence[Visit], judgement: Judgement, floor: float) -> None:
    """Rates with exact Poisson bars; those outside the tail paler."""
    start = None if judgement.tail is None else judgement.tail.start
    for in_tail in (False, True):
        chosen = [v for v in seen if (start is not None and v.when >= start) == in_tail]
        if not chosen:
            continue
        n = np.array([v.bubbles for v in chosen], float)
        minutes = np.array([v.seconds for v in chosen]) / 60.0
        part = (1.0 - _COVERAGE) / 2.0
        low = np.where(n > 0, gammaincinv(np.maximum(n, 1.0), part), 0.0) / minutes
        high = gammaincinv(n + 1.0, 1.0 - part) / minutes
        rate = np.maximum(n / minutes, floor)
        colour = INK if in_tail else "#999999"
        when = mdates.date2num([v.when for v in chosen])
        bars = np.array([rate - np.clip(low, floor, rate), np.maximum(high, rate) - rate])
        for some, mark, what in ((n > 0, "o", "counted"), (n == 0, "^", "none in that time")):
            if some.any():
                ax.errorbar(
                    when[some],
                    rate[some],
                    yerr=bars[:, some],
                    fmt=mark,
                    ms=4.5,
                    mfc=colour if mark == "o" else "white",
                    color=colour,
                    lw=1.0,
                    clip_on=False,
                    label=what if in_tail else f"{what}, before the tail",
                    zorder=3,
                )


def _bands(ax: Axes, judgement: Judgement, floor: float) -> None:
    """Fitted median with its 50 and 80 % bands, on past the last evening."""
    fit = judgement.fit
    if fit is None:
        return
    # two stretches, for the second is foretold at the usual temperature and may begin with a step
    last, end = float(fit.tail.days[-1]), fit.tail.day_of(right_edge(judgement))
    for past, days in ((True, np.linspace(0.0, last, 160)), (False, np.linspace(last, end, 120))):
        low80, low50, median, high50, high80 = rate_bands(
            fit, days, [0.1, 0.25, 0.5, 0.75, 0.9], usual=not past
        )
        when = mdates.date2num([fit.tail.start + timedelta(days=float(d)) for d in days])
        for low, high, alpha, share in ((low80, high80, 0.16, "80"), (low50, high50, 0.28, "50")):
            label = f"curve, {share} % band" if past else None
            bottom, top = np.maximum(low, floor), np.maximum(high, floor)
            ax.fill_between(when, bottom, top, color=SEA, alpha=alpha, lw=0, label=label)
        line = np.where(median > floor, median, np.nan)
        style, label = ("-", "curve, median") if past else ("-.", "foretold, at usual warmth")
        if np.any(median > floor):
            ax.plot(when, line, color=SEA, lw=1.6, ls=style, label=label)


def _window(ax: Axes, judgement: Judgement) -> None:
    """The days in which the rate should cross the threshold, as a bar on the threshold."""
    if judgement.forecast is None or judgement.tail is None:
        return
    c = judgement.forecast.crossing
    if c.low80 is None or c.median is None or c.median <= judgement.tail.start:
        return  # beyond what is foretold, or quiet since before the counts that can be compared
    end = right_edge(judgement)
    high = min(c.high80 or end, end)
    if c.low80 < high:
        ax.plot(
            mdates.date2num([c.low80, high]),
            [c.threshold_per_min] * 2,
            color=RUST,
            lw=6,
            alpha=0.45,
            solid_capstyle="butt",
            label="falls below it, 80 %",
        )
    if c.median <= end:
        ax.plot(mdates.date2num([c.median]), [c.threshold_per_min], "|", color=RUST, ms=14, mew=2)


def _events(ax: Axes, visits: Sequence[Visit]) -> None:
    """A fine line and a word for each event, the words in two heights so that they do not meet."""
    noted = [v for v in visits if v.event not in (None, "sampled")]
    for i, visit in enumerate(noted):
        x = float(mdates.date2num(visit.when))
        ax.axvline(x, color=INK, lw=0.6, ls=(0, (1, 3)), zorder=1)
        ax.annotate(
            str(visit.event),
            (x, 0.98 - 0.16 * (i % 2)),
            xycoords=("data", "axes fraction"),
            rotation=90,
            fontsize=7.5,
            ha="right",
            va="top",
            color=INK,
        )
