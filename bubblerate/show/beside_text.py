"""Writes several ferments side by side in a table; no sums here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..text import format_day, plural
from .balance_text import span_text
from .blocks import Grid, Paper, paper_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..course.season import Season

__all__ = ["beside_text", "beside_title"]


def beside_text(seasons: Sequence[Season], *, threshold: str, width: int) -> str:
    """Write start, finish, days to the threshold and strength of each.

    Parameters
    ----------
    seasons : sequence of Season
    threshold : str
        The rate in words.
    width : int
        Characters a line may hold.

    Returns
    -------
    str
        No line end after the last.
    """
    head = ("jar", "pitched", "start", "last", f"to {threshold}", "% vol")
    rows = tuple(
        (
            one.vessel,
            format_day(one.began),
            _sg(one.start_sg),
            _sg(one.last_sg),
            _quiet(one),
            "-" if one.abv_pct is None else span_text(one.abv_pct),
        )
        for one in seasons
    )
    names = " beside ".join(one.vessel for one in seasons)
    return paper_text(Paper(title=names, blocks=(Grid(head, rows, (1,) * len(head)),)), width=width)


def beside_title(names: Sequence[str]) -> str:
    """Name the jars that are compared.

    Examples
    --------
    >>> beside_title(["plum", "sloe", "fig"])
    'plum beside sloe and fig'
    """
    first, *others = names
    return f"{first} beside {' and '.join(others)}" if others else first


def _sg(value: float | None) -> str:
    return "-" if value is None else f"{value:.3f}"


def _quiet(one: Season) -> str:
    if one.quiet_days is not None:
        return plural(one.quiet_days, "day")
    if one.expected_days is not None:
        return f"about {plural(one.expected_days, 'day')}"
    return "not yet"
