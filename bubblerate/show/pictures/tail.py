"""Pictures of a judgement: Axes in, the same Axes out; no display, no global state.

Times on the x axis, rates in bubbles a minute. Every mark has its own shape or line besides its
colour, so that a grey print still reads.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import matplotlib.dates as mdates

from ...text import format_rate, format_when
from ..verdict_text import headline
from .gravity import plot_gravity
from .marks import counted, draw_counts, draw_curve, draw_window, floor_of, log_rates
from .page import WIDTH_CM, page, picture_path, save_picture, with_key, with_title
from .style import INK, RUST, SIDE, SMALL
from .time_axis import dated, inches_wide

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matplotlib.axes import Axes

    from ...diary.visit import Visit
    from ...verdict.judgement import Judgement

__all__ = ["plot_gravity", "plot_tail", "save_tail"]

_COUNTS_INCHES, _GRAVITY_INCHES = 3.6, 1.7  # height
_WORD_INCHES = 0.15  # that an upright word takes beside another
_MOST_WORDS = 2  # at one place; of more their number is told


def plot_tail(judgement: Judgement, ax: Axes, *, axis: Literal["log", "linear"] = "log") -> Axes:
    """Draw the counts with their error bars, the fit, the threshold, the window and the events.

    Parameters
    ----------
    judgement : Judgement
    ax : Axes
        Drawn on.
    axis : {"log", "linear"}
        Scale of the rate. On a log axis a count of none stands at the foot, as an open triangle
        whose bar reaches up to the rate it leaves possible.

    Returns
    -------
    Axes
        The same.
    """
    seen = counted(judgement)
    threshold = judgement.verdict.threshold_per_min
    floor = floor_of(seen, threshold) if axis == "log" else 0.0
    draw_curve(ax, judgement, floor)
    draw_counts(ax, seen, judgement, floor)
    label = f"threshold, {format_rate(threshold)}"
    ax.axhline(threshold, color=RUST, lw=SIDE, ls="--", label=label)
    draw_window(ax, judgement)
    if axis == "log":
        log_rates(ax, floor)
    else:
        ax.set_ylim(bottom=0.0)
    if not seen:
        ax.text(0.5, 0.6, "no bubbles counted", transform=ax.transAxes, ha="center")
    ax.set_ylabel("bubbles a minute")
    dated(ax, judgement)
    _events(ax, judgement.diary.live)
    return ax


def save_tail(
    judgement: Judgement,
    path: Path | str,
    *,
    axis: Literal["log", "linear"] = "log",
    width_cm: float = WIDTH_CM,
) -> Path:
    """Draw the whole picture, counts above gravity, and save it.

    Parameters
    ----------
    judgement : Judgement
    path : Path or str
        Ends in .png, .svg or .pdf.
    axis : {"log", "linear"}
        Scale of the rate.
    width_cm : float
        Width of the picture: 9 reads well on a phone, 16 on A4.

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
    read = judgement.gravity is not None
    with page(width_cm, _COUNTS_INCHES + (_GRAVITY_INCHES if read else 0.6)) as figure:
        if read:
            heights = [_COUNTS_INCHES, _GRAVITY_INCHES]
            top, below = figure.subplots(2, 1, sharex=True, height_ratios=heights)
            plot_gravity(judgement, below)
        else:
            top = figure.subplots()
        plot_tail(judgement, top, axis=axis)
        with_key(figure)
        with_title(figure, f"{headline(judgement)}\n{format_when(judgement.verdict.asked_at)}")
        return save_picture(figure, path)


def _events(ax: Axes, visits: Sequence[Visit]) -> None:
    """A fine line for each event, and its name above the panel, where no count is.

    Names that would run into each other stand together at the first of them.
    """
    noted = [v for v in visits if v.event not in (None, "sampled")]
    low, high = ax.get_xlim()
    gap = (high - low) * _WORD_INCHES / inches_wide(ax)
    places: list[tuple[float, list[str]]] = []
    for visit in noted:
        x = float(mdates.date2num(visit.when))
        ax.axvline(x, color=INK, lw=0.6, ls=(0, (1, 3)), zorder=1)
        if not places or x - places[-1][0] >= gap:
            places.append((x, []))
        places[-1][1].append(str(visit.event))
    for x, words in places:
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
