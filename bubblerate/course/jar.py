"""What rows say about sugar, bubbles and gravity: the basic facts, on which others rest."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, Final

from ..diary.doubts import SG_LOW
from ..diary.sugar_notes import open_note
from ..physics.scales import fall_points
from ..verdict.acts import enough_sorbate, rows_of, topped_up_beyond
from ..verdict.limits import RECENT_DAYS
from ..verdict.limits import RISE_POINTS as CREEP_POINTS
from . import acts
from .bubbling import airlock, quiet_below_per_min
from .days import days_on, evening_of, newest
from .evenings import Evenings
from .inputs import Known
from .parts import LOW_SG, MOVED_POINTS, Gravity, Volume

if TYPE_CHECKING:
    from ..diary.visit import Visit
    from .inputs import About
    from .parts import Air, Reading

__all__ = ["Jar", "Weigh"]

Weigh = Callable[[Sequence["Visit"]], Known]

RISE_POINTS: Final = 4.0  # a rise with nothing added: a mistake, or another jar's reading
LEAP_POINTS, LEAP_DAYS = 10.0, 2  # a fall this fast with no bubbles: a mistake too


@dataclass(frozen=True)
class Jar:
    """The rows of one wine up to some evening, and what is known about the jar."""

    rows: Evenings
    about: About
    weigh: Weigh

    def upto(self, day: date) -> Jar:
        """The same, as of the end of an earlier evening."""
        return Jar(Evenings(self.rows.upto(day)), self.about, self.weigh)

    def unjoined(self, day: date) -> Jar:
        """The same, as of an earlier evening, or the one before if wine was joined to it then."""
        joined = any(on == day for on, _ in self.rows.on(acts.JOINED))
        return self.upto(days_on(day, -1) if joined else day)

    @cached_property
    def known(self) -> Known:
        """What the sums say about these rows."""
        return self.weigh(self.rows.rows)

    @cached_property
    def start_written(self) -> bool:
        """Whether the day of pitching is known."""
        return self.rows.newest({acts.PITCHED}) is not None or self.about.pitched_on is not None

    @cached_property
    def began(self) -> date:
        """When the yeast went in, or the first row."""
        return self.rows.newest({acts.PITCHED}) or self.about.pitched_on or self.rows.first

    @cached_property
    def stabilised_on(self) -> date | None:
        """Newest stabilising of this wine, with enough sorbate if it was weighed."""
        return max((on for on in self._stabilised if on >= self.began), default=None)

    @cached_property
    def _stabilised(self) -> tuple[date, ...]:
        litres = self.rows.litres
        return tuple(on for on, row in self.rows.on(acts.STABILISED) if enough_sorbate(row, litres))

    def _sugared(self, *, held: bool) -> date | None:
        """Newest sugar added to stabilised wine, or to wine that was not."""
        rows = self.rows.on(acts.FED, acts.SWEETENED)
        days = [on for on, _ in rows if any(s <= on for s in self._stabilised) is held]
        return max(days, default=None)

    @cached_property
    def sugar_in(self) -> date:
        """Newest day on which there was more sugar for the yeast."""
        return newest(self.began, self._sugared(held=False))

    @cached_property
    def sugar_noted_on(self) -> date | None:
        """Newest evening whose note mentions sugar, while no row says whether any went in."""
        note = open_note(self.rows.rows)
        return None if note is None else evening_of(note.when)

    @cached_property
    def hold_from(self) -> date | None:
        """Stabilised, or sweetened after that: the wait counts from the newer."""
        if self.stabilised_on is None:
            return None
        return newest(self.stabilised_on, self._sugared(held=True))

    @cached_property
    def proof_from(self) -> date:
        """Readings from this day on are the proof.

        One of the evening on which something was poured in may be from before it.
        """
        anew = self.rows.newest({acts.STABILISED, acts.GUSHED})
        pours = (self.rows.newest({acts.DILUTED, acts.JOINED}), self._much_added)
        later = [days_on(day, 1) for day in pours if day is not None]
        return newest(self.sugar_in, self.hold_from, anew, *later)

    @cached_property
    def _much_added(self) -> date | None:
        """Newest evening since which no more than a tenth was topped up."""
        told = [row for row in self.rows.rows if row.event is not None or row.litres is not None]
        day = topped_up_beyond(rows_of(told, self.about.litres), None)
        return None if day is None else date.fromordinal(day)

    @cached_property
    def volume(self) -> Volume:
        """Litres in it, and when full: as the maker said, else the most noted."""
        noted = [litres for _, litres in self.rows.noted_litres]
        said = 0.0 if self.rows.poured is not None else self.about.litres or 0.0
        full = self.about.full_litres or max([*noted, said], default=0.0) or None
        return Volume(litres=self.rows.litres or self.about.litres, full=full)

    @cached_property
    def air(self) -> Air:
        """What the airlock shows since sugar went in."""
        litres = self.volume.full
        limit = quiet_below_per_min(self.about.threshold_per_min, litres)
        return airlock(self.rows.counts(self._day_before), quiet_below=limit, litres=litres)

    @property
    def _day_before(self) -> date:
        """Rows after this evening are about the ferment; before it, about the must."""
        known = self.start_written or self.sugar_in > self.began
        return self.sugar_in if known else days_on(self.sugar_in, -1)

    @cached_property
    def gravity(self) -> Gravity:
        """Readings since sugar went in."""
        some = tuple(r for r in self.rows.readings if r.on > self._day_before)
        slow_since = self.air.slowed_on or self.air.heard_on or self.began
        free = {on for on, _ in self.rows.on(*acts.RACKINGS, *acts.BOTTLINGS)}
        return Gravity(
            readings=some,
            slow_since=slow_since,
            low_sg=self._low_sg(some),
            odd_on=self._odd(some),
            asked=sum(r.on not in free for r in some),
        )

    def _low_sg(self, some: tuple[Reading, ...]) -> float:
        """Gravity at or below which the wine is near its end, by rule or by the sums."""
        if not some:
            return LOW_SG
        left = self.known.points_left
        by_left = LOW_SG if left is None else some[-1].sg + 0.001 * (5.0 - left[1])
        return max(LOW_SG, by_left, some[-1].sg if self.known.near else 0.0)

    def _odd(self, some: tuple[Reading, ...]) -> date | None:
        """Newest reading, if it is impossible or contradicts those before it.

        Gravity does not rise by itself, at once or bit by bit. If nothing was done in between,
        either the last reading is wrong or those before it were.
        """
        if some and some[-1].sg < SG_LOW:
            return some[-1].on
        if len(some) < 2 or self.air.state == "busy":
            return None
        before, last = some[-2:]
        added = {acts.FED, acts.SWEETENED, acts.TOPPED_UP, acts.JOINED, acts.DILUTED, acts.STIRRED}
        if self.rows.newest(added, since=before.on) is not None:
            return None
        since = newest(days_on(last.on, -round(RECENT_DAYS)), self.rows.newest(added))
        lowest = min((r.sg for r in _since_jump(some) if r.on >= since), default=last.sg)
        crept = fall_points(last.sg, lowest) > CREEP_POINTS + 1e-6
        rise, days = fall_points(last.sg, before.sg), (last.on - before.on).days
        leap = rise < -LEAP_POINTS and days <= LEAP_DAYS and not self._heard_since(before.on)
        return last.on if rise > RISE_POINTS or leap or crept else None

    def _heard_since(self, day: date) -> bool:
        """Whether it was heard working on that evening or later."""
        return self.air.heard_on is not None and self.air.heard_on >= day

    @property
    def stands(self) -> bool:
        """Whether bubbles came back with a steady gravity: gas or bacteria, not yeast."""
        back, some = self.air.back_on, self.gravity.readings
        if back is None or len(some) < 2 or some[-1].on < back:
            return False
        before = [r for r in some if r.on < back]
        return bool(before) and abs(fall_points(before[-1].sg, some[-1].sg)) < MOVED_POINTS


def _since_jump(some: tuple[Reading, ...]) -> tuple[Reading, ...]:
    """Readings from the newest rise on that a later reading confirmed."""
    jumps = [
        n for n in range(1, len(some) - 1) if fall_points(some[n].sg, some[n - 1].sg) > RISE_POINTS
    ]
    return some[jumps[-1] :] if jumps else some
