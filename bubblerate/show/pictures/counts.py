"""Draws the counts in the pictures of a tail: rates with error bars, by how they are used.

Times on the x axis, rates in bubbles a minute on the y axis with a given bottom: on a log axis,
lower rates are drawn at the bottom.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, NamedTuple

import matplotlib.dates as mdates
import numpy as np

from ...ferment.poisson import at_least_per_min, at_most_per_min
from ...ferment.residuals import Part, parts_of
from .page import ASH, BARS, INK, RUST

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from ...course.judgement import Judgement
    from ...diary.visit import Visit

__all__ = ["LOOKS", "SLIP", "Look", "counted", "draw_counts", "floor_of"]

_SURE: Final = 0.9  # chance beyond each end of the bars, which hold the rate four times out of five
_MANY: Final = 120  # with more counts, marks are smaller and bars fainter
_LOWEST_SHOWN: Final = 0.4  # bottom of a log axis, as a share of the least rate to show
_NONE: Final = "none counted"


class Look(NamedTuple):
    """Marks of a count and of a count of none, and the name in the key; None if named at the mark.

    A full mark counts in full; size is a share of the usual.
    """

    some: str
    none: str
    edge: str
    fill: str
    size: float
    name: str | None


SLIP: Final = "likely a mistake"  # named at the mark
LOOKS: Final[dict[Part | None, Look]] = {
    Part.FULL: Look("o", "^", INK, INK, 1.0, "counted"),
    Part.LITTLE: Look("o", "^", INK, "white", 1.0, "cold or disturbed"),
    None: Look("o", "^", ASH, ASH, 0.85, "counted, earlier"),
    Part.SLIP: Look("X", "X", RUST, "white", 1.6, None),
}


def counted(judgement: Judgement) -> list[Visit]:
    """Live rows with a count."""
    return [v for v in judgement.diary.live if v.bubbles is not None]


def floor_of(visits: Sequence[Visit], threshold_per_min: float) -> float:
    """Bottom of a log axis: below every rate above zero, and below the threshold."""
    return _LOWEST_SHOWN * min([*(v.per_min for v in visits if v.per_min), threshold_per_min])


def draw_counts(
    ax: Axes, visits: Sequence[Visit], judgement: Judgement, floor: float, *, size: float = 4.5
) -> list[tuple[float, float]]:
    """Draw rates with exact Poisson bars; full marks for those that count in full.

    Returns
    -------
    list of (float, float)
        Places of likely mistakes, which are named at the mark and not in the key.
    """
    many = len(visits) > _MANY
    parts = _parts(visits, judgement)
    none_named = False
    for part, look in LOOKS.items():
        chosen = [v for v, found in zip(visits, parts, strict=True) if found is part]
        some, none = [v for v in chosen if v.bubbles], [v for v in chosen if not v.bubbles]
        marks = {"ms": size * (0.6 if many else 1.0) * look.size, "color": look.edge}
        marks["mfc"] = look.fill
        if some:
            _rates(ax, some, floor, faint=many, fmt=look.some, label=look.name, **marks)
        if none:
            # its shape is in the key once, its colour if no other mark has it
            label = _NONE if not none_named and look.name else None if some else look.name
            _rates(ax, none, floor, faint=many, fmt=look.none, label=label, **marks)
            none_named = True
    slips = [v for v, found in zip(visits, parts, strict=True) if found is Part.SLIP]
    return [(float(mdates.date2num(v.when)), max(v.per_min or 0.0, floor)) for v in slips]


def _parts(visits: Sequence[Visit], judgement: Judgement) -> list[Part | None]:
    """How each count is used; None before the tail."""
    tail = judgement.tail
    if tail is None:
        return [None] * len(visits)
    known = parts_of(tail, judgement.fit)
    days = np.array([tail.day_of(v.when) for v in visits])
    begun = np.flatnonzero(days >= 0.0)
    if len(begun) == len(tail):
        places = np.arange(len(tail))
    else:  # many counts are merged: each is used like its neighbours
        places = np.searchsorted(0.5 * (tail.days[1:] + tail.days[:-1]), days[begun])
    found: list[Part | None] = [None] * len(visits)
    for i, place in zip(begun, places, strict=True):
        found[i] = known[place]
    return found


def _rates(ax: Axes, visits: Sequence[Visit], floor: float, *, faint: bool, **look: Any) -> None:
    """Draw some counts with one kind of mark, each with a bar of the rates still possible."""
    n = np.array([v.bubbles for v in visits], float)
    minutes = np.array([v.seconds for v in visits]) / 60.0
    low, high = (
        np.array([limit(b, m, sure=_SURE) for b, m in zip(n, minutes, strict=True)])
        for limit in (at_least_per_min, at_most_per_min)
    )
    rate = np.maximum(n / minutes, floor)
    reach = np.array([rate - np.clip(low, floor, rate), np.maximum(high, rate) - rate])
    _, _, (bars,) = ax.errorbar(
        mdates.date2num([v.when for v in visits]),
        rate,
        yerr=reach.tolist(),  # an array of one count makes the oldest numpy warn
        lw=BARS,
        clip_on=False,
        zorder=3,
        **look,
    )
    if faint:
        bars.set(alpha=0.3, linewidth=0.5 * BARS)
