"""The question about a jar, all facts that matter for it, and the parts of an answer."""

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

__all__ = ["Answer", "Case", "Firmness", "Opinion", "Stance"]

Answer = Literal["go", "wait"]
Stance = Literal["go", "lean", "wait", "mute", "doubt"]
Firmness = Literal["both", "bubbles", "gravity", "none"]
Finding = tuple[Reason, NextStep]  # a reason, and the step that would settle it


@dataclass(frozen=True, slots=True)
class Opinion:
    """What one source says by itself.

    Attributes
    ----------
    stance : {"go", "lean", "wait", "mute", "doubt"}
        lean: go, but not alone. mute: cannot tell. doubt: cannot tell, and what it said last keeps
        the other source from a go alone.
    reason : Reason
    next : NextStep
        What would settle it.
    """

    stance: Stance
    reason: Reason
    next: NextStep


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """All that a verdict depends on; `proof` is for bottling, the rest for racking."""

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
        """The calendar day this many days after the moment asked about."""
        return (self.asked_at + timedelta(days=ahead_days)).date()

    def say(self, sentence: Sentence, **values: object) -> Finding:
        """Fill in a sentence, and the step that would settle it, with its day.

        Parameters
        ----------
        sentence : Sentence
            One with a step.
        **values
            Values of its fields.

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
        """Whether the last reading leaves enough sugar for a ferment to be stuck on."""
        g = self.gravity
        if g is None or self.held:
            return False
        lowest = RACK_BELOW_SG if g.said_finish_sg is None else RACK_BELOW_KNOWN_SG
        limit = max(lowest, g.finish_sg + RACK_ABOVE_FINISH_POINTS / 1000.0)
        barely = g.fermented is not None and g.fermented < FERMENTED_SHARE
        return barely or g.latest.sg > limit + SG_ROUNDING

    @property
    def held(self) -> bool:
        """Whether it was stabilised and steady for two weeks since, and so is not stuck."""
        g, at = self.gravity, self.facts.acts.stabilised_at
        if g is None or at is None or g.steady_since < at:
            return False
        return g.steady_days >= RECHECK_DAYS

    @property
    def near_finish(self) -> bool:
        """Whether the last reading is at the expected finish, as far as a hydrometer can tell."""
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
        """Whether the last two readings show a falling gravity."""
        g = self.gravity
        if g is None or g.steady is not False or g.fall is None or not g.fall.days:
            return False
        fast = g.fall.points / g.fall.days > FALLING_POINTS_PER_DAY
        return fast or not self.near_finish

    @property
    def impossible(self) -> Finding | None:
        """A last reading that no wine can give; None if it is possible."""
        if self.gravity is None or self.gravity.latest.sg >= SG_LOW:
            return None
        return self.say(sentences.GRAVITY_IMPOSSIBLE, sg=self.gravity.latest.sg)

    @property
    def stunned(self) -> Finding | None:
        """A treatment so recent that quiet yeast may wake; None if there was none."""
        act = self.facts.acts.stunned
        if act is None or self._works_since(act):
            return None
        reason, step = self.say(
            sentences.STUNNED, event=Event(act.event).passive, day=format_day(act.when)
        )
        return reason, step.due((act.when + timedelta(days=RECHECK_DAYS)).date())

    def _works_since(self, act: Act) -> bool:
        """Whether counts since an act show yeast hard at work: then it was not stunned."""
        airlock = self.facts.airlock
        if airlock.last_count_at is None or airlock.last_count_at <= act.when:
            return False
        return airlock.last_per_min > STRONG_PER_THRESHOLD * self.threshold_per_min

    @property
    def unfitted(self) -> Finding | None:
        """The reason if there were enough counts for a curve but the sums failed; else None."""
        counts = self.facts.airlock.counts
        if self.forecast is not None or counts < FEWEST_COUNTS:
            return None
        return self.say(sentences.NO_CURVE, counts=counts)
