"""Chooses which forms a page offers first: those that settle the next step of a jar."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from ..diary.events import EVENTS, Event
from ..verdict.reasons import Kind

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["DONE", "SEEN", "Offer", "offer"]

# What was seen needs only a word; what was done may need litres, sugar, bottles.
SEEN: Final = (
    *(Event.CLEAR, Event.CLOUDY, Event.LEES, Event.STILL, Event.PRICKLE, Event.TASTED),
    *(Event.BUNG_TIGHT, Event.BUNG_LEAKED, Event.MALOLACTIC_OVER, Event.GUSHED),
    *(Event.TESTED, Event.SUGAR_LOW, Event.SUGAR_HIGH),
)
# A reading has its own form, two jars do not fit in the form of one, and answers to a note are
# below it. What starts another wine comes last, where no finger slips to it.
_ELSEWHERE: Final = (Event.SAMPLED, Event.SPLIT, Event.JOINED, Event.PITCHED, Event.NOT_FED)
DONE: Final = (
    *(event for event in EVENTS if event not in (*SEEN, *_ELSEWHERE)),
    Event.PITCHED,
)

_ANSWERS: Final[Mapping[Kind, tuple[Event, ...]]] = {
    Kind.BUNG: (Event.BUNG_TIGHT, Event.BUNG_LEAKED),
    Kind.LOOK: (Event.CLEAR, Event.CLOUDY, Event.LEES, Event.STILL, Event.PRICKLE),
    Kind.WARM: (Event.WARMED,),
    Kind.ROUSE: (Event.STIRRED,),
    Kind.CHILL: (Event.CHILLED,),
    Kind.LAY: (Event.GUSHED, Event.OPENED),
    Kind.WATCH: (Event.GUSHED, Event.OPENED),
    Kind.DRINK: (Event.OPENED, Event.GUSHED),
    Kind.RESCUE: (Event.POURED_BACK,),
}
_ACTS: Final[Mapping[Kind, Event]] = {
    Kind.RACK: Event.RACKED,
    Kind.TOP_UP: Event.TOPPED_UP,
    Kind.RESTART: Event.STARTER,
    Kind.FINE: Event.FINED,
    Kind.STABILISE: Event.STABILISED,
    Kind.BOTTLE: Event.BOTTLED,
}


@dataclass(frozen=True, slots=True)
class Offer:
    """What a page puts first.

    Attributes
    ----------
    form : {"count", "gravity", "event"}
        The form on top.
    answers : tuple of Event
        Each with its own button.
    act : Event or None
        The first choice in the form of events.
    """

    form: str
    answers: tuple[Event, ...] = ()
    act: Event | None = None


def offer(kind: Kind | None) -> Offer:
    """Find what settles a step of this kind; a count if nothing is known."""
    if kind in (Kind.READ, Kind.ANSWER):
        return Offer("gravity")
    if kind is not None and kind in _ANSWERS:
        return Offer("count", answers=_ANSWERS[kind])
    if kind is not None and kind in _ACTS:
        return Offer("event", act=_ACTS[kind])
    return Offer("count")
