"""Works out what the airlock shows (lag, busy, slowing, quiet, back), by exact Poisson limits.

Counts of one evening are added up, and evenings are pooled by time, but never across an act that
changes the size of a bubble. How rows are cut changes nothing. Rates are bubbles a minute.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Final

from ..ferment.poisson import at_least_per_min, at_most_per_min
from .parts import Air

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

__all__ = ["Count", "airlock", "quiet_below_per_min"]

SURE: Final = 0.8
WORKS: Final = 2.0  # times the threshold: a ferment was heard
FAST: Final = 3.0
BUSY_PER_MIN: Final = 6.0
SLOW: Final = 1.5
POOL_DAYS: Final = 3
QUIET_COUNTS: Final = 3
HUSHED_COUNTS: Final = 2  # enough for a wine that was read near its end
QUIET_DAYS: Final = 2
SURELY_QUIET_DAYS: Final = 5  # by bubbles alone
SILENT_MINUTES: Final = 5.0
SILENT: Final = 0.1
WEATHER_DAYS: Final = 14
WEATHER_SURE: Final = 0.9
CALM_DAYS, CALM_WITHIN_DAYS = 7, 60
WEATHER_PER_MIN: Final = 0.1 / 4.5  # per litre: a falling barometer and old gas make this much
ONE_JAR_L: Final = 10.0  # up to here the threshold is for one jar; above, it grows with the litres


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """All bubbles of one evening, and the minutes they were counted in.

    `stretch` numbers the spells within which counts may be pooled; `shaken` means that the jar was
    handled that evening or the one before.
    """

    on: date
    bubbles: float
    minutes: float
    stretch: int = 0
    shaken: bool = False

    @property
    def per_min(self) -> float:
        """Rate of that evening."""
        return self.bubbles / self.minutes


def quiet_below_per_min(threshold_per_min: float, litres: float | None) -> float:
    """Rate at or below which a jar of that size counts as quiet [bubbles/min].

    A bubble a minute in 23 L means a fifth of the fall that it means in a jar of 4.5 L.
    """
    return threshold_per_min * max(1.0, (litres or 0.0) / ONE_JAR_L)


def airlock(counts: Sequence[Count], *, quiet_below: float, litres: float | None) -> Air:
    """What the airlock has shown since sugar went in.

    Parameters
    ----------
    counts : sequence of Count
        One per evening, oldest first, all after the evening on which sugar went in.
    quiet_below : float
        From `quiet_below_per_min` [bubbles/min].
    litres : float or None
        Wine in the jar, for how much weather can make [L].

    Returns
    -------
    Air
    """
    if not counts:
        return Air()
    story = _Story(quiet_below, WEATHER_PER_MIN * (litres or 4.5))
    for i, count in enumerate(counts):
        story.hear(count, counts[: i + 1])
    last = counts[-1]
    fives = [c.on for c in counts if c.minutes >= SILENT_MINUTES]
    return replace(
        story.air,
        per_min=last.per_min,
        counted_on=last.on,
        five_minutes_on=fives[-1] if fives else None,
        fast=last.per_min > FAST * quiet_below,
    )


@dataclass(slots=True)
class _Story:
    """The facts so far, one evening after another."""

    quiet_below: float
    weather: float
    air: Air = field(default_factory=lambda: Air(state="lag"))
    low: list[Count] = field(default_factory=list)  # latest counts in a row at or below the limit
    raised: int = 0  # counts surely above it since it went quiet
    calm: bool = False  # quiet, and for a week no more than the weather makes

    def hear(self, count: Count, so_far: Sequence[Count]) -> None:
        """Add one more evening."""
        self._pace(count)
        if count.shaken:
            return
        silent = _silent(so_far, self.quiet_below)
        self._note(silent_on=(self.air.silent_on or count.on) if silent else None)
        if _over_weather(so_far, self.weather):
            if self.calm:
                self._note(back_on=count.on)
            self.calm = False
        elif self.air.state == "quiet":
            self.calm = self.calm or _calm(so_far, self.weather)
        if not self.air.heard:
            return
        low = count.per_min <= self.quiet_below
        self.low = [*self.low, count] if low else []
        self._note(hushed_on=self._hushed_on())
        if self.air.state in ("quiet", "back"):
            self._after_quiet(count)
        else:
            self._before_quiet(count, so_far)

    def _note(self, **seen: Any) -> None:
        """Note what is new."""
        if any(getattr(self.air, name) != value for name, value in seen.items()):
            self.air = replace(self.air, **seen)

    def _pace(self, count: Count) -> None:
        """When it was heard, and when it slowed."""
        slow, fast = SLOW * self.quiet_below, FAST * self.quiet_below
        if not self.air.heard and count.per_min >= WORKS * self.quiet_below:
            self._note(state="slowing", worked_on=count.on)
        air = self.air
        if count.per_min > slow:
            again = air.state != "quiet" and not count.shaken and _surely(count) > slow
            slowed = (None, None) if again else (air.slowed_on, air.twice_slow_on)
            self._note(heard_on=count.on, slowed_on=slowed[0], twice_slow_on=slowed[1])
        elif air.heard and air.slowed_on is None:
            self._note(slowed_on=count.on)
        elif air.heard and air.twice_slow_on is None:
            self._note(twice_slow_on=count.on)
        if air.busy_on is not None and self.quiet_below < count.per_min <= fast:
            self._note(slowing_seen=True)

    def _hushed_on(self) -> date | None:
        """Second of two counts in a row at or below the limit, if both are surely so."""
        if len(self.low) < HUSHED_COUNTS or not _surely_low(self.low, self.quiet_below):
            return None
        return self.air.hushed_on or self.low[-1].on

    def _before_quiet(self, count: Count, so_far: Sequence[Count]) -> None:
        if _busy(so_far, self.quiet_below):
            self._note(state="busy", busy_on=count.on)
        elif _quiet(self.low, self.quiet_below):
            self._note(state="quiet", quiet_on=count.on)
            self.raised = 0
        else:
            self._note(state="slowing")

    def _after_quiet(self, count: Count) -> None:
        """Quiet does not expire: only bubbles end it."""
        surely = _surely(count)
        if surely > self.quiet_below:
            self.raised += 1
            state = "busy" if self.raised > 1 or surely > FAST * self.quiet_below else "back"
            began = count.on if self.air.state == "quiet" else self.air.back_on
            self._note(back_on=began, quiet_on=None, quiet_five_days_on=None)
            if state == "busy":
                self._note(state="busy", busy_on=count.on, slowed_on=None, twice_slow_on=None)
                self.raised = 0
            else:
                self._note(state="back")
        elif self.air.state == "back" and _quiet(self.low, self.quiet_below):
            self._note(state="quiet", quiet_on=count.on)
            self.raised = 0
        self._five_days(count)

    def _five_days(self, count: Count) -> None:
        spans = bool(self.low) and (count.on - self.low[0].on).days >= SURELY_QUIET_DAYS
        if self.air.state == "quiet" and self.air.quiet_five_days_on is None and spans:
            self._note(quiet_five_days_on=count.on)


def _surely(count: Count) -> float:
    return at_least_per_min(count.bubbles, count.minutes, sure=SURE)


def _pooled(counts: Iterable[Count]) -> tuple[float, float]:
    bubbles = minutes = 0.0
    for count in counts:
        bubbles += count.bubbles
        minutes += count.minutes
    return bubbles, minutes


def _of_late(so_far: Sequence[Count], days: int) -> list[Count]:
    """Latest evenings of one stretch that show the wine and not its handling."""
    last = so_far[-1]
    return [
        c
        for c in so_far
        if (last.on - c.on).days < days and c.stretch == last.stretch and not c.shaken
    ]


def _busy(so_far: Sequence[Count], quiet_below: float) -> bool:
    bubbles, minutes = _pooled(_of_late(so_far, POOL_DAYS))
    limit = min(FAST * quiet_below, max(BUSY_PER_MIN, quiet_below))
    return at_least_per_min(bubbles, minutes, sure=SURE) > limit


def _quiet(low: Sequence[Count], quiet_below: float) -> bool:
    """Whether three counts in a row over two days are surely at or below the limit."""
    run = [c for c in low if c.stretch == low[-1].stretch]
    if len(run) < QUIET_COUNTS or (run[-1].on - run[0].on).days < QUIET_DAYS:
        return False
    return _surely_low(run, quiet_below)


def _surely_low(low: Sequence[Count], quiet_below: float) -> bool:
    """Whether those of the latest stretch are below it, with 80 % chance."""
    run = (c for c in low if c.stretch == low[-1].stretch)
    return at_most_per_min(*_pooled(run), sure=SURE) <= quiet_below


def _silent(counts: Sequence[Count], quiet_below: float) -> bool:
    bubbles, minutes = _pooled(_of_late(counts, POOL_DAYS))
    none = counts[-1].bubbles == 0 and counts[-1].minutes >= SILENT_MINUTES
    return none or at_most_per_min(bubbles, minutes, sure=SURE) < SILENT * quiet_below


def _over_weather(so_far: Sequence[Count], weather: float) -> bool:
    """Whether a run of evenings up to tonight surely shows more than weather and old gas make."""
    late = _of_late(so_far, WEATHER_DAYS)
    return any(
        at_least_per_min(*_pooled(late[i:]), sure=WEATHER_SURE) > weather for i in range(len(late))
    )


def _calm(so_far: Sequence[Count], weather: float) -> bool:
    """Whether the newest counts, three or more over a week, show no more than weather makes.

    They may be further apart than counts that are weighed: people look at a quiet jar less often.
    """
    late = _of_late(so_far, CALM_WITHIN_DAYS)
    for first in range(len(late) - QUIET_COUNTS, -1, -1):
        if (late[-1].on - late[first].on).days >= CALM_DAYS:
            bubbles, minutes = _pooled(late[first:])
            return bubbles <= weather * minutes
    return False
