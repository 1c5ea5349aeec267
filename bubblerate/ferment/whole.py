"""All that was seen of a ferment since it was pitched: what is laid beside the atlas.

Only a ferment that ran from its first sugar on, untouched, is like one of the atlas: none to which
sugar or water was added, or whose yeast was stopped or helped. Bubbles are those of today's airlock
and place. Times are days since pitching, gravity in points above 1.000.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from ..diary.events import ADDED, Event
from ..physics.alcohol import OG_HIGH
from ..physics.scales import points
from .atlas import load_atlas
from .finish import LEAST_OG
from .likeness import Likeness, find_likeness
from .tail import find_counts

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..diary.visit import Visit
    from .gravity import Reading
    from .tail import Tail

__all__ = ["Whole", "gather_whole"]

Floats = NDArray[np.float64]

_ANOTHERS: Final = ADDED | {
    *(Event.STARTER, Event.STABILISED, Event.SULPHITED, Event.CHILLED, Event.FILTERED),
}
_MOST_COUNTS: Final = 100  # laid beside each curve; more are taken together
_SEEN_RISING: Final = 2.0  # times its first count: then it began no earlier than
_BEGAN_WITHIN_DAYS: Final = 3.0
_START_DAYS: Final = 1.0  # after pitching; a later reading is not the start


@dataclass(frozen=True, kw_only=True, eq=False)  # no slots: what is worked out once is kept
class Whole:
    """Counts and gravity since pitching, n and k of them, n at least 1.

    Attributes
    ----------
    start : datetime
        From which days are counted: when it was pitched, or first counted.
    pitched_within_days : float
        How long before `start` it may have been pitched.
    days, bubbles, seconds, trust : ndarray, shape (n,)
        Counts since the airlock or the place was last changed, as in `Tail`; none without trust.
    reading_days, reading_points : ndarray, shape (k,)
        Readings but for that of the start.
    og_points : float or None
        Gravity at the start.
    finish_points : float or None
        Where the maker expects it to end.
    litres : float or None
        Wine in the vessel [L].
    """

    start: datetime
    pitched_within_days: float
    days: Floats
    bubbles: Floats
    seconds: Floats
    trust: Floats
    reading_days: Floats
    reading_points: Floats
    og_points: float | None
    finish_points: float | None
    litres: float | None

    @cached_property
    def log_per_min(self) -> Floats:
        """Ln of the rate of each count [bubbles/min], with half a bubble more."""
        return np.log((self.bubbles + 0.5) / self.seconds * 60.0)

    @cached_property
    def likeness(self) -> Likeness:
        """Whole ferments like it, found when first asked for."""
        return find_likeness(load_atlas(), self)

    @property
    def gravity_known(self) -> bool:
        """Whether a gravity took part."""
        return self.og_points is not None or len(self.reading_days) > 0

    def day_of(self, when: datetime) -> float:
        """Days from the start to `when`."""
        return (when - self.start) / timedelta(days=1)


def gather_whole(
    visits: Sequence[Visit],
    readings: Sequence[Reading],
    *,
    pitched: datetime | None,
    litres: float | None,
    finish_sg: float | None,
) -> Whole | None:
    """Gather what is laid beside the atlas.

    Parameters
    ----------
    visits : sequence of Visit
        Live rows of one wine, oldest first.
    readings : sequence of Reading
        Its gravity, corrected, oldest first.
    pitched : datetime or None
        When the yeast went in, where no row says so.
    litres : float or None
        Wine in the vessel [L].
    finish_sg : float or None
        Gravity at which the maker expects it to end.

    Returns
    -------
    Whole or None
        None where the ferment is unlike those of the atlas, where nobody knows when it began, and
        where nothing was counted since the airlock or the place was last changed.
    """
    counts = find_counts(visits, most=_MOST_COUNTS)
    if counts is None or any(v.event in _ANOTHERS for v in visits):
        return None
    begun = _begun(visits, counts, pitched)
    told = (counts.stretch == 0) & (counts.trust > 0.0)
    if begun is None or not told.any():
        return None
    start, within = begun
    og, later = _start_and_later(readings, start)
    return Whole(
        start=start,
        pitched_within_days=within,
        days=(counts.start - start) / timedelta(days=1) + counts.days[told],
        bubbles=counts.bubbles[told],
        seconds=counts.seconds[told],
        trust=counts.trust[told],
        reading_days=np.array([(r.when - start) / timedelta(days=1) for r in later]),
        reading_points=np.array([points(r.sg) for r in later]),
        og_points=og,
        finish_points=None if finish_sg is None else points(finish_sg),
        litres=litres,
    )


def _begun(
    visits: Sequence[Visit], counts: Tail, pitched: datetime | None
) -> tuple[datetime, float] | None:
    """When it was pitched, and how much earlier that may be; None where nobody knows."""
    said = [v.when for v in visits if v.event == Event.PITCHED]
    start = said[-1] if said else pitched
    if start is not None:
        return (start, 0.0) if start <= counts.start else None
    per_s = (counts.bubbles + 0.5) / counts.seconds
    return (counts.start, _BEGAN_WITHIN_DAYS) if per_s.max() > _SEEN_RISING * per_s[0] else None


def _start_and_later(
    readings: Sequence[Reading], start: datetime
) -> tuple[float | None, list[Reading]]:
    """Gravity at the start, where it was read and can be that of a must; and readings after it."""
    early = [r for r in readings if r.when <= start + timedelta(days=_START_DAYS)]
    later = [r for r in readings if r not in early]
    og = early[0].sg if early and LEAST_OG <= early[0].sg <= OG_HIGH else None
    return (None if og is None else points(og)), later
