"""The question asked of a vessel, all that bears on it, and the parts of an answer.

The limits below are common practice, no source, unless a line says otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Literal

from ..diary.doubts import SG_LOW
from ..diary.events import Event
from ..ferment.fit import FEWEST_COUNTS
from ..ferment.gravity import Steadiness
from ..text import format_day
from .facts import RECENT_DAYS, Signs

if TYPE_CHECKING:
    from ..ferment.forecast import Forecast
    from ..ferment.gravity_check import GravityCheck

__all__ = [
    "STEADINESS",
    "Answer",
    "Case",
    "Firmness",
    "NextStep",
    "Opinion",
    "Question",
    "Reason",
    "Stance",
    "count",
    "fall",
    "impossible",
    "stunned",
    "unfitted",
    "unread",
]

Question = Literal["racking", "bottling"]
Answer = Literal["go", "wait"]
Stance = Literal["go", "lean", "wait", "mute", "doubt"]
Firmness = Literal["both", "bubbles", "gravity", "none"]

# What steady gravity means: days without more than so many points of fall.
STEADINESS: dict[Question, Steadiness] = {
    "racking": Steadiness(days=3.0, points=2.0),
    "bottling": Steadiness(days=14.0, points=1.0),
}
SWEETEST_SG = 1.015  # at which a ferment ends by itself: a perry; sweeter holds sugar for yeast
RACK_BELOW_SG = 1.010  # where no finish is set: above it there is sugar to be stuck on
RACK_BELOW_KNOWN_SG = 1.005  # where one is set, if that is lower
RACK_ABOVE_FINISH_POINTS = 5.0  # or so far above it
DRY_SG = 1.005  # up to here no start is needed to believe in an end
HALF = 0.5  # of its sugar at least is gone from a ferment that has ended
NEAR_FINISH_POINTS = 2.0  # what a hydrometer can tell
FALLING_POINTS_PER_DAY = 1.0  # faster than the slow end of a ferment
SURE = 0.8  # chance of being below the threshold that counts as a yes beside gravity
READING_FRESH_DAYS = 7.0
RECHECK_DAYS = RECENT_DAYS  # after stabilising or fining, before the gravity can be believed

READ = "Read the gravity: sample degassed, hydrometer afloat and spun free of bubbles."
WARM = "Bring the jar to its usual warmth, 15 C or more; count again after two days of it."
PRESS = "Press the bung so that the airlock moves, hold 10 s: if it creeps back it leaks; reseat."


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason: a code for programs, a sentence for people."""

    code: str
    text: str


@dataclass(frozen=True, slots=True)
class NextStep:
    """The one next thing to do, and the day for it where there is one."""

    do: str
    on: date | None = None


@dataclass(frozen=True, slots=True)
class Opinion:
    """What one source says by itself.

    Attributes
    ----------
    stance : {"go", "lean", "wait", "mute", "doubt"}
        lean: go, but not alone; mute: cannot speak; doubt: cannot speak, and what it said last
        forbids the other source to go alone.
    reason : Reason
    next : NextStep
        What would settle it.
    """

    stance: Stance
    reason: Reason
    next: NextStep


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """All that a verdict is a function of."""

    vessel: str
    asked_at: datetime
    question: Question
    threshold_per_min: float
    signs: Signs
    forecast: Forecast | None = None
    gravity: GravityCheck | None = None
    findings: tuple[Reason, ...] = ()

    def age_days(self, when: datetime) -> float:
        """Days from `when` to the moment asked about."""
        return (self.asked_at - when) / timedelta(days=1)

    def day(self, ahead: float = 0.0) -> date:
        """Calendar day so many days after the moment asked about."""
        return (self.asked_at + timedelta(days=ahead)).date()

    @property
    def high_to_rack(self) -> bool:
        """Whether the last reading leaves sugar enough for a ferment to be stuck on."""
        g = self.gravity
        if g is None:
            return False
        limit = RACK_BELOW_SG
        if g.finish_known:
            limit = max(RACK_BELOW_KNOWN_SG, g.finish_sg + RACK_ABOVE_FINISH_POINTS / 1000.0)
        barely = g.fermented is not None and g.fermented < HALF
        return barely or g.latest.sg > limit + 1e-6  # the correction rounds

    @property
    def near_finish(self) -> bool:
        """Whether the last reading cannot be told from an expected finish that can be believed."""
        g = self.gravity
        if g is None or g.above_finish_points > NEAR_FINISH_POINTS + 1e-3:
            return False
        if g.latest.sg <= DRY_SG:
            return True
        return g.fermented is not None and g.fermented >= HALF

    @property
    def falling(self) -> bool:
        """Whether the last two readings show a gravity on its way down."""
        g = self.gravity
        if g is None or g.steady is not False or g.fall_points is None or not g.fall_days:
            return False
        fast = g.fall_points / g.fall_days > FALLING_POINTS_PER_DAY
        return fast or not self.near_finish


def impossible(case: Case) -> tuple[Reason, NextStep] | None:
    """Find a last reading that no wine gives; None where it may be."""
    g = case.gravity
    if g is None or g.latest.sg >= SG_LOW:
        return None
    text = (
        f"The last reading, {g.latest.sg:.3f}, is lower than any wine reads: misread, or a stem "
        "that is off?"
    )
    return Reason("gravity-impossible", text), NextStep(READ, case.day())


def unread(case: Case) -> str:
    """Say that there is no gravity, and since when."""
    fed = case.signs.fed_at
    since = "" if fed is None else f" since it was fed on {format_day(fed)}"
    return f"No gravity has been read{since}"


def stunned(case: Case) -> tuple[Reason, NextStep] | None:
    """Find a treatment so recent that quiet yeast may wake; None where there is none."""
    if case.signs.stunned is None:
        return None
    event, when = case.signs.stunned
    text = (
        f"It was {Event(event).passive} on {format_day(when)}: the yeast may be stunned, not spent."
    )
    recheck = NextStep(READ, (when + timedelta(days=RECHECK_DAYS)).date())
    return Reason("stunned", text), recheck


def unfitted(case: Case) -> tuple[Reason, NextStep] | None:
    """Counts enough for a curve, and yet none: the sums failed. None where they did not."""
    if case.forecast is not None or case.signs.counts < FEWEST_COUNTS:
        return None
    text = f"No curve could be found for the {case.signs.counts} counts: they foretell nothing."
    return Reason("no-curve", text), count(case, 1)


def count(case: Case, ahead: float) -> NextStep:
    """Count again, so many days ahead."""
    return NextStep("Count the bubbles again, for 5 minutes if they are few.", case.day(ahead))


def fall(g: GravityCheck) -> str:
    """Fall between the last two readings, in words."""
    assert g.fall_points is not None
    assert g.fall_days is not None
    days = "within a day" if g.fall_days < 1.5 else f"in {g.fall_days:.0f} days"
    return f"{g.fall_points:.0f} points {days}"
