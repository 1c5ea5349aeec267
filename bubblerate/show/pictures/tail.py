"""Draws the picture of a judgement: Axes in, the same Axes out; no display, no global state.

Times on the x axis, rates in bubbles a minute, gravity as SG. Every mark has its own shape or line
besides its colour, so that a grey print is readable.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, Literal

import matplotlib.dates as mdates

from ...diary.safe_write import save_output
from ...text import format_day, format_rate
from ..date_text import tail_title
from .counts import SLIP, counted, draw_counts, floor_of
from .days import dated, draw_today, inches_wide, name_today
from .gravity import plot_gravity
from .labels import Labels
from .layout import DOT, panels, settle
from .letters import wide
from .marks import draw_curve, draw_window, log_rates
from .page import (
    INK,
    RUST,
    SIDE,
    SMALL,
    WIDTH_CM,
    axes_or_new,
    page,
    picture_bytes,
    picture_path,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from matplotlib.axes import Axes

    from ...course.judgement import Judgement
    from ...diary.visit import Visit

__all__ = ["plot_tail", "save_tail", "tail_picture"]

_COUNTS_INCHES, _GRAVITY_INCHES = 2.6, 1.25  # height
_BETWEEN_INCHES = 0.06  # between panels, and between words and what is above
_WORD_INCHES = 0.15  # width that an upright word takes beside another
_MOST_WORDS = 2  # events at one place; for more, their number is given


def plot_tail(
    judgement: Judgement, ax: Axes | None = None, *, axis: Literal["log", "linear"] = "log"
) -> Axes:
    """Draw the counts with their error bars, the fit, the threshold, the window and the events.

    Parameters
    ----------
    judgement : Judgement
    ax : Axes, optional
        Where to draw; by default in a new figure.
    axis : {"log", "linear"}
        Scale of the rate. On a log axis a count of none is a triangle at the bottom, whose bar
        reaches up to the highest rate still possible. Marks of counts that weigh little are open.

    Returns
    -------
    Axes
        The one drawn on.

    Examples
    --------
    >>> import bubblerate
    >>> judged = bubblerate.judge(bubblerate.read("examples/quince.csv"))
    >>> ax = bubblerate.plot_tail(judged)
    >>> ax.get_ylabel(), ax.get_yscale()
    ('bubbles a minute', 'log')
    """
    ax = axes_or_new(ax)
    visits = counted(judgement)
    threshold = judgement.verdict.threshold_per_min
    floor = floor_of(visits, threshold) if axis == "log" else 0.0
    draw_curve(ax, judgement, floor)
    slips = draw_counts(ax, visits, judgement, floor)
    ax.axhline(threshold, color=RUST, lw=SIDE, ls="--")
    falls = draw_window(ax, judgement)
    if axis == "log":
        log_rates(ax, floor)
    else:
        ax.set_ylim(bottom=0.0)
    if not visits:
        ax.text(0.5, 0.6, "no bubbles counted", transform=ax.transAxes, ha="center")
    ax.set_ylabel("bubbles a minute")
    dated(ax, judgement)
    _events(ax, judgement.diary.live)
    draw_today(ax, judgement)
    _name(ax, judgement, slips, falls)
    return ax


def save_tail(
    judgement: Judgement,
    path: Path | str | BinaryIO,
    *,
    axis: Literal["log", "linear"] = "log",
    width_cm: float = WIDTH_CM,
    form: Literal["png", "svg", "pdf"] = "png",
) -> Path | None:
    """Draw the whole picture, counts above gravity, and save it.

    Parameters
    ----------
    judgement : Judgement
    path : Path or str or binary file
        Ends in .png, .svg or .pdf; or a binary file, such as ``io.BytesIO()``.
    axis : {"log", "linear"}
        Scale of the rate.
    width_cm : float
        Width of the picture: 9 reads well on a phone, 16 on A4.
    form : {"png", "svg", "pdf"}
        Form of the bytes, if no name tells it.

    Returns
    -------
    Path or None
        Where it was saved; None if it went into an open file.

    Raises
    ------
    InputError
        If the suffix is another, or the file cannot be written.

    Examples
    --------
    >>> import io
    >>> import bubblerate
    >>> judged = bubblerate.judge(bubblerate.read("examples/quince.csv"))
    >>> kept = io.BytesIO()
    >>> bubblerate.save_tail(judged, kept, form="svg", width_cm=9)
    >>> kept.getvalue()[:5]
    b'<?xml'
    """
    if not isinstance(path, Path | str):
        path.write(tail_picture(judgement, form, axis=axis, width_cm=width_cm))
        return None
    path = picture_path(path)
    suffix = path.suffix.lower().removeprefix(".")
    save_output(path, tail_picture(judgement, suffix, axis=axis, width_cm=width_cm))
    return path


def tail_picture(
    judgement: Judgement, form: str, *, axis: Literal["log", "linear"], width_cm: float
) -> bytes:
    """Draw the whole picture, counts above gravity, as bytes of a "png", "svg" or "pdf"."""
    heights = [_COUNTS_INCHES]
    if judgement.gravity is not None:
        heights.append(_GRAVITY_INCHES)
    with page(width_cm, sum(heights)) as figure:
        rows = panels(figure, heights, shared=True)
        (top,), *below = rows
        plot_tail(judgement, top, axis=axis)
        for (ax,) in below:
            plot_gravity(judgement, ax)
        settle(figure, rows, tail_title(judgement), over=[_events_inches(top), _BETWEEN_INCHES])
        return picture_bytes(figure, form)


def _name(
    ax: Axes,
    judgement: Judgement,
    slips: Sequence[tuple[float, float]],
    falls: tuple[float, datetime] | None,
) -> None:
    """Label the lines and marks that are not in the key."""
    labels, threshold = Labels(ax), judgement.verdict.threshold_per_min
    name_today(labels, judgement)
    for x, y in slips:
        labels.by_mark(x, y, SLIP)
    long = f"threshold, {format_rate(threshold)}"
    labels.along_level(threshold, long, "threshold", color=RUST)
    if falls is not None:
        level, day = falls
        at = float(mdates.date2num(day))
        labels.by_mark(at, level, format_day(day, year=False), must=False)


def _events_inches(ax: Axes) -> float:
    """Space that the names of events take above a panel."""
    upright = (text.get_text() for text in ax.texts if text.get_rotation())
    return max((wide(text, SMALL) for text in upright), default=0.0) * DOT + _BETWEEN_INCHES


def _events(ax: Axes, visits: Sequence[Visit]) -> None:
    """Draw a fine line for each event, and its name above the panel."""
    for x, words in _places(ax, visits):
        more = f" +{len(words) - _MOST_WORDS}" if len(words) > _MOST_WORDS else ""
        ax.annotate(
            ", ".join(words[:_MOST_WORDS]) + more,
            (x, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(0, 2),
            textcoords="offset points",
            rotation=90,
            fontsize=SMALL,
            ha="center",
            va="bottom",
        )


def _places(ax: Axes, visits: Sequence[Visit]) -> list[tuple[float, list[str]]]:
    """Group events by place; names that would collide are joined at the first of them."""
    low, high = ax.get_xlim()
    gap = (high - low) * _WORD_INCHES / inches_wide(ax)
    places: list[tuple[float, list[str]]] = []
    for visit in visits:
        if visit.event in (None, "sampled"):
            continue
        x = float(mdates.date2num(visit.when))
        ax.axvline(x, color=INK, lw=0.6, ls=(0, (1, 3)), zorder=1)
        if not places or x - places[-1][0] >= gap:
            places.append((x, []))
        places[-1][1].append(str(visit.event))
    return places
