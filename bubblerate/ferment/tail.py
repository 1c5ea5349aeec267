"""Finds the counts of a slowing ferment in a diary, its tail, and turns them into arrays.

Times are days since the tail began, last axis time; arrays are read-only.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import accumulate
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from numpy.typing import NDArray

from ..diary.events import BREAKS, NEW_SUGAR
from .priors import COLD_C, COLD_DROP_C, Q10, UNSETTLED_HOURS, UNSETTLED_TRUST

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..diary.visit import Visit

__all__ = ["Tail", "find_counts", "find_tail"]

Floats = NDArray[np.float64]
_T = TypeVar("_T", bound=np.generic)

_MOST_STRETCHES = 3  # told apart; before them a bubble is taken to have kept its size
_DAY = timedelta(days=1)
_MOST_COUNTS = 400  # counts in the sums; more are merged
_HUMP = 3.0  # a rise by this factor after the peak is no noise: the ferment has started again
_HUMP_BUBBLES = 5  # bubbles on a usual evening of the rise, so that it cannot be chance


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tail:
    """The n counts from the peak on, ready for the sums; at least one.

    Attributes
    ----------
    start : datetime
        When the first count was made; `days` counts from here.
    days : ndarray, shape (n,)
        Time of each count since `start` [days].
    bubbles : ndarray, shape (n,)
        Bubbles counted.
    seconds : ndarray, shape (n,)
        Length of each count [s].
    temp_offset_10c : ndarray, shape (n,)
        (temperature - usual temperature) / 10 C at each count; 0 if no temperature is known.
    trust : ndarray, shape (n,)
        1 for a count that tells how much sugar is left, 0 for one made while the yeast rested in
        the cold, in between for one made soon after the jar was disturbed.
    stretch : ndarray of int, shape (n,)
        0 for the counts since the jar or its airlock was last changed, 1 for those before that
        change, and so on. Only within a stretch does a bubble keep its size.
    usual_c : float or None
        Median of the temperatures noted in the tail [C].
    """

    start: datetime
    days: Floats
    bubbles: Floats
    seconds: Floats
    temp_offset_10c: Floats
    trust: Floats
    stretch: NDArray[np.int64]
    usual_c: float | None

    @property
    def trusted(self) -> int:
        """Number of counts that are fully trusted."""
        return int((self.trust == 1.0).sum())

    def __len__(self) -> int:
        """Count the counts."""
        return len(self.days)

    def day_of(self, when: datetime) -> float:
        """Days from the start of the tail to `when`."""
        return (when - self.start) / timedelta(days=1)

    def moment(self, day: float) -> datetime:
        """The moment this many days after the start of the tail."""
        return self.start + timedelta(days=day)


def find_tail(visits: Sequence[Visit]) -> Tail | None:
    """Find the counts that show how the ferment slows.

    Parameters
    ----------
    visits : sequence of Visit
        Live rows of one diary, oldest first.

    Returns
    -------
    Tail or None
        From the peak that followed the last sugar; None if nothing was counted since then.

    Notes
    -----
    The peak is the largest running median of three, so that one wild count makes no peak. Counts in
    the hours of `UNSETTLED_HOURS` make none either. If the rate later rises threefold, and not just
    with the weather, the ferment has started again and the tail begins at the new peak. These rules
    are ours (common practice, no source). What is assumed of warmth and disturbance is in
    `bubblerate.ferment.priors`.
    """
    found = _rows(visits, _MOST_COUNTS)
    if found is None:
        return None
    first, rows = found
    days, bubbles, seconds, temp_c, trust, _ = rows.T
    settled = np.flatnonzero(trust == 1.0) if np.any(trust == 1.0) else np.arange(len(days))
    temp_offset_10c = _temp_offsets(days, temp_c)[0]
    peak = int(settled[_peak(bubbles[settled], seconds[settled], temp_offset_10c[settled])])
    return _counts(first, rows[peak:])


def find_counts(visits: Sequence[Visit], *, most: int) -> Tail | None:
    """Find all counts since sugar was last added, even those before the peak.

    Parameters
    ----------
    visits : sequence of Visit
        Live rows of one diary, oldest first.
    most : int
        With more counts, neighbours are merged.

    Returns
    -------
    Tail or None
        None if nothing was counted since then.
    """
    found = _rows(visits, most)
    return None if found is None else _counts(*found)


def _rows(visits: Sequence[Visit], most: int) -> tuple[datetime, Floats] | None:
    """The time of the first count since the last sugar, and all counts since, one row each."""
    # the row of the event is left out: its count was made before the event
    since = max((i + 1 for i, v in enumerate(visits) if v.event in NEW_SUGAR), default=0)
    counted = [v for v in visits[since:] if v.bubbles is not None]
    if not counted:
        return None
    first = counted[0].when
    rows = np.empty((len(counted), 6))
    rows[:, 0] = [(v.when - first) / _DAY for v in counted]
    rows[:, 1] = [v.bubbles for v in counted]
    rows[:, 2] = [v.seconds for v in counted]
    rows[:, 3] = [np.nan if v.temp_c is None else v.temp_c for v in counted]
    rows[:, 4] = _trusts(visits, counted)
    rows[:, 5] = _stretches(visits[since:], counted)
    return first, _merged(rows, most)


def _trusts(visits: Sequence[Visit], counted: Sequence[Visit]) -> list[float]:
    """How far the disturbances of the jar leave each count to be trusted."""
    unsettled = _Unsettled(visits)
    return [UNSETTLED_TRUST if v.when in unsettled else 1.0 for v in counted]


def _stretches(visits: Sequence[Visit], counted: Sequence[Visit]) -> list[int]:
    """How many times a bubble may still have changed its size after each count."""
    changes = [v.when for v in visits if v.event in BREAKS]
    return [min(len(changes) - bisect_left(changes, v.when), _MOST_STRETCHES - 1) for v in counted]


def _counts(first: datetime, rows: Floats) -> Tail:
    """Make counts of rows, on a clock that starts at the first."""
    days, bubbles, seconds, temp_c, trust, stretch = rows.T
    temp_offset_10c, usual_c = _temp_offsets(days, temp_c)
    return Tail(
        start=first + timedelta(days=float(days[0])),
        days=_frozen(days - days[0]),
        bubbles=_frozen(bubbles),
        seconds=_frozen(seconds),
        temp_offset_10c=_frozen(temp_offset_10c),
        trust=_frozen(np.where(_resting(temp_c, usual_c), 0.0, trust)),
        stretch=_frozen(np.unique(stretch.astype(int), return_inverse=True)[1]),
        usual_c=usual_c,
    )


class _Unsettled:
    """The hours after each disturbance in which the airlock may mislead."""

    def __init__(self, visits: Sequence[Visit]) -> None:
        acts = [(v.when, UNSETTLED_HOURS[v.event]) for v in visits if v.event in UNSETTLED_HOURS]
        self._begun = [when for when, _ in acts]
        self._over = [*accumulate((when + timedelta(hours=h) for when, h in acts), max)]

    def __contains__(self, when: datetime) -> bool:
        """Whether a moment lies within such hours."""
        acts = bisect_left(self._begun, when)
        return acts > 0 and when < self._over[acts - 1]


def _merged(rows: Floats, most: int) -> Floats:
    """Merge neighbouring counts if there are more than a curve can use.

    Bubbles and seconds are added up and days averaged; all else is taken from the first count of a
    lot. The last lot keeps the moment of its last count.
    """
    if len(rows) <= most:
        return rows
    lots = np.linspace(0, len(rows), most, endpoint=False).astype(int)
    together = rows[lots]
    sums = np.add.reduceat(rows[:, :3], lots)
    together[:, 0] = sums[:, 0] / np.diff(np.append(lots, len(rows)))
    together[-1, 0] = rows[-1, 0]
    together[:, 1:3] = sums[:, 1:3]
    return np.asarray(together, float)


def _temp_offsets(days: Floats, temp_c: Floats) -> tuple[Floats, float | None]:
    """Tens of degrees above the usual temperature, gaps filled from neighbours; and the usual."""
    noted = ~np.isnan(temp_c)
    if not noted.any():
        return np.zeros(len(days)), None
    usual_c = float(np.median(temp_c[noted]))
    return (np.interp(days, days[noted], temp_c[noted]) - usual_c) / 10.0, usual_c


def _resting(temp_c: Floats, usual_c: float | None) -> NDArray[np.bool_]:
    """Whether it was so cold for this jar that a quiet airlock says nothing about sugar."""
    if usual_c is None:
        return np.zeros(len(temp_c), bool)
    return (temp_c < COLD_C) & (temp_c <= usual_c - COLD_DROP_C)  # False if unknown


def _peak(bubbles: Floats, seconds: Floats, temp_offset_10c: Floats) -> int:
    """Index of the count from which the rate falls for good."""
    if len(bubbles) < 3 or not bubbles.any():
        return int(np.argmax(bubbles / seconds))
    # plus half a bubble, so that a zero has a logarithm; only here, not in the fit
    log_rate = np.log((bubbles + 0.5) / seconds) - np.log(Q10) * temp_offset_10c
    smooth, usual_count = _median_of_three(log_rate), _median_of_three(bubbles)
    peak = _highest(smooth, log_rate)
    for i in range(peak + 1, len(bubbles)):
        if i <= peak or usual_count[i] < _HUMP_BUBBLES:
            continue
        if smooth[i] - smooth[peak:i].min() > np.log(_HUMP):
            peak = i + _highest(smooth[i:], log_rate[i:])
    return peak


def _highest(smooth: Floats, raw: Floats) -> int:
    """Index of the largest smoothed value; among equals the largest raw one, then the first."""
    return int(np.lexsort((-np.arange(len(raw)), raw, smooth))[-1])


def _median_of_three(values: Floats) -> Floats:
    """Smooth by a running median of three; the ends use the three values nearest to them."""
    windows = np.lib.stride_tricks.sliding_window_view(values, 3)
    middle = np.median(windows, axis=-1)
    return np.concatenate([middle[:1], middle, middle[-1:]])


def _frozen(values: NDArray[_T]) -> NDArray[_T]:
    values = np.ascontiguousarray(values)
    values.flags.writeable = False
    return values
