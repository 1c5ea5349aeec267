"""Bubbles added up over days, to compare with how far the gravity fell.

Between two counts the rate is taken to change in a straight line. Bubbles are added up only within
a stretch in which the size of a bubble stays the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..diary.events import BREAKS
from ..physics.constants import MINUTES_PER_DAY
from .priors import ML_GAS_PER_POINT_LITRE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..diary.visit import Visit

__all__ = [
    "BubbleTotals",
    "find_totals",
    "points_per_ml",
]

Floats = NDArray[np.float64]

WIDEST_GAP_DAYS = 4.0  # between two counts that may be joined; our choice


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BubbleTotals:
    """Bubbles since the first count of one unbroken stretch.

    Attributes
    ----------
    start : datetime
        When the first count was made.
    end : datetime or None
        The break that ends the stretch; None if it still runs.
    days : ndarray, shape (n,)
        Time of each count since `start` [days].
    per_day : ndarray, shape (n,)
        Rate at each count [bubbles/day].
    """

    start: datetime
    end: datetime | None
    days: Floats
    per_day: Floats

    def bubbles(self, since: datetime, until: datetime) -> float | None:
        """Bubbles between two moments, by the trapezoidal rule.

        Parameters
        ----------
        since, until : datetime

        Returns
        -------
        float or None
            None if a break, or a gap of more than `WIDEST_GAP_DAYS`, leaves part of the time out.
        """
        if self.end is not None and until > self.end:
            return None
        low, high = (float((when - self.start) / timedelta(days=1)) for when in (since, until))
        near = (self.days > low) & (self.days < high)
        knots = np.concatenate([[low], self.days[near], [high]])
        outside = self.days[0] - low, high - self.days[-1]
        gaps = np.diff(self.days[self._around(low, high)])
        if max(outside) > WIDEST_GAP_DAYS or (len(gaps) and np.max(gaps) > WIDEST_GAP_DAYS):
            return None
        return float(np.trapezoid(np.interp(knots, self.days, self.per_day), knots))

    def _around(self, low: float, high: float) -> slice:
        """Counts between two days, with one more before and one after."""
        first, last = np.searchsorted(self.days, [low, high])
        return slice(max(int(first) - 1, 0), int(last) + 1)


def find_totals(visits: Sequence[Visit], within: datetime) -> BubbleTotals | None:
    """Add up the stretch that holds a moment.

    Parameters
    ----------
    visits : sequence of Visit
        Live rows, oldest first.
    within : datetime
        A moment of the stretch; one at a break belongs to the stretch after it.

    Returns
    -------
    BubbleTotals or None
        None if nothing was counted in that stretch.
    """
    breaks = [v.when for v in visits if v.event in BREAKS]
    start = max((when for when in breaks if when <= within), default=None)
    end = min((when for when in breaks if when > within), default=None)
    counted = [
        v
        for v in visits
        if v.per_min is not None
        and (start is None or v.when > start)
        and (end is None or v.when <= end)  # counted before the break of its row
    ]
    if not counted:
        return None
    first = counted[0].when
    return BubbleTotals(
        start=first,
        end=end,
        days=np.array([(v.when - first) / timedelta(days=1) for v in counted]),
        per_day=np.array([v.per_min or 0.0 for v in counted]) * MINUTES_PER_DAY,
    )


def points_per_ml(
    visits: Sequence[Visit], since: datetime, until: datetime, litres: float
) -> float | None:
    """Fall of gravity that the bubbles between two moments stand for, per mL in a bubble.

    Parameters
    ----------
    visits : sequence of Visit
        Live rows, oldest first.
    since, until : datetime
    litres : float
        Wine in the vessel [L].

    Returns
    -------
    float or None
        [points/mL]; None if the counts do not cover the time.

    Notes
    -----
    Bubbles divided by the gas that one point makes: `ML_GAS_PER_POINT_LITRE` times the litres.
    """
    totals = find_totals(visits, since)
    bubbles = None if totals is None else totals.bubbles(since, until)
    return None if bubbles is None else bubbles / (ML_GAS_PER_POINT_LITRE * litres)
