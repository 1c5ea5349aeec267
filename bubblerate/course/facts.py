"""All that the table of steps needs to know about one jar, without a clock."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from ..verdict.reasons import Kind, Phase
from .days import days_on, newest
from .parts import (
    FININGS_DAYS,
    FLAT_DAYS,
    MOST_SAMPLES,
    PROOF_DAYS,
    SAMPLES,
    Air,
    Cellar,
    Cold,
    Volume,
)

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from .inputs import About, Known
    from .parts import Bottles, Gravity

__all__ = ["Facts"]

COOL_C: Final = 15.0  # below it, a lag is longer; both lengths are common practice too
LAG_DAYS, COOL_LAG_DAYS = 3, 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """All that the table of steps needs to know.

    Attributes
    ----------
    about : About
    known : Known
    began : date
        Day on which the yeast went in, or of the first row.
    start_written : bool
        The day of pitching is known.
    sugar_in : date
        The newest day on which it was pitched or fed.
    sweet : bool
        It went in to sweeten a wine that is not surely stabilised.
    sugar_noted_on : date or None
        Newest evening whose note mentions sugar, if no row has answered whether any went in.
    handled_on : date or None
        Newest racking, straining, pressing, move or split.
    proof_from : date
        Readings from this day on are the proof.
    phase, phase_on : Phase, date
        Where it is, and since when.
    air, gravity, cold, cellar, volume : Air, Gravity, Cold, Cellar, Volume
    bottles : Bottles or None
    doubted_on : date or None
        Part of it was bottled on that evening, and what is left makes one doubt it.
    done : mapping of Kind to date
        Day of the newest row that settled each kind of step.
    """

    about: About
    known: Known
    began: date
    start_written: bool
    sugar_in: date
    sweet: bool = False
    sugar_noted_on: date | None = None
    handled_on: date | None = None
    proof_from: date
    phase: Phase
    phase_on: date
    air: Air = field(default_factory=Air)
    gravity: Gravity
    cold: Cold = field(default_factory=Cold)
    cellar: Cellar = field(default_factory=Cellar)
    volume: Volume = field(default_factory=Volume)
    bottles: Bottles | None = None
    doubted_on: date | None = None
    done: Mapping[Kind, date] = field(default_factory=dict)

    def was_done(self, kind: Kind, since: date | None = None) -> bool:
        """Whether a row settled this kind of step, on or after a day if one is given."""
        on = self.done.get(kind)
        return on is not None and (since is None or on >= since)

    @property
    def lag_ends(self) -> date:
        """Day up to which silence is usual: common practice."""
        cool = self.cold.temp_c is not None and self.cold.temp_c < COOL_C
        return days_on(self.sugar_in, COOL_LAG_DAYS if cool else LAG_DAYS)

    @property
    def _lag_surely_ends(self) -> date:
        """The same, if a temperature that nobody noted may be a cool one."""
        warm = self.cold.temp_c is not None and self.cold.temp_c >= COOL_C
        return days_on(self.sugar_in, LAG_DAYS if warm else COOL_LAG_DAYS)

    @property
    def idle(self) -> bool:
        """Whether it is quiet or silent, or was not heard by the end of its lag."""
        air = self.air
        if air.heard:
            return air.quiet or air.silent_on is not None
        if air.counted_on is None or not self.start_written:
            return True
        return air.counted_on >= self._lag_surely_ends

    @property
    def calm(self) -> bool:
        """Whether counts say that it is quiet; at least one since sugar went in."""
        heard_nothing = self.idle and self.air.counted_on is not None
        return heard_nothing or self.air.hushed_on is not None

    @property
    def settled(self) -> bool:
        """Whether two low readings five days apart agree, and the airlock is not loud.

        Then gravity alone says that it has ended, with few bubbles or none counted.
        """
        return self.gravity.stood_low_on is not None and self.air.state != "busy"

    @property
    def silent_since_handled(self) -> bool:
        """Whether it worked, was handled, and has been silent since."""
        silent, handled, worked = self.air.silent_on, self.handled_on, self.air.worked_on
        if silent is None or handled is None or worked is None:
            return False
        heard = self.air.heard_on or worked
        return silent > handled >= heard and (handled - heard).days <= FLAT_DAYS

    @property
    def quiet_in_the_warm(self) -> bool:
        """Whether it was quiet for five days before any present cold."""
        quiet, cold = self.air.quiet_five_days_on, self.cold.since
        return quiet is not None and (cold is None or cold > quiet)

    @property
    def asleep(self) -> bool:
        """Whether cold holds a ferment up: cold, not near its end, not working."""
        return self.cold.since is not None and not self.gravity.near and self.air.state != "busy"

    @property
    def stuck(self) -> bool:
        """Whether it is idle and high, and two readings five days apart agree."""
        held = self.cellar.stabilised_on is not None
        return self.idle and self.gravity.high and self.gravity.fall_per_day == 0.0 and not held

    @property
    def to_help(self) -> bool:
        """Whether it is stuck, and its sugar was meant to ferment."""
        return self.stuck and not self.sweet

    @property
    def untouched(self) -> bool:
        """Whether nothing was counted or read since sugar went in."""
        return self.air.counted_on is None and not self.gravity.readings

    @property
    def in_lag(self) -> bool:
        """Whether the start is known, it was counted since, and it was never heard working."""
        return self.air.state == "lag" and self.start_written

    @property
    def on_finings(self) -> bool:
        """Whether finings are still in it."""
        return self.cellar.fined_on is not None

    @property
    def finings_end(self) -> date:
        """Day by which it should be racked off them, clear or not."""
        return days_on(newest(self.cellar.fined_on, self.began), FININGS_DAYS)

    @property
    def looked_since_fined(self) -> bool:
        """Whether clear or cloudy was noted on a later evening."""
        fined = self.cellar.fined_on
        return fined is not None and self.was_done(Kind.LOOK, days_on(fined, 1))

    @property
    def above_end(self) -> bool:
        """Whether it is steady, another reading proves nothing, and it was not stabilised."""
        known, last = self.known, self.gravity.last
        if known.still_since is None or known.ready or last is None:
            return False
        high = known.end_sg is not None and last.sg > known.end_sg[1] + 0.001
        return self.cellar.stabilised_on is None and (high or known.earliest is None)

    @property
    def two_apart(self) -> bool:
        """Whether two readings are 14 dates apart, since the last act that changed gravity."""
        proof = [r.on for r in self.gravity.readings if r.on >= self.proof_from]
        return bool(proof) and (proof[-1] - proof[0]).days >= PROOF_DAYS

    @property
    def proven(self) -> bool:
        """Whether the readings prove enough for bottling."""
        return self.known.ready and self.known.woke_on is None and self.two_apart

    @property
    def samples_spent(self) -> bool:
        """Whether more samples were taken than a jar of its size can spare."""
        litres = self.volume.full or 4.5
        budget = next((n for below, n in SAMPLES if litres < below), MOST_SAMPLES)
        return self.gravity.asked >= budget

    @property
    def proven_on(self) -> date:
        """Day of the newest fact that a go on bottling rests on."""
        cellar = self.cellar
        days = (self.gravity.read_on, cellar.ripe_on, cellar.still_on, cellar.racked_on)
        return newest(self.phase_on, *days, cellar.malolactic_settled_on)
