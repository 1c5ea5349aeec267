"""Which visits belong to the declining tail, and the one seam from counts in a diary to arrays.

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

_MOST_STRETCHES = 3  # told apart; before them a bubble is taken to have stayed what it was
_MOST_COUNTS = 400  # in the sums; more are taken together
_HUMP = 3.0  # a rise by this factor after the peak is a ferment begun again, not noise
_HUMP_BUBBLES = 5  # counted on a usual evening of the rise, so that chance alone cannot make it


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tail:
    """The counts from the peak on, ready for the sums; n of them, n at least 1.

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
        (temperature - usual temperature) / 10 C at each count; 0 where no temperature is known.
    trust : ndarray, shape (n,)
        1 for a count that tells of the sugar left, 0 for one made while the yeast rested from cold,
        between them for one made soon after the jar was disturbed.
    stretch : ndarray of int, shape (n,)
        0 for the counts since the jar or its airlock was last changed, 1 for those before that
        change, and so on: a bubble stays what it was only within a stretch.
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
        """Number of counts that fully tell of the sugar left."""
        return int((self.trust == 1.0).sum())

    def __len__(self) -> int:
        """Count the counts."""
        return len(self.days)

    def day_of(self, when: datetime) -> float:
        """Days from the start of the tail to `when`."""
        return (when - self.start) / timedelta(days=1)

    def moment(self, day: float) -> datetime:
        """Moment that many days after the start of the tail."""
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
        From the peak on, since sugar was last added; None if nothing was counted since then.

    Notes
    -----
    The peak is the largest running median of three, so that one wild count makes no peak; counts
    of the hours named in `UNSETTLED_HOURS` make none either. Should the rate rise again later by a
    factor of three, and not by the weather alone, the tail begins at the new peak: that ferment
    has begun again. Rules of our own (common practice, no source); what is assumed of warmth and
    disturbance stands in `bubblerate.ferment.priors`.
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
    """Find all counts since sugar was last added, those before the peak too.

    Parameters
    ----------
    visits : sequence of Visit
        Live rows of one diary, oldest first.
    most : int
        Counts beyond which neighbours are taken together.

    Returns
    -------
    Tail or None
        None if nothing was counted since then.
    """
    found = _rows(visits, most)
    return None if found is None else _counts(*found)


def _rows(visits: Sequence[Visit], most: int) -> tuple[datetime, Floats] | None:
    """When the first count since the last sugar was made, and all of them, a row each."""
    # the row of an event is left out: its count was made before what it tells of
    since = max((i + 1 for i, v in enumerate(visits) if v.event in NEW_SUGAR), default=0)
    counted = [v for v in visits[since:] if v.bubbles is not None]
    if not counted:
        return None
    changes = [v.when for v in visits[since:] if v.event in BREAKS]
    unsettled = _Unsettled(visits)
    first = counted[0].when
    rows = np.array(
        [
            (
                (v.when - first) / timedelta(days=1),
                v.bubbles,
                v.seconds,
                np.nan if v.temp_c is None else v.temp_c,
                UNSETTLED_TRUST if v.when in unsettled else 1.0,
                min(len(changes) - bisect_left(changes, v.when), _MOST_STRETCHES - 1),
            )
            for v in counted
        ],
        float,
    )
    return first, _merged(rows, most)


def _counts(first: datetime, rows: Floats) -> Tail:
    """Rows as counts on a clock that starts with the first of them."""
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
    """The hours in which the airlock half misleads, after each disturbance of the jar."""

    def __init__(self, visits: Sequence[Visit]) -> None:
        acts = [(v.when, UNSETTLED_HOURS[v.event]) for v in visits if v.event in UNSETTLED_HOURS]
        self._begun = [when for when, _ in acts]
        self._over = [*accumulate((when + timedelta(hours=h) for when, h in acts), max)]

    def __contains__(self, when: datetime) -> bool:
        """Whether a moment lies after a disturbance, and before its hours are over."""
        acts = bisect_left(self._begun, when)
        return acts > 0 and when < self._over[acts - 1]


def _merged(rows: Floats, most: int) -> Floats:
    """Counts taken together in neighbouring lots where there are more than a curve can use.

    Bubbles and seconds are summed, days averaged; for the rest a lot goes by its first count. The
    last lot keeps the moment of its last count, so that it is not later than the question.
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
    """Tens of degrees above the usual, gaps filled from the neighbours; and the usual."""
    noted = ~np.isnan(temp_c)
    if not noted.any():
        return np.zeros(len(days)), None
    usual_c = float(np.median(temp_c[noted]))
    return (np.interp(days, days[noted], temp_c[noted]) - usual_c) / 10.0, usual_c


def _resting(temp_c: Floats, usual_c: float | None) -> NDArray[np.bool_]:
    """Whether it was so cold, for this jar, that a quiet airlock says nothing of the sugar."""
    if usual_c is None:
        return np.zeros(len(temp_c), bool)
    return (temp_c < COLD_C) & (temp_c <= usual_c - COLD_DROP_C)  # False where unknown


def _peak(bubbles: Floats, seconds: Floats, temp_offset_10c: Floats) -> int:
    """Index of the count from which the rate declines for good."""
    if len(bubbles) < 3 or not bubbles.any():
        return int(np.argmax(bubbles / seconds))
    # half a bubble more, so that a zero has a logarithm; used here only, never in the fit
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
    """Index of the largest smoothed value; of equals the largest raw one, of these the first."""
    return int(np.lexsort((-np.arange(len(raw)), raw, smooth))[-1])


def _median_of_three(values: Floats) -> Floats:
    """Smooth by a running median; the ends take the three values nearest to them."""
    windows = np.lib.stride_tricks.sliding_window_view(values, 3)
    middle = np.median(windows, axis=-1)
    return np.concatenate([middle[:1], middle, middle[-1:]])


def _frozen(values: NDArray[_T]) -> NDArray[_T]:
    values = np.ascontiguousarray(values)
    values.flags.writeable = False
    return values
