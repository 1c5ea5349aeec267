"""Codes, sentences and next steps: what reasons are made of.

A code or a kind is for programs and never changes its meaning. Words are for people and may change.
The sentences are in `sentences`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from ..diary.events import Event
from ..text import format_day, percent

if TYPE_CHECKING:
    from datetime import date, datetime

    from ..ferment.gravity import Fall
    from .facts import Act


class Code(StrEnum):
    """Codes of reasons, for programs: those of ``verdict --json``."""

    # the jar, the counts
    BOTTLED = "bottled"
    JUST_RACKED = "just-racked"
    NO_COUNTS = "no-counts"
    FEW_COUNTS = "few-counts"
    STALE_COUNT = "stale-count"
    COLD_PAUSE = "cold-pause"
    STUNNED = "stunned"
    NO_CURVE = "no-curve"
    ABOVE_THRESHOLD = "above-threshold"
    ABOVE_CURVE = "above-curve"
    TOO_FAST = "too-fast"
    NEAR_THRESHOLD = "near-threshold"
    NEVER_SEEN_WORKING = "never-seen-working"
    SUDDEN_QUIET = "sudden-quiet"
    SLOWING_UNSEEN = "slowing-unseen"
    JUST_QUIET = "just-quiet"
    BELOW_THRESHOLD = "below-threshold"
    GAS_WITHOUT_SUGAR = "gas-without-sugar"
    STILL_BUBBLING = "still-bubbling"
    QUIET = "quiet"
    # gravity and warmth
    NO_GRAVITY = "no-gravity"
    OLD_READING = "old-reading"
    GRAVITY_IMPOSSIBLE = "gravity-impossible"
    LEAK = "leak"
    GRAVITY_FALLING = "gravity-falling"
    STUCK = "stuck"
    QUIET_BUT_HIGH = "quiet-but-high"
    GRAVITY_HIGH = "gravity-high"
    GRAVITY_ROSE = "gravity-rose"
    FED_LATELY = "fed-lately"
    STORIES_DIFFER = "stories-differ"
    GRAVITY_STEADY = "gravity-steady"
    GRAVITY_LOW = "gravity-low"
    GRAVITY_UNPROVEN = "gravity-unproven"
    SWEETNESS_LEFT = "sweetness-left"
    TOO_SWEET = "too-sweet"
    STABILISED = "stabilised"
    # the proof before bottling
    FIZZ = "fizz"
    SILENCE_ALONE = "silence-alone"
    WOKE = "woke"
    STRONG_AND_SWEET = "strong-and-sweet"
    STABILISED_AND_FALLING = "stabilised-and-falling"
    STABILISED_UNPROVEN = "stabilised-unproven"
    FINISH_UNTESTED = "finish-untested"
    ODD_READING = "odd-reading"
    CHECK_READING = "check-reading"
    PRICKLE = "prickle"
    STILL_UNSAID = "still-unsaid"
    ON_FININGS = "on-finings"
    NEW_LEES = "new-lees"
    CLOUDY = "cloudy"
    CLEAR_UNSAID = "clear-unsaid"
    CLEAR_TOO_SHORT = "clear-too-short"
    MALOLACTIC_OPEN = "malolactic-open"
    # from the course of the jar, if it decides otherwise
    COURSE = "course"
    # given with the reasons
    SLIP = "slip"
    WEATHER = "weather"


class Kind(StrEnum):
    """What kind of thing is to be done next."""

    ANSWER = "answer"
    COUNT = "count"
    BUNG = "bung"
    READ = "read"
    WARM = "warm"
    ROUSE = "rouse"
    RESTART = "restart"
    RACK = "rack"
    TOP_UP = "top-up"
    LOOK = "look"
    CHILL = "chill"
    FINE = "fine"
    STABILISE = "stabilise"
    BOTTLE = "bottle"
    RESCUE = "rescue"
    LAY = "lay"
    WATCH = "watch"
    DRINK = "drink"
    NOTHING = "nothing"


class Phase(StrEnum):
    """Where in its life a jar is."""

    FERMENTING = "fermenting"
    CLEARING = "clearing"
    BOTTLED = "bottled"
    EMPTY = "empty"


class Question(StrEnum):
    """What may be asked about a jar: rack it, or bottle it."""

    RACKING = "racking"
    BOTTLING = "bottling"

    @property
    def act(self) -> Kind:
        """The step that means yes."""
        return Kind.RACK if self is Question.RACKING else Kind.BOTTLE


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason: a code for programs, a sentence for people."""

    code: Code
    text: str


