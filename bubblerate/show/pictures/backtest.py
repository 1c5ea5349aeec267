"""Draws a backtest of forecasts: Axes in, the same Axes out; no display, no global state.

Leads and errors in days. The fill of a mark, besides its colour, shows whether an interval held, so
that a grey print is readable.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator, PercentFormatter

from ...text import plural
from ..backtest_text import lead_text
from .layout import panels, settle
from .page import INK, RUST, SEA, page, picture_path, save_picture

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime
    from pathlib import Path

    from matplotlib.axes import Axes

    from ...shelf.backtest import Evening
    from ...shelf.coverage import Backtest, LeadRow, Share
    from .marks import Floats

__all__ = ["plot_coverage", "plot_errors", "save_backtest"]

_WIDTH_CM = 12.7
_INCHES = (2.4, 2.2)  # upright, as a phone is held
_OVER_INCHES = (0.25, 0.5)  # for the keys
_LEAD_TICKS = (0.5, 1, 2, 3, 5, 7, 10, 15, 30, 60)
_NEAREST_DAYS = 0.4  # days to the fall, on a log axis: nearer evenings are drawn here
_SHOWN = 0.9  # share of bar ends within the axis; longer bars run out of it
_LEAST_SHOWN_DAYS = 3.0
_MANY = 150  # with more evenings, marks are smaller and fainter


def plot_errors(evenings: Sequence[Evening], ax: Axes) -> Axes:
    """Draw the error of each forecast against its lead, with its 80 % interval as a bar.

    Parameters
    ----------
    evenings : sequence of Evening
        At least one.
    ax : Axes
        Where to draw. Time runs to the right, towards the fall; a bar that reaches the level line
        held the day. What is beyond the axis is a triangle at its edge.

    Returns
    -------
    Axes
        The same.
    """
    edge = _edge(evenings)
    many = len(evenings) > _MANY
    for held, colour, fill, what in (
        (True, SEA, SEA, "80 % interval held the day"),
        (False, RUST, "white", "it did not"),
    ):
        some = [evening for evening in evenings if evening.held80 == held]
        if some:
            _errors(ax, some, edge, many=many, color=colour, mfc=fill)
            ax.plot([], [], "o", color=colour, mfc=fill, label=what)
    ax.axhline(0.0, color=INK, lw=1.2)
    ax.set_xscale("log")
    ax.set_xlim(1.15 * max(*(_lead(e) for e in evenings), 3.0), 0.9 * _NEAREST_DAYS)
    ax.xaxis.set_major_locator(FixedLocator(_LEAD_TICKS))
    ax.xaxis.set_minor_locator(NullLocator())
    ax.xaxis.set_major_formatter(FuncFormatter(lambda x, _: f"{x:g}"))
    ax.set_ylim(-1.04 * edge, 1.04 * edge)
    ax.set_xlabel("days before the fall (log scale)")
    ax.set_ylabel("too early    days    too late")
    return ax


def plot_coverage(table: Sequence[LeadRow], ax: Axes) -> Axes:
    """Draw how often the intervals held the day, and how often they should.

    Parameters
    ----------
    table : sequence of LeadRow
        At least one; drawn from the longest lead to the shortest.
    ax : Axes
        Where to draw. Bars are the range of each share, wide with few vessels.

    Returns
    -------
    Axes
        The same.
    """
    rows = list(reversed(table))
    at = np.arange(float(len(rows)))
    _shares(ax, at - 0.12, [row.held80 for row in rows], "--", fmt="o", color=SEA, mfc=SEA)
    _shares(ax, at + 0.12, [row.held95 for row in rows], ":", fmt="s", color=RUST, mfc="white")
    ax.set_xticks(at, [f"{lead_text(row)}\n{plural(row.vessels, 'vessel')}" for row in rows])
    ax.set_xlim(-0.5, len(rows) - 0.5)
    ax.set_ylim(0.0, 1.0)
    ax.yaxis.set_major_formatter(PercentFormatter(1.0, symbol=" %"))
    ax.set_xlabel("before the fall")
    ax.set_ylabel("evenings on which it held")
    return ax


def save_backtest(backtest: Backtest, path: Path | str) -> Path:
    """Draw errors above coverage, and save the picture.

    Parameters
    ----------
    backtest : Backtest
        With at least one evening.
    path : Path or str
        Ends in .png, .svg or .pdf.

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
    with page(_WIDTH_CM, sum(_INCHES)) as figure:
        rows = panels(figure, _INCHES)
        (top,), (below,) = rows
        plot_errors(backtest.evenings, top)
        plot_coverage(backtest.rows, below)
        for ax in (top, below):
            ax.legend(loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=2)
        vessels = plural(len(backtest.replays), "vessel")
        title = f"Forecasts in hindsight: {vessels}, {len(backtest.evenings)} evenings"
        settle(figure, rows, title, over=_OVER_INCHES, key=False)
        return save_picture(figure, path)


def _edge(evenings: Sequence[Evening]) -> float:
    """Days, either way, that the axis of errors shows: enough for most errors."""
    spans = [(_off(e.low80, e), _off(e.high80, e), e.error_days) for e in evenings]
    ends = np.abs(np.array(spans).T.ravel())
    finite = ends[np.isfinite(ends)]
    return max(float(np.quantile(finite, _SHOWN)) if len(finite) else 0.0, _LEAST_SHOWN_DAYS)


def _errors(
    ax: Axes, evenings: Sequence[Evening], edge: float, *, many: bool, color: str, mfc: str
) -> None:
    """Draw evenings of one kind: bars, and marks that become triangles at the end of the axis."""
    leads, errors = np.array([(_lead(e), e.error_days) for e in evenings]).T
    low, high = np.array([(_off(e.low80, e), _off(e.high80, e)) for e in evenings]).T
    # drawn to just beyond the edge, as a line to infinity is not drawn
    bottom, top = (np.clip(end, -1.5 * edge, 1.5 * edge) for end in (low, high))
    ax.vlines(leads, bottom, top, color=color, lw=1.0, alpha=0.2 if many else 0.45)
    shown = np.clip(errors, -edge, edge)
    for some, mark in ((np.abs(errors) <= edge, "o"), (errors > edge, "^"), (errors < -edge, "v")):
        if some.any():  # an empty mark would upset the layout
            (drawn,) = ax.plot(leads[some], shown[some], mark, color=color, mfc=mfc, clip_on=False)
            drawn.set(markersize=3.0 if many else 5.0, zorder=3)


def _shares(ax: Axes, at: Floats, shares: Sequence[Share], stated_style: str, **look: Any) -> None:
    """Draw how often intervals of one kind held, and how often they should."""
    seen = np.array([share.seen for share in shares])
    reach = [seen - [share.low for share in shares], [share.high for share in shares] - seen]
    level = shares[0].stated
    name = f"{level * 100:.0f} %"
    ax.axhline(level, color=look["color"], lw=1.3, ls=stated_style, label=f"{name} stated")
    ax.errorbar(
        at,
        seen,
        yerr=np.maximum(reach, 0.0).tolist(),  # an array of one makes the oldest numpy warn
        ms=6,
        lw=1.3,
        capsize=3,
        clip_on=False,
        label=f"{name} interval, seen",
        zorder=3,
        **look,
    )


def _lead(evening: Evening) -> float:
    """Days to the fall, as far as a log axis goes."""
    return max(evening.lead_days, _NEAREST_DAYS)


def _off(end: datetime | None, evening: Evening) -> float:
    """Days from the fall to an end of an interval."""
    return math.inf if end is None else (end - evening.fell_at).total_seconds() / 86_400.0
