"""Gathers all that was seen of a ferment since pitching, to compare it with the atlas.

A jar can be compared only if its ferment ran untouched from the first sugar: no sugar or water
added, the yeast neither stopped nor helped. Only bubbles through today's airlock, in today's place,
are used. Times are thermal days since pitching: days at the jar's usual temperature in which the
yeast does as much. The atlas knows nothing about warm and cold evenings. Gravity is in points above
1.000.
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
from .curve import thermal_days, thermal_days_at
from .finish import LEAST_OG
from .likeness import Likeness, find_likeness
from .priors import Q10
from .tail import find_counts

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..diary.visit import Visit
    from .gravity import Reading
    from .tail import Tail

__all__ = ["Clock", "Whole", "gather_whole"]

Floats = NDArray[np.float64]

_ANOTHERS: Final = ADDED | {
    *(Event.STARTER, Event.STABILISED, Event.SULPHITED, Event.CHILLED, Event.FILTERED),
}
_MOST_COUNTS: Final = 100  # counts compared with each curve; more are merged
_SEEN_RISING: Final = 2.0  # a rise by this factor shows that it began at most
_BEGAN_WITHIN_DAYS: Final = 3.0  # before the first count
_START_DAYS: Final = 1.0  # days after pitching; a later reading is not the start gravity


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Clock:
    """Thermal time beside calendar time, at k moments; the first is pitching.

    Attributes
    ----------
    start : datetime
        When it was pitched, or first counted.
    days, thermal : ndarray, shape (k,)
        Days since then, and thermal days; after the last moment both run at the same speed.
    """

    start: datetime
    days: Floats
    thermal: Floats

    @classmethod
    def of(cls, start: datetime, days: Floats, temp_offset_10c: Floats) -> Clock:
        """Make a clock from counts on some days, each so many tens of degrees above usual."""
        moments = np.append(0.0, days)
        warmer = np.append(temp_offset_10c[0], temp_offset_10c)  # until the first as warm as at it
        thermal = thermal_days(moments, warmer, np.array([[Q10]]))[0]
        return cls(start=start, days=moments, thermal=thermal)

    def thermal_at(self, days: Floats) -> Floats:
        """Thermal days at days since the start, shape (n,)."""
        return np.asarray(thermal_days_at(days, self.thermal[None], self.days)[0], float)

    def days_at(self, thermal: Floats) -> Floats:
        """Days since the start at thermal days, shape (n,)."""
        beyond = thermal - self.thermal[-1]
        within = np.interp(thermal, self.thermal, self.days)
        return np.asarray(np.where(beyond > 0.0, self.days[-1] + beyond, within), float)


@dataclass(frozen=True, kw_only=True, eq=False)  # no slots: cached properties need a dict
class Whole:
    """The n counts, at least one, and k gravity readings since pitching.

    Attributes
    ----------
    clock : Clock
        From which thermal days are read.
    pitched_within_days : float
        How long before `start` it may have been pitched.
    days, bubbles, seconds, trust : ndarray, shape (n,)
        Counts since the airlock or the place was last changed, as in `Tail`. But `seconds` are
        those that give as many bubbles at the usual temperature, and untrusted counts are left out.
    reading_days, reading_points : ndarray, shape (k,)
        Readings, without the one at the start.
    og_points : float or None
        Gravity at the start.
    finish_points : float or None
        Where the maker expects it to end.
    litres : float or None
        Wine in the vessel [L].
    """

    clock: Clock
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
        """Ln of each rate [bubbles/min] at the usual temperature, with half a bubble added."""
        return np.log((self.bubbles + 0.5) / self.seconds * 60.0)

    @cached_property
    def likeness(self) -> Likeness:
        """Whole ferments like it; worked out when first used."""
        return find_likeness(load_atlas(), self)

    @property
    def gravity_known(self) -> bool:
        """Whether a gravity is known."""
        return self.og_points is not None or len(self.reading_days) > 0

    def day_of(self, when: datetime) -> float:
        """Thermal days from the start to `when`."""
        return float(self.clock.thermal_at(np.array([self._since_start(when)]))[0])

    def days_ahead(self, thermal: Floats, at: datetime) -> Floats:
        """Days of the calendar from `at` to thermal days, shape (n,)."""
        return self.clock.days_at(thermal) - self._since_start(at)

    def _since_start(self, when: datetime) -> float:
        return (when - self.clock.start) / timedelta(days=1)


def gather_whole(
    visits: Sequence[Visit],
    readings: Sequence[Reading],
    *,
    pitched: datetime | None,
    usual_c: float | None,
    litres: float | None,
    finish_sg: float | None,
) -> Whole | None:
    """Gather what is compared with the atlas.

    Parameters
    ----------
    visits : sequence of Visit
        Live rows of one wine, oldest first.
    readings : sequence of Reading
        Its gravity, corrected, oldest first.
    pitched : datetime or None
        When the yeast went in, if no row says so.
    usual_c : float or None
        Temperature at which rates are given [C]; without one, warmth is not used.
    litres : float or None
        Wine in the vessel [L].
    finish_sg : float or None
        Gravity at which the maker expects it to end.

    Returns
    -------
    Whole or None
        None if the ferment is unlike those of the atlas, if nobody knows when it began, or if
        nothing was counted since the airlock or the place was last changed.
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
    days = (counts.start - start) / timedelta(days=1) + counts.days
    temp_offset_10c = _temp_offset(counts, usual_c)
    clock = Clock.of(start, days, temp_offset_10c)
    read_on = np.array([(r.when - start) / timedelta(days=1) for r in later])
    return Whole(
        clock=clock,
        pitched_within_days=within,
        days=clock.thermal_at(days[told]),
        bubbles=counts.bubbles[told],
        seconds=(counts.seconds * Q10**temp_offset_10c)[told],
        trust=counts.trust[told],
        reading_days=clock.thermal_at(read_on),
        reading_points=np.array([points(r.sg) for r in later]),
        og_points=og,
        finish_points=None if finish_sg is None else points(finish_sg),
        litres=litres,
    )


def _temp_offset(counts: Tail, usual_c: float | None) -> Floats:
    """Tens of degrees of each count above the temperature at which rates are given."""
    if usual_c is None or counts.usual_c is None:
        return np.zeros(len(counts))
    return counts.temp_offset_10c + (counts.usual_c - usual_c) / 10.0


def _begun(
    visits: Sequence[Visit], counts: Tail, pitched: datetime | None
) -> tuple[datetime, float] | None:
    """When it was pitched, and how much earlier that may have been; None if nobody knows."""
    said = [v.when for v in visits if v.event == Event.PITCHED]
    start = said[-1] if said else pitched
    if start is not None:
        return (start, 0.0) if start <= counts.start else None
    per_s = (counts.bubbles + 0.5) / counts.seconds
    return (counts.start, _BEGAN_WITHIN_DAYS) if per_s.max() > _SEEN_RISING * per_s[0] else None


def _start_and_later(
    readings: Sequence[Reading], start: datetime
) -> tuple[float | None, list[Reading]]:
    """Gravity at the start, if it was read and can be a must's; and the readings after it."""
    early = [r for r in readings if r.when <= start + timedelta(days=_START_DAYS)]
    later = [r for r in readings if r not in early]
    og = early[0].sg if early and LEAST_OG <= early[0].sg <= OG_HIGH else None
    return (None if og is None else points(og)), later
