"""The question asked of a vessel, all that matters to it, and the parts of an answer."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Literal

from ..diary.doubts import SG_LOW
from ..diary.events import Event
from ..ferment.fit import FEWEST_COUNTS
from ..ferment.gravity import days
from ..text import format_day
from . import sentences
from .limits import (
    DRY_SG,
    FALLING_POINTS_PER_DAY,
    FERMENTED_SHARE,
    NEAR_FINISH_POINTS,
    RACK_ABOVE_FINISH_POINTS,
    RACK_BELOW_KNOWN_SG,
    RACK_BELOW_SG,
    RECHECK_DAYS,
    SG_ROUNDING,
    STRONG_PER_THRESHOLD,
)
from .reasons import NextStep, Reason

if TYPE_CHECKING:
    from ..ferment.forecast import Forecast
    from ..ferment.gravity_check import GravityCheck
    from .facts import Act, Facts
    from .proof import Proof
    from .reasons import Question, Sentence

__all__ = ["Answer", "Case", "Finding", "Firmness", "Opinion", "Stance"]

Answer = Literal["go", "wait"]
Stance = Literal["go", "lean", "wait", "mute", "doubt"]
Firmness = Literal["both", "bubbles", "gravity", "none"]
Finding = tuple[Reason, NextStep]  # a reason, and what would settle it


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
    """All that a verdict is a function of; the proof is that of bottling, the rest of racking."""

    vessel: str
    asked_at: datetime
    question: Question
    threshold_per_min: float
    facts: Facts
    proof: Proof
    forecast: Forecast | None = None
    gravity: GravityCheck | None = None
    findings: tuple[Reason, ...] = ()

    def age_days(self, when: datetime) -> float:
        """Days from `when` to the moment asked about."""
        return days(when, self.asked_at)

    def day(self, ahead_days: float = 0.0) -> date:
        """Calendar day that many days after the moment asked about."""
        return (self.asked_at + timedelta(days=ahead_days)).date()

    def say(self, sentence: Sentence, **values: object) -> Finding:
        """Say a sentence, with the step that would settle it on its day.

        Parameters
        ----------
        sentence : Sentence
            One that has a step.
        **values
            What its fields take.

        Raises
        ------
        KeyError
            If a value is missing.
        """
        step = sentence.step
        assert step is not None
        due = replace(step, do=step.do.format(**values), on=self.day(sentence.ahead_days))
        return sentence.of(**values), due

    @property
    def high_to_rack(self) -> bool:
        """Whether the last reading leaves sugar enough for a ferment to be stuck on."""
        g = self.gravity
        if g is None or self.held:
            return False
        lowest = RACK_BELOW_SG if g.said_finish_sg is None else RACK_BELOW_KNOWN_SG
        limit = max(lowest, g.finish_sg + RACK_ABOVE_FINISH_POINTS / 1000.0)
        barely = g.fermented is not None and g.fermented < FERMENTED_SHARE
        return barely or g.latest.sg > limit + SG_ROUNDING

    @property
    def held(self) -> bool:
        """Whether it was stabilised and has been steady for two weeks since: it is not stuck."""
        g, at = self.gravity, self.facts.acts.stabilised_at
        if g is None or at is None or g.steady_since < at:
            return False
        return g.steady_days >= RECHECK_DAYS

    @property
    def near_finish(self) -> bool:
        """Whether the last reading cannot be told from an expected finish that can be believed."""
        g = self.gravity
        if g is None:
            return False
        above = g.finish_sg + NEAR_FINISH_POINTS / 1000.0
        if g.latest.sg <= DRY_SG:
            return g.latest.sg <= max(above, g.finish.high_sg) + SG_ROUNDING
        gone = g.fermented is not None and g.fermented >= FERMENTED_SHARE
        return gone and g.latest.sg <= above + SG_ROUNDING

    @property
    def falling(self) -> bool:
        """Whether the last two readings show a gravity on its way down."""
        g = self.gravity
        if g is None or g.steady is not False or g.fall is None or not g.fall.days:
            return False
        fast = g.fall.points / g.fall.days > FALLING_POINTS_PER_DAY
        return fast or not self.near_finish

    @property
    def impossible(self) -> Finding | None:
        """A last reading that no wine gives; None where it may be."""
        if self.gravity is None or self.gravity.latest.sg >= SG_LOW:
            return None
        return self.say(sentences.GRAVITY_IMPOSSIBLE, sg=self.gravity.latest.sg)

    @property
    def stunned(self) -> Finding | None:
        """A treatment so recent that quiet yeast may wake; None where there is none."""
        act = self.facts.acts.stunned
        if act is None or self._works_since(act):
            return None
        reason, step = self.say(
            sentences.STUNNED, event=Event(act.event).passive, day=format_day(act.when)
        )
        return reason, step.due((act.when + timedelta(days=RECHECK_DAYS)).date())

    def _works_since(self, act: Act) -> bool:
        """Whether counts since an act show yeast hard at work: then it has stunned nobody."""
        airlock = self.facts.airlock
        if airlock.last_count_at is None or airlock.last_count_at <= act.when:
            return False
        return airlock.last_per_min > STRONG_PER_THRESHOLD * self.threshold_per_min

    @property
    def unfitted(self) -> Finding | None:
        """Counts enough for a curve, and yet none: the sums failed. None where they did not."""
        counts = self.facts.airlock.counts
        if self.forecast is not None or counts < FEWEST_COUNTS:
            return None
        return self.say(sentences.NO_CURVE, counts=counts)