@dataclass(frozen=True, slots=True)
class NextStep:
    """The one next thing to do, its kind, and its days if it has any.

    Attributes
    ----------
    kind : Kind
    do : str
        One sentence.
    on : date or None
        Evening to do it on.
    since : date or None
        The day of the step itself, which may be past.
    until : date or None
        Last good day.
    also : tuple of str
        What the same visit should settle.
    care : str
        The caution that goes with it, or empty.
    """

    kind: Kind
    do: str
    on: date | None = None
    since: date | None = None
    until: date | None = None
    also: tuple[str, ...] = ()
    care: str = ""

    def due(self, day: date) -> NextStep:
        """The same on this day."""
        return replace(self, on=day)


@dataclass(frozen=True, slots=True)
class Sentence:
    """A reason before its values are filled in.

    Attributes
    ----------
    code : Code
    text : str
        A format string; `of` fills in its fields.
    step : NextStep or None
        What would settle it; its `do` may have the same fields.
    ahead_days : float
        Days from the day asked about to that of the step.
    """

    code: Code
    text: str
    step: NextStep | None = None
    ahead_days: float = 0.0

    def of(self, **values: object) -> Reason:
        """Fill values into the sentence.

        Raises
        ------
        KeyError
            If one is missing.
        """
        return Reason(self.code, self.text.format(**values))


# --- what to do next -----------------------------------------------------------------------------

READ: Final = NextStep(
    Kind.READ,
    ("Read the gravity: shake the gas out of the sample, and spin the bubbles off the hydrometer."),
)
WARM: Final = NextStep(
    Kind.WARM,
    ("Move the jar back to its usual warmth, 15 C or more, and count again after two days."),
)
PRESS: Final = NextStep(
    Kind.BUNG,
    "Press the bung so that the airlock water moves. Hold for 10 s: if it creeps back, reseat it.",
)
COUNT: Final = NextStep(Kind.COUNT, "Count the bubbles again, for 5 minutes if they are few.")
ROUSE: Final = NextStep(
    Kind.ROUSE,
    "Check that it is at 18 C or more, stir gently to rouse the yeast, and read again in 3 days.",
)
RACK: Final = NextStep(
    Kind.RACK, "Rack it off its lees, top it up and refill the airlock. Read the gravity as you do."
)
LOOK_FOR_LEES: Final = NextStep(Kind.LOOK, "Look for new lees. Until then keep the airlock filled.")
BOTTLE: Final = NextStep(
    Kind.BOTTLE,
    "Check first: clear, no prickle on the tongue, no new sediment for 30 days. Then bottle.",
)
NOTHING: Final = NextStep(Kind.NOTHING, "Nothing: it is in bottles.")

# --- phrases -------------------------------------------------------------------------------------


def since_fed(fed_at: datetime | None) -> str:
    """Since when no gravity was read; empty if nothing went in that yeast may use."""
    return "" if fed_at is None else f" since sugar or wine went in on {format_day(fed_at)}"


def since_done(act: Act | None) -> str:
    """Since when no count can be compared; empty if nothing was done."""
    return "" if act is None else f" since it was {done(act)}"


def done(act: Act) -> str:
    """An event and its day, as after "it was"."""
    return f"{Event(act.event).passive} on {format_day(act.when)}"


def usual(usual_c: float | None) -> str:
    """The usual warmth, in brackets; empty if unknown."""
    return "" if usual_c is None else f" (usually {usual_c:.0f} C)"


def fell(fall: Fall) -> str:
    """A fall of gravity and the time it took."""
    days = "within a day" if fall.days < 1.5 else f"in {fall.days:.0f} days"
    return f"{fall.points:.0f} points {days}"


def sure(chance: float) -> str:
    """How sure something is."""
    return "nearly certain" if chance > 0.99 else f"chance {percent(chance)}"
