"""The verdict on bottling in words: what the proof lacks, or why it is a go, and what is next.

All that can be had in one evening is one visit; what no evening can give has its day, or is named
as other evidence to get.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

from . import sentences
from .earliest import Tell
from .proof_words import go_sentence, lack_sentence, plan_sentence, tell_sentence
from .reasons import BOTTLE, COUNT, Code, Kind, NextStep, Reason

if TYPE_CHECKING:
    from collections.abc import Iterator

    from .case import Firmness
    from .proof import Proof

__all__ = ["firmness", "next_step", "reasons"]

LOOK_AGAIN_DAYS: Final = 7  # where only more silent evenings can help (our judgement, no source)

# What can be had on the evening itself, whatever else is lacking.
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
    Code.CLOUDY: (Kind.LOOK, "hold a torch to its side"),
    Code.CLEAR_UNSAID: (Kind.LOOK, "hold a torch to its side"),
    Code.MALOLACTIC_OPEN: (Kind.LOOK, "say whether its malolactic change is over"),
}
_TO_TELL: Final = {
    Tell.STRIP: Kind.READ,
    Tell.TEST_BOTTLE: Kind.WARM,
    Tell.WARMTH: Kind.WARM,
    Tell.STABILISE: Kind.STABILISE,
    Tell.STEM: Kind.READ,
}
# Lacks that say nothing of the wine itself: nobody looked, or a wait is not over.
_UNSEEN: Final = frozenset(
    {
        *(Code.NO_GRAVITY, Code.FEW_COUNTS, Code.STILL_UNSAID, Code.CLEAR_UNSAID),
        *(Code.MALOLACTIC_OPEN, Code.CLEAR_TOO_SHORT, Code.ON_FININGS, Code.NEW_LEES),
        *(Code.CLOUDY, Code.PRICKLE, Code.STILL_BUBBLING),
    }
)


def reasons(proof: Proof) -> tuple[Reason, ...]:
    """What stands against bottling, the worst first; for a go what speaks for it.

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
    """Which of the two sources, by itself, says what the proof says.

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
    """The one thing to do next: tonight's visit, the next evening of the wait, or other evidence.

    Parameters
    ----------
    proof : Proof

    Returns
    -------
    NextStep
    """
    if proof.go:
        return BOTTLE.due(proof.asked)
    found = {lack.check: lack for lack in proof.lacks}
    tonight = dict.fromkeys(_TONIGHT[code] for code in found if code in _TONIGHT)
    words = [_also(tonight)] if tonight else []
    if proof.earliest is not None:
        words.append(plan_sentence(proof.earliest))
    if proof.tells:
        words.append(tell_sentence(proof.tells))
    kind, on = next(_ways(proof, [kind for kind, _ in tonight]))
    if not words:
        kept = Code.STILL_BUBBLING in found
        words.append(COUNT.do if kept else lack_sentence(proof.lacks[0]))
    return NextStep(kind, " ".join(words), on)


def _ways(proof: Proof, tonight: list[Kind]) -> Iterator[tuple[Kind, date]]:
    """What to do and when, the first that can be done."""
    plan = proof.earliest
    if tonight:
        yield tonight[0], proof.asked
    if plan is not None:
        on = min(*plan.look_on, *plan.read_on, plan.on)
        yield Kind.READ if on in plan.read_on else Kind.COUNT, on
    if proof.tells:
        yield _TO_TELL[proof.tells[0]], proof.asked
    yield Kind.COUNT, max(proof.looked + timedelta(days=LOOK_AGAIN_DAYS), proof.asked)


def _also(tonight: dict[tuple[Kind, str], None]) -> str:
    """All of one visit in one sentence."""
    words = [act for _, act in tonight]
    listed = " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else words[0]
    return f"Tonight: {listed}."
