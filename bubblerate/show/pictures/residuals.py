"""Draws how far each count is from the fitted curve: Axes in, the same Axes out; no display."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import matplotlib.dates as mdates
import numpy as np
from scipy.special import ndtri

from ...errors import InputError
from ...ferment.fit import FEWEST_COUNTS
from ...ferment.residuals import Part, residuals
from ...text import format_when
from .counts import LOOKS, SLIP
from .days import dated, over_days
from .layout import panels, settle
from .page import (
    ASH,
    BARS,
    INK,
    SEA,
    SIDE,
    WIDTH_CM,
    axes_or_new,
    page,
    picture_path,
    save_picture,
)

if TYPE_CHECKING:
    from pathlib import Path

    from matplotlib.axes import Axes

    from ...course.judgement import Judgement
    from ...ferment.residuals import Residuals
    from ...ferment.tail import Tail

__all__ = ["plot_residuals", "save_residuals"]

_INCHES = 2.3  # height
_SHOWN = 4.0  # scores; larger ones are drawn at the edge
_SEED = 1  # any seed; fixed, so that a diary always gives the same picture


def plot_residuals(judgement: Judgement, ax: Axes | None = None) -> Axes:
    """Draw how far each count is from its curve, with the bands that should hold them.

    Parameters
    ----------
    judgement : Judgement
        Without a fit only the bands are drawn.
    ax : Axes, optional
        Where to draw; by default in a new figure. Scores beyond 4 are triangles at the edge.

    Returns
    -------
    Axes
        The one drawn on.

    Examples
    --------
    >>> import bubblerate
    >>> ax = bubblerate.plot_residuals(bubblerate.judge(bubblerate.read("examples/quince.csv")))
    >>> ax.get_ylim()
    (np.float64(-4.0), np.float64(4.0))
    """
    ax = axes_or_new(ax)
    tail = judgement.tail
    for share, alpha in ((0.95, 0.10), (0.80, 0.20)):
        reach = float(ndtri(0.5 + share / 2.0))
        label = f"should hold {share * 100:.0f} %"
        ax.axhspan(-reach, reach, color=SEA, alpha=alpha, lw=0, label=label)
    ax.axhline(0.0, color=SEA, lw=SIDE)
    if judgement.fit is not None and tail is not None:
        _scores(ax, residuals(judgement.fit, rng=np.random.default_rng(_SEED)), tail)
    ax.set_ylim(-_SHOWN, _SHOWN)
    ax.set_ylabel("fewer    standard deviations    more")
    if tail is None:
        return dated(ax, judgement)
    return over_days(ax, tail.start, tail.moment(float(tail.days[-1])))


def save_residuals(judgement: Judgement, path: Path | str, *, width_cm: float = WIDTH_CM) -> Path:
    """Draw the residuals and save the picture.

    Parameters
    ----------
    judgement : Judgement
    path : Path or str
        Ends in .png, .svg or .pdf.
    width_cm : float
        Width of the picture.

    Returns
    -------
    Path
        Where it was saved.

    Raises
    ------
    InputError
        If there is no fit, the suffix is another, or the file cannot be written.
    """
    path, v = picture_path(path), judgement.verdict
    if judgement.fit is None:
        raise InputError(
            f"{v.vessel}: too few counts since its peak to fit a curve; it needs "
            f"{FEWEST_COUNTS} evenings in an undisturbed jar"
        )
    with page(width_cm, _INCHES) as figure:
        rows = panels(figure, [_INCHES])
        plot_residuals(judgement, rows[0][0])
        asked = format_when(v.asked_at)
        settle(figure, rows, f"{v.vessel}: counts against their curve\n{asked}")
        return save_picture(figure, path)


def _scores(ax: Axes, found: Residuals, tail: Tail) -> None:
    """Draw each count as a mark for how it is used, with a line for where else it may be."""
    when = mdates.date2num([tail.start + timedelta(days=float(d)) for d in found.days])
    # a count of none may be anywhere below, so its line runs to the edge
    low, score, high = (
        np.clip(ends, -_SHOWN, _SHOWN) for ends in (found.low, found.score, found.high)
    )
    ax.vlines(when, low, high, color=ASH, lw=BARS, label="whole counts leave this open")
    for part in Part:
        look, some = LOOKS[part], found.those(part)
        if some.any():
            (drawn,) = ax.plot(
                when[some], score[some], look.some, color=look.edge, label=look.name or SLIP
            )
            drawn.set(markerfacecolor=look.fill, markersize=4.5 * look.size, clip_on=False)
    for beyond, mark in ((found.score > _SHOWN, "^"), (found.score < -_SHOWN, "v")):
        if beyond.any():
            ax.plot(when[beyond], score[beyond], mark, color=INK, ms=7.0, clip_on=False)
