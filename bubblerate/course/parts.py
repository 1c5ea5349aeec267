"""The facts about a jar in small groups: airlock, gravity, warmth, cellar, volume, bottles.

Each fact is the day from which it is true. None means that it never happened, or that something
undid it. A date is that of an evening (`days.evening_of`). Rates are bubbles a minute, gravities
SG, falls points (0.001 SG), volumes litres, temperatures C.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import takewhile
from typing import TYPE_CHECKING, Final, Literal

from ..physics.scales import fall_points

if TYPE_CHECKING:
    from datetime import date

__all__ = ["Air", "Bottles", "Cellar", "Cold", "Gravity", "Reading", "Volume"]

AirState = Literal["none", "lag", "busy", "slowing", "quiet", "back"]

LOW_SG: Final = 1.005  # at or below it a wine of any style may be racked: common practice
MOVED_POINTS: Final = 1.5  # between two readings by one person with one stem, this is no chance
PROOF_DAYS: Final = 14
FININGS_DAYS: Final = 14  # up to two weeks until it is clear: leaflets of finings
SAMPLES: Final = ((2.0, 0), (6.0, 3), (15.0, 6))  # for jars below this; a sample is 100 to 250 mL
MOST_SAMPLES: Final = 10
FLAT_DAYS: Final = 5  # least days between two readings that can show a fall


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """What the airlock has shown since sugar went in; dates as of the counts that showed it."""

    state: AirState = "none"
    per_min: float | None = None  # latest evening
    counted_on: date | None = None
    five_minutes_on: date | None = None  # last evening with five minutes of counting in all
    worked_on: date | None = None  # first heard at twice the threshold
    heard_on: date | None = None  # last above 1.5 times the threshold
    busy_on: date | None = None
    slowed_on: date | None = None  # first at or below 1.5 times it, since it was last faster
    twice_slow_on: date | None = None  # second such count
    slowing_seen: bool = False  # between one and three times the threshold, after it was busy
    hushed_on: date | None = None  # second of two counts in a row at or below the threshold
    quiet_on: date | None = None
    quiet_five_days_on: date | None = None  # three counts over five days
    back_on: date | None = None  # bubbles after quiet, or more than weather makes after fewer
    silent_on: date | None = None
    fast: bool = False  # above three times the threshold

    @property
    def heard(self) -> bool:
        """Whether it was ever heard working."""
        return self.worked_on is not None

    @property
    def quiet(self) -> bool:
        """Whether it has worked and gone quiet; that does not expire."""
        return self.state == "quiet"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """Gravity of one evening [SG]."""

    on: date
    sg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Gravity:
    """Readings after the day on which sugar went in, oldest first, one per evening.

    Attributes
    ----------
    readings : tuple of Reading
    slow_since : date
        From this day on the jar had slowed, or was not heard again.
    low_sg : float
        A reading at or below it is near the end [SG].
    odd_on : date or None
        Last reading, if it contradicts the one before and nothing was done in between.
    asked : int
        Samples taken, without those at start, racking and bottling.
    """

    readings: tuple[Reading, ...] = ()
    slow_since: date
    low_sg: float = LOW_SG
    odd_on: date | None = None
    asked: int = 0

    @property
    def last(self) -> Reading | None:
        """Newest reading."""
        return self.readings[-1] if self.readings else None

    @property
    def read_on(self) -> date | None:
        """Day of the newest reading."""
        return self.readings[-1].on if self.readings else None

    @property
    def slow(self) -> tuple[Reading, ...]:
        """Readings since it slowed."""
        return tuple(r for r in self.readings if r.on >= self.slow_since)

    @property
    def near(self) -> bool:
        """Whether the last reading since it slowed is near its end."""
        return bool(self.slow) and self.slow[-1].sg <= self.low_sg

    @property
    def high(self) -> bool:
        """Whether the last reading since it slowed is above that."""
        return bool(self.slow) and self.slow[-1].sg > self.low_sg

    @property
    def stood_low_on(self) -> date | None:
        """First reading five days after another of the same low run; None if it has moved since."""
        if not self.near or self.fall_per_day != 0.0:
            return None
        stood = (r.on for r in self._low_run if (r.on - self.near_on).days >= FLAT_DAYS)
        return next(stood, None)

    @property
    def _low_run(self) -> list[Reading]:
        """Latest readings in a row near its end, oldest first."""
        return list(takewhile(lambda r: r.sg <= self.low_sg, reversed(self.slow)))[::-1]

    @property
    def near_on(self) -> date:
        """First reading of the latest run near its end; there must be one."""
        return self._low_run[0].on

    @property
    def fall_per_day(self) -> float | None:
        """Points a day from the newest reading five days or more back to the newest reading."""
        before = [r for r in self.slow if (self.slow[-1].on - r.on).days >= FLAT_DAYS]
        if not before:
            return None
        points = fall_points(before[-1].sg, self.slow[-1].sg)
        days = (self.slow[-1].on - before[-1].on).days
        return points / days if points >= MOVED_POINTS else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Cold:
    """How warm it is, compared with the warmth in which it worked."""

    own_c: float | None = None
    temp_c: float | None = None
    noted_on: date | None = None  # that temperature
    since: date | None = None
    on_purpose: bool = False
    warm_since: date | None = None  # at 18 C or more, or moved to warmth
    warmed_on: date | None = None  # said to have been moved to warmth
    before_back_c: float | None = None  # in the two weeks before bubbles came back, and since
    since_back_c: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Cellar:
    """What was seen and done on the wine's way to the bottle."""

    clear_on: date | None = None
    ripe_on: date | None = None  # clear for its time: 30 days, 14 off finings, 0 off a filter
    unclear_on: date | None = None  # what last ended clear
    cloudy_on: date | None = None
    lees_on: date | None = None
    still_on: date | None = None
    prickle_on: date | None = None
    malolactic_open: bool = False
    malolactic_settled_on: date | None = None  # over, ruled out, or sulphited
    fined_on: date | None = None  # still on its finings
    fining_days: int = 7
    stabilised_on: date | None = None
    hold_from: date | None = None  # stabilised, or sweetened after that
    racked_on: date | None = None
    filtered: bool = False
    rackings: int = 0  # since it began to clear


@dataclass(frozen=True, slots=True, kw_only=True)
class Volume:
    """Litres in the jar, litres when full, and whether they were noted at the last racking."""

    litres: float | None = None
    full: float | None = None

    @property
    def low(self) -> bool:
        """Whether it is known to be under 95 % of full."""
        return self.litres is not None and self.full is not None and self.litres < 0.95 * self.full


@dataclass(frozen=True, slots=True, kw_only=True)
class Bottles:
    """A wine in bottles."""

    on: date
    sparkling: bool = False
    corked: bool = False
    danger_on: date | None = None  # working, or sugar left, or one has gushed
    gushed: bool = False
    part: bool = False  # the rest of the wine is still in the jar
    stock: int | None = None
