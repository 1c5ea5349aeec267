"""Which visits belong to the declining tail, and the one seam from a diary to arrays.

Times are days since the tail began, last axis time; arrays are read-only.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from .diary import BREAKS, Visit

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["COLD_C", "COLD_DROP_C", "UNSETTLED_HOURS", "Tail", "tail"]

Floats = NDArray[np.float64]

# Hours for which the airlock misleads after the jar was disturbed: opened, it may stand still for
# a day or more; shaken, it spends a burst of dissolved gas. Common practice, no source.
UNSETTLED_HOURS = {
    "sampled": 36.0,
    "stirred": 36.0,
    "moved": 36.0,
    "racked": 36.0,
    "filtered": 36.0,
    "fined": 36.0,
    "sulphited": 36.0,
    "stabilised": 36.0,
}

COLD_C = 12.0  # yeast may only be resting below this; common practice, no source
COLD_DROP_C = 4.0  # below the jar's own usual

_Q10_NOMINAL = 2.0  # only to compare counts of warm and cold evenings while looking for the peak
_MOST_COUNTS = 400  # in the sums; more are taken together
_HUMP = 3.0  # a rise by this factor after the peak is a ferment begun anew, not noise
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
    warmth : ndarray, shape (n,)
        (temperature - usual temperature) / 10 C at each count; 0 where no temperature is known.
    trust : ndarray, shape (n,)
        1 for a count that tells of the sugar left, 0 for one made while the yeast rested from cold.
    usual_c : float or None
        Median of the temperatures noted in the tail [C].
    """

    start: datetime
    days: Floats
    bubbles: Floats
    seconds: Floats
    warmth: Floats
    trust: Floats
    usual_c: float | None

    @property
    def trusted(self) -> int:
        """Number of counts that tell of the sugar left."""
        return int(self.trust.sum())

    def __len__(self) -> int:
        """Count the counts."""
        return len(self.days)

    def day_of(self, when: datetime) -> float:
        """Days from the start of the tail to `when`."""
        return (when - self.start) / timedelta(days=1)


def tail(visits: Sequence[Visit]) -> Tail | None:
    """Find the counts that show how the ferment slows.

    Parameters
    ----------
    visits : sequence of Visit
        Live rows of one diary, oldest first.

    Returns
    -------
    Tail or None
        From the peak on, since the last event of `BREAKS`, without the counts of the hours named
        in `UNSETTLED_HOURS`; None if nothing was counted since then.

    Notes
    -----
    The peak is the largest running median of three, so that one wild count makes no peak. Should
    the rate rise again later by a factor of three, and not by the weather alone, the tail begins
    at the new peak: that ferment has begun anew.
    """
    # the break's own row is left out: its count was made on the other side of the break
    since = max((i + 1 for i, v in enumerate(visits) if v.event in BREAKS), default=0)
    unsettled = [
        (v.when, v.when + timedelta(hours=UNSETTLED_HOURS[v.event]))
        for v in visits
        if v.event in UNSETTLED_HOURS
    ]
    counted = [
        v
        for v in visits[since:]
        if v.bubbles is not None and not any(a < v.when < b for a, b in unsettled)
    ]
    if not counted:
        return None
    first = counted[0].when
    days, bubbles, seconds, temp_c = _merged(
        np.array([(v.when - first) / timedelta(days=1) for v in counted]),
        np.array([v.bubbles for v in counted], float),
        np.array([v.seconds for v in counted]),
        np.array([np.nan if v.temp_c is None else v.temp_c for v in counted]),
    )
    peak = _peak(bubbles, seconds, _warmth(days, temp_c)[0])
    start = first + timedelta(days=float(days[peak]))
    days = np.maximum(days[peak:] - (start - first) / timedelta(days=1), 0.0)
    warmth, usual_c = _warmth(days, temp_c[peak:])
    return Tail(
        start=start,
        days=_frozen(days),
        bubbles=_frozen(bubbles[peak:]),
        seconds=_frozen(seconds[peak:]),
        warmth=_frozen(warmth),
        trust=_frozen(np.where(_resting(temp_c[peak:], usual_c), 0.0, 1.0)),
        usual_c=usual_c,
    )


def _merged(
    days: Floats, bubbles: Floats, seconds: Floats, temp_c: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Counts taken together in neighbouring lots where there are more than a curve can use.

    Bubbles and seconds are summed, days averaged; a lot has the temperature of its first count.
    The last lot keeps the moment of its last count, so that it is not later than the question.
    """
    if len(days) <= _MOST_COUNTS:
        return days, bubbles, seconds, temp_c
    lots = np.linspace(0, len(days), _MOST_COUNTS, endpoint=False).astype(int)
    size = np.diff(np.append(lots, len(days)))
    middle = np.add.reduceat(days, lots) / size
    middle[-1] = days[-1]
    return middle, np.add.reduceat(bubbles, lots), np.add.reduceat(seconds, lots), temp_c[lots]


def _warmth(days: Floats, temp_c: Floats) -> tuple[Floats, float | None]:
    """Tens of degrees above the usual, gaps filled from the neighbours; and the usual."""
    seen = ~np.isnan(temp_c)
    if not seen.any():
        return np.zeros(len(days)), None
    usual_c = float(np.median(temp_c[seen]))
    return (np.interp(days, days[seen], temp_c[seen]) - usual_c) / 10.0, usual_c


def _resting(temp_c: Floats, usual_c: float | None) -> NDArray[np.bool_]:
    """Whether it was so cold, for this jar, that a quiet airlock says nothing of the sugar."""
    if usual_c is None:
        return np.zeros(len(temp_c), bool)
    return (temp_c < COLD_C) & (temp_c <= usual_c - COLD_DROP_C)  # False where unknown


def _peak(bubbles: Floats, seconds: Floats, warmth: Floats) -> int:
    """Index of the count from which the rate declines for good."""
    if len(bubbles) < 3 or not bubbles.any():
        return int(np.argmax(bubbles / seconds))
    # half a bubble more, so that a zero has a logarithm; used here only, never in the fit
    log_rate = np.log((bubbles + 0.5) / seconds) - np.log(_Q10_NOMINAL) * warmth
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


def _frozen(values: Floats) -> Floats:
    values = np.ascontiguousarray(values)
    values.flags.writeable = False
    return values
