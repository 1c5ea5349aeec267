"""Turns the proof for bottling into reasons and the next step.

What can be done tonight is put into one visit. What needs time gets its day, or other evidence is
asked for.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

from . import sentences
from .earliest import Tell
from .lacks import OF_SUGAR
from .proof_words import go_sentence, lack_sentence, plan_sentence, tell_sentence
from .reasons import BOTTLE, COUNT, Code, Kind, NextStep, Reason

if TYPE_CHECKING:
    from collections.abc import Iterator

    from .case import Firmness
    from .proof import Proof

__all__ = ["firmness", "next_step", "reasons"]

LOOK_AGAIN_DAYS: Final = 7  # if only more silent evenings can help (our judgement, no source)

# What can be done on the evening itself, whatever else is missing.
_TONIGHT: Final = {
    Code.NO_GRAVITY: (Kind.READ, "read the gravity"),
    Code.GRAVITY_IMPOSSIBLE: (Kind.READ, "read the gravity"),
    Code.ODD_READING: (Kind.READ, "read the gravity"),
    Code.OLD_READING: (Kind.READ, "read the gravity"),
    Code.CHECK_READING: (Kind.READ, "read the gravity"),
    Code.STABILISED_AND_FALLING: (Kind.READ, "read the gravity"),
    Code.FEW_COUNTS: (Kind.COUNT, "count for 5 minutes and note the temperature"),
    Code.PRICKLE: (Kind.LOOK, "shake a sample for gas"),
    Code.STILL_UNSAID: (Kind.LOOK, "shake a sample for gas"),
    Code.CLOUDY: (Kind.LOOK, "shine a torch through it"),
    Code.CLEAR_UNSAID: (Kind.LOOK, "shine a torch through it"),
    Code.MALOLACTIC_OPEN: (Kind.LOOK, "note whether malolactic fermentation is over"),
}
_TO_TELL: Final = {
    Tell.STRIP: Kind.READ,
    Tell.TEST_BOTTLE: Kind.WARM,
    Tell.WARMTH: Kind.WARM,
    Tell.STABILISE: Kind.STABILISE,
    Tell.STEM: Kind.READ,
}
# It may still be working: no use to look if it is clear, and no day to name.
_WORKS: Final = OF_SUGAR - {
    *(Code.NO_GRAVITY, Code.GRAVITY_IMPOSSIBLE, Code.ODD_READING, Code.GRAVITY_UNPROVEN),
    *(Code.STUNNED, Code.FINISH_UNTESTED),
}
# These say nothing about the wine itself: nobody looked, or a wait is not over.
_UNSEEN: Final = frozenset(
    {
        *(Code.NO_GRAVITY, Code.FEW_COUNTS, Code.STILL_UNSAID, Code.CLEAR_UNSAID),
        *(Code.MALOLACTIC_OPEN, Code.CLEAR_TOO_SHORT, Code.ON_FININGS, Code.NEW_LEES),
        *(Code.CLOUDY, Code.PRICKLE, Code.STILL_BUBBLING),
    }
)


def reasons(proof: Proof) -> tuple[Reason, ...]:
    """What speaks against bottling, the worst first; for a go, what speaks for it.

    Parameters
    ----------
    proof : Proof

    Returns
    -------
    tuple of Reason
    """
    if proof.lacks:
        return tuple(Reason(lack.check, lack_sentence(lack)) for lack in proof.lacks)
    steady = Reason(Code.GRAVITY_STEADY, go_sentence(proof))
    quiet = sentences.QUIET.of()
    if proof.stabilised is None:
        return steady, quiet
    return steady, sentences.STABILISED.of(), quiet


def firmness(proof: Proof) -> Firmness:
    """Which of the two sources, by itself, says the same as the proof.

    Parameters
    ----------
    proof : Proof

    Returns
    -------
    {"both", "bubbles", "gravity", "none"}
    """
    if proof.go:
        return "both"
    found = {lack.check for lack in proof.lacks}
    bubbles, gravity = Code.STILL_BUBBLING in found, bool(found - _UNSEEN)
    if gravity:
        return "both" if bubbles else "gravity"
    return "bubbles" if bubbles else "none"


def next_step(proof: Proof) -> NextStep:
    """Find the one next thing to do: a visit tonight, a later evening, or other evidence.

    Parameters
    ----------
    proof : Proof

    Returns
    -------
    NextStep
    """
    if proof.go:
        return BOTTLE.due(proof.asked)
    found = {lack.check for lack in proof.lacks}
    if Code.STILL_BUBBLING in found:  # until it is silent, nothing else can help
        again = proof.looked + timedelta(days=LOOK_AGAIN_DAYS)
        return COUNT.due(max(again, proof.asked))
    tonight = _tonight(proof)
    words = [_also(tonight)] if tonight else []
    if proof.earliest is not None:
        words.append(plan_sentence(proof.earliest))
    if proof.tells:
        words.append(tell_sentence(proof.tells))
    kind, on = next(_ways(proof, tonight))
    return NextStep(kind, " ".join(words) or lack_sentence(proof.lacks[0]), on)


def _tonight(proof: Proof) -> list[tuple[Kind, str]]:
    """What is missing and can be done tonight, each once, the worst first."""
    found = [lack.check for lack in proof.lacks]
    works = not _WORKS.isdisjoint(found)
    acts = dict.fromkeys(_TONIGHT[code] for code in found if code in _TONIGHT)
    return [act for act in acts if not (works and act[0] is Kind.LOOK)]


def _ways(proof: Proof, tonight: list[tuple[Kind, str]]) -> Iterator[tuple[Kind, date]]:
    """What to do and when, the first that can be done."""
    plan = proof.earliest
    if tonight:
        yield tonight[0][0], proof.asked
    if plan is not None:
        on = min(*plan.look_on, *plan.read_on, plan.on)
        yield Kind.READ if on in plan.read_on else Kind.COUNT, on
    if proof.tells:
        yield _TO_TELL[proof.tells[0]], proof.asked
    yield Kind.COUNT, max(proof.looked + timedelta(days=LOOK_AGAIN_DAYS), proof.asked)


def _also(tonight: list[tuple[Kind, str]]) -> str:
    """One visit in one sentence."""
    words = [act for _, act in tonight]
    words[0] = f"{words[0][:1].upper()}{words[0][1:]}"
    listed = " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else words[0]
    return f"{listed}."
