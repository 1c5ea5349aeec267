"""Decides go or wait, in one pure function of counts, gravity, events and clock.

For racking, bubbles and gravity each give an opinion, and a table joins the two. For bottling, the
proof alone decides.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from ..text import format_day
from . import bottling, racking, sentences
from .case import Answer, Case, Firmness, Opinion, Stance
from .reasons import NOTHING, RACK, Code, NextStep, Question, Reason

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime


__all__ = ["Verdict", "verdict"]

# (gravity, bubbles) -> answer, firmness, and whose reason and next step come first.
_RACKING: dict[tuple[Stance, Stance], tuple[Answer, Firmness, Literal["gravity", "bubbles"]]] = {
    ("go", "go"): ("go", "both", "gravity"),
    ("go", "lean"): ("go", "both", "gravity"),
    ("go", "wait"): ("wait", "bubbles", "bubbles"),
    ("go", "mute"): ("go", "gravity", "gravity"),
    ("lean", "go"): ("go", "both", "gravity"),
    ("lean", "lean"): ("go", "both", "gravity"),
    ("lean", "wait"): ("wait", "bubbles", "bubbles"),
    ("lean", "mute"): ("wait", "none", "bubbles"),
    ("mute", "go"): ("go", "bubbles", "bubbles"),
    ("mute", "lean"): ("wait", "none", "bubbles"),
    ("mute", "wait"): ("wait", "bubbles", "bubbles"),
    ("mute", "mute"): ("wait", "none", "bubbles"),
    ("doubt", "go"): ("wait", "none", "gravity"),
    ("doubt", "lean"): ("wait", "none", "gravity"),
    ("doubt", "wait"): ("wait", "bubbles", "bubbles"),
    ("doubt", "mute"): ("wait", "none", "bubbles"),
    ("wait", "go"): ("wait", "gravity", "gravity"),
    ("wait", "lean"): ("wait", "gravity", "gravity"),
    ("wait", "wait"): ("wait", "both", "gravity"),
    ("wait", "mute"): ("wait", "gravity", "gravity"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """The answer, how firm, why, and what next.

    Attributes
    ----------
    vessel : str
    asked_at : datetime
    question : Question
    threshold_per_min : float
        Rate below which the vessel counts as quiet [bubbles/min].
    answer : {"go", "wait"}
    firmness : {"both", "bubbles", "gravity", "none"}
        Which of the two sources, by itself, says the same.
    reasons : tuple of Reason
        In order of weight.
    next : NextStep
    """

    vessel: str
    asked_at: datetime
    question: Question
    threshold_per_min: float
    answer: Answer
    firmness: Firmness
    reasons: tuple[Reason, ...]
    next: NextStep


def verdict(case: Case) -> Verdict:
    """Go or wait.

    Parameters
    ----------
    case : Case

    Returns
    -------
    Verdict
        Always go or wait; "cannot say" is a wait with firmness none.
    """
    bottled_at = case.facts.acts.bottled_at
    if bottled_at is not None:
        reason = sentences.BOTTLED.of(day=format_day(bottled_at))
        return _answered(case, "wait", "none", [reason], NOTHING)
    return _on_bottling(case) if case.question == Question.BOTTLING else _on_racking(case)


def _answered(
    case: Case, answer: Answer, firmness: Firmness, reasons: Iterable[Reason], step: NextStep
) -> Verdict:
    return Verdict(
        vessel=case.vessel,
        asked_at=case.asked_at,
        question=case.question,
        threshold_per_min=case.threshold_per_min,
        answer=answer,
        firmness=firmness,
        reasons=(*reasons, *case.findings),
        next=step,
    )


def _on_racking(case: Case) -> Verdict:
    early = racking.too_soon(case)
    if early is not None:
        return _answered(case, "wait", "none", [early.reason], early.next)
    gravity, bubbles = racking.gravity(case), racking.bubbles(case)
    if gravity.stance == "go" and bubbles.stance == "wait" and racking.only_gas(case):
        bubbles = Opinion("mute", sentences.GAS_WITHOUT_SUGAR.of(), bubbles.next)
    if gravity.reason.code is Code.LEAK:  # gas that leaks is in no count
        bubbles = Opinion("mute", bubbles.reason, bubbles.next)
    answer, firmness, lead = _RACKING[gravity.stance, bubbles.stance]
    first, second = (gravity, bubbles) if lead == "gravity" else (bubbles, gravity)
    step = RACK.due(case.day()) if answer == "go" else first.next
    return _answered(case, answer, firmness, [first.reason, second.reason], step)


def _on_bottling(case: Case) -> Verdict:
    proof = case.proof
    return _answered(
        case,
        "go" if proof.go else "wait",
        bottling.firmness(proof),
        bottling.reasons(proof),
        bottling.next_step(proof),
    )
