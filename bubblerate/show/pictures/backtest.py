"""Pictures of forecasts in hindsight: Axes in, the same Axes out; no display, no global state.

Leads and errors in days. Whether an interval held is told by the fill of its mark besides its
colour, so that a grey print still reads.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator, PercentFormatter

from ..backtest_text import lead_text
from .page import INK, RUST, SEA, page, picture_path, save_picture, with_title

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime
    from pathlib import Path

    from matplotlib.axes import Axes

    from ...shelf.backtest import Evening
    from ...shelf.coverage import Backtest, LeadRow

__all__ = ["plot_coverage", "plot_errors", "save_backtest"]

_SIZE = (12.7, 7.2)  # cm wide, inches high: upright, as a phone is held
_LEAD_TICKS = (0.5, 1, 2, 3, 5, 7, 10, 15, 30, 60)
_NEAREST_DAYS = 0.4  # to the fall, on a log axis: nearer evenings stand here
_SHOWN = 0.9  # of the ends of the bars lie within the axis; longer bars run out of it
_LEAST_SHOWN_DAYS = 3.0
_MANY = 150  # evenings, from which marks are smaller and fainter


def plot_errors(evenings: Sequence[Evening], ax: Axes) -> Axes:
    """Draw the error of each forecast against its lead, with its 80 % interval as a bar.

    Parameters
    ----------
    evenings : sequence of Evening
        At least one.
    ax : Axes
        Drawn on. Time runs to the right, to the fall; a bar that reaches the level line held the
        day. What lies beyond the axis stands at its edge as a triangle.

    Returns
    -------
    Axes
        The same.
    """
    leads = np.array([max(e.lead_days, _NEAREST_DAYS) for e in evenings])
    low, high = (
        np.array([_off(end, e) for end, e in zip(ends, evenings, strict=True)])
        for ends in ([e.low80 for e in evenings], [e.high80 for e in evenings])
    )
    errors, held = (
        np.array([e.error_days for e in evenings]),
        np.array([e.held80 for e in evenings]),
    )
    ends = np.abs(np.concatenate([low, high, errors]))
    known = ends[np.isfinite(ends)]
    edge = max(float(np.quantile(known, _SHOWN)) if len(known) else 0.0, _LEAST_SHOWN_DAYS)
    many = len(evenings) > _MANY
    for which, colour, fill, what in (
        (held, SEA, SEA, "80 % interval held the day"),
        (~held, RUST, "white", "did not"),
    ):
        if not which.any():
            continue
        # drawn to just beyond the edge: a line to infinity is none
        bottom, top = (np.clip(end[which], -1.5 * edge, 1.5 * edge) for end in (low, high))
        ax.vlines(leads[which], bottom, top, color=colour, lw=1.0, alpha=0.2 if many else 0.45)
        shown = np.clip(errors[which], -edge, edge)
        for beyond, mark in (
            (np.abs(errors[which]) <= edge, "o"),
            (errors[which] > edge, "^"),
            (errors[which] < -edge, "v"),
        ):
            if not beyond.any():  # an empty mark would upset the layout
                continue
            ax.plot(
                leads[which][beyond],
                shown[beyond],
                mark,
                ms=3.0 if many else 5.0,
                color=colour,
                mfc=fill,
                clip_on=False,
                zorder=3,
            )
        ax.plot([], [], "o", color=colour, mfc=fill, label=what)
    ax.axhline(0.0, color=INK, lw=1.2)
    ax.set_xscale("log")
    ax.set_xlim(1.15 * max(float(leads.max()), 3.0), 0.9 * _NEAREST_DAYS)
    ax.xaxis.set_major_locator(FixedLocator(_LEAD_TICKS))
    ax.xaxis.set_minor_locator(NullLocator())
    ax.xaxis.set_major_formatter(FuncFormatter(lambda x, _: f"{x:g}"))
    ax.set_ylim(-1.04 * edge, 1.04 * edge)
    ax.set_xlabel("days before the fall (log scale)")
    ax.set_ylabel("too early    days    too late")
    return ax


def plot_coverage(table: Sequence[LeadRow], ax: Axes) -> Axes:
    """Draw how often the intervals held the day beside how often they should.

    Parameters
    ----------
    table : sequence of LeadRow
        At least one; drawn from the longest lead to the shortest.
    ax : Axes
        Drawn on. Bars are the reach of each share, wide where there are few vessels.

    Returns
    -------
    Axes
        The same.
    """
    rows = list(reversed(table))
    at = np.arange(len(rows))
    for name, shift, mark, colour, fill, style in (
        ("held80", -0.12, "o", SEA, SEA, "--"),
        ("held95", 0.12, "s", RUST, "white", ":"),
    ):
        shares = [getattr(row, name) for row in rows]
        seen = np.array([one.seen for one in shares])
        reach = [seen - [one.low for one in shares], [one.high for one in shares] - seen]
        stated = f"{shares[0].stated * 100:.0f} %"
        ax.axhline(shares[0].stated, color=colour, lw=1.3, ls=style, label=f"{stated} stated")
        ax.errorbar(
            at + shift,
            seen,
            yerr=np.maximum(reach, 0.0),
            fmt=mark,
            ms=6,
            color=colour,
            mfc=fill,
            lw=1.3,
            capsize=3,
            clip_on=False,
            label=f"{stated} interval, seen",
            zorder=3,
        )
    vessels = ["1 vessel" if row.vessels == 1 else f"{row.vessels} vessels" for row in rows]
    names = [f"{lead_text(row)}\n{n}" for row, n in zip(rows, vessels, strict=True)]
    ax.set_xticks(at, names)
    ax.set_xlim(-0.5, len(rows) - 0.5)
    ax.set_ylim(0.0, 1.0)
    ax.yaxis.set_major_formatter(PercentFormatter(1.0, symbol=" %"))
    ax.set_xlabel("before the fall")
    ax.set_ylabel("evenings on which it held")
    return ax


def save_backtest(found: Backtest, path: Path | str) -> Path:
    """Draw errors above coverage, and save the picture.

    Parameters
    ----------
    found : Backtest
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
    with page(*_SIZE) as figure:
        top, below = figure.subplots(2, 1)
        plot_errors(found.evenings, top)
        plot_coverage(found.rows, below)
        for ax in (top, below):
            ax.legend(loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=2)
        vessels = "1 vessel" if len(found.replays) == 1 else f"{len(found.replays)} vessels"
        with_title(figure, f"Forecasts in hindsight: {vessels}, {len(found.evenings)} evenings")
        return save_picture(figure, path)


def _off(end: datetime | None, evening: Evening) -> float:
    """Days from the fall to an end of an interval."""
    return math.inf if end is None else (end - evening.fell_at).total_seconds() / 86_400.0
