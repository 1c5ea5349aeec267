"""Reads the names that people use for events.

`named` and `done` read all of them: typed, from a round, or from a table.
"""

import re
from functools import lru_cache

from ..errors import InputError
from ..text import quoted
from .events import ADDED, EVENTS, Event
from .lookalikes import tidied

__all__ = ["done", "known", "likely", "named"]

# Never offered for a mistyped word: a wrong one would throw away a wine's proof, or prove what
# nobody saw.
_NEVER_OFFERED = ADDED | {
    *(Event.PITCHED, Event.TOPPED_UP),
    *(Event.STARTER, Event.STABILISED, Event.TESTED, Event.SUGAR_LOW, Event.SUGAR_HIGH),
    *(Event.NOT_FED, Event.CLEAR, Event.STILL, Event.MALOLACTIC_OVER, Event.PUT_AWAY),
}

# Things seen, and everyday words: in a table they are more often remarks than typing mistakes.
_REMARKS = {
    *(Event.CLEAR, Event.CLOUDY, Event.LEES, Event.STILL, Event.PRICKLE, Event.TASTED),
    *(Event.TESTED, Event.OPENED, Event.SPLIT, Event.JOINED, Event.AIRLOCK, Event.STARTER),
}
_ALSO_CALLED: dict[Event, str] = {
    Event.PITCHED: "pitch, pitching, yeast pitched, yeast in",
    Event.SAMPLED: "sample, sample taken",
    Event.FED: "feed, feeding, step fed, sugar, sugar added, honey added, juice added, "
    "topped up with juice, topped up with must, topped up with sugar",
    Event.NOT_FED: "unfed, no sugar, no sugar added, nothing added",
    Event.STARTER: "starter added, fresh starter, fresh yeast, new yeast, yeast starter",
    Event.DILUTED: "dilute, diluting, watered, watered down, water added, topped up with water",
    Event.SWEETENED: "sweeten, sweetening, back sweetened, backsweetened, back sweetening",
    Event.STIRRED: "stir, stirring, roused",
    Event.DEGASSED: "degas, degassing",
    Event.MOVED: "move, moving",
    Event.CHILLED: "chill, chilling, cooled, moved to cold, moved to the cold",
    Event.WARMED: "warm up, warming, warmed up, moved to warm, moved to the warm",
    Event.AIRLOCK: "airlock refilled, airlock changed, airlock cleaned",
    Event.BUNG_TIGHT: "bung is tight, tight bung, airlock tight",
    Event.BUNG_LEAKED: "bung leaks, bung leaking, leaky bung, airlock leaked, leak, leaked",
    Event.STRAINED: "strain, straining, strained off, off the fruit",
    Event.PRESSED: "press, pressing, pressed off",
    Event.RACKED: "rack, racking, racked off",
    Event.TOPPED_UP: "top up, topup, topping up, topped up with wine",
    Event.FINED: "fining, finings, finings added",
    Event.FINED_TWO_PART: "two part finings, fined with two parts",
    Event.SULPHITED: "sulphite, sulfite, sulfited, sulphite added, sulfite added",
    Event.STABILISED: "stabilise, stabilize, stabilized, stabilising, sorbate, sorbate added",
    Event.FILTERED: "filter, filtering",
    Event.BOTTLED: "bottle, bottling",
    Event.BOTTLED_SPARKLING: "sparkling bottled, bottled to sparkle, primed and bottled",
    Event.OPENED: "bottle opened, opened a bottle",
    Event.POURED_BACK: "bottles poured back",
    Event.GUSHED: "gusher, gushing, bottle gushed",
    Event.PUT_AWAY: "putting away",
    Event.TESTED: "test bottle quiet",
    Event.SUGAR_LOW: "low sugar",
    Event.SUGAR_HIGH: "high sugar",
    Event.CLEAR: "bright, clear, seen with a torch",
    Event.CLOUDY: "hazy, haze",
    Event.LEES: "new lees, new sediment, sediment",
    Event.STILL: "no prickle, no gas, no puff",
    Event.PRICKLE: "prickles, prickly, gassy",
    Event.MALOLACTIC_OVER: "malolactic finished, malolactic done, malolactic fermentation over, "
    "mlf over, mlf done, mlf finished",
    Event.TASTED: "taste, tasting",
}
_FORMS = {
    **{event.replace("-", " "): event for event in EVENTS},
    **{name: event for event, names in _ALSO_CALLED.items() for name in names.split(", ")},
}

# Names of a change that is an event only once it is over: the word alone does not say which.
_UNDER_WAY = {"malolactic", "malolactic fermentation", "mlf"}

# Words that say, first in a sentence, that an act is done: "bottle tomorrow" and "racked? not yet"
# are no events, and "still bubbling" or "pressed the bung" would be wrong ones.
_FIRST = (
    *(Event.BOTTLED_SPARKLING, Event.FINED_TWO_PART, Event.TOPPED_UP, Event.POURED_BACK),
    *(Event.PITCHED, Event.SAMPLED, Event.FED, Event.DILUTED, Event.SWEETENED, Event.STIRRED),
    *(Event.DEGASSED, Event.MOVED, Event.CHILLED, Event.STRAINED, Event.RACKED, Event.FINED),
    *(Event.SULPHITED, Event.STABILISED, Event.FILTERED, Event.BOTTLED, Event.GUSHED, Event.TASTED),
)
_DONE_FIRST = (
    rf"({'|'.join(event.replace('-', '[- ]') for event in _FIRST)})"
    r"(?=[ ,;:.+&(-])(?!.*(?:\?|\bnot\b|\bno\b))"
)
_WITH_SUGAR, _WITH_WATER = r"\b(?:juice|must|sugar|syrup|honey|fruit|concentrate)\b", r"\bwater\b"


def known(text: str) -> Event | None:
    """Find the event that a few words name and nothing more; None if none.

    Parameters
    ----------
    text : str
        In any capitals, with blanks or hyphens: "Racked", "topped up", "sulfite".

    Examples
    --------
    >>> known("Topping up") is Event.TOPPED_UP, known("sung to")
    (True, None)
    """
    tidy = tidied(text).rstrip(".!").replace("-", " ").replace("_", " ")
    return _FORMS.get(tidy)


def named(text: str) -> Event:
    """Find the event that a person means by a word or two.

    Parameters
    ----------
    text : str
        As for `known`.

    Returns
    -------
    Event

    Raises
    ------
    InputError
        If they name none. It says which may have been meant, but never one that would throw away a
        wine's proof, or prove what was not seen.
    """
    if event := known(text):
        return event
    if tidied(text).rstrip(".!") in _UNDER_WAY:
        hint = f"if it is over, write {Event.MALOLACTIC_OVER}; until then, write nothing"
    else:
        near = likely(text)
        hint = f"did you mean {near}?" if near else f"write one of {', '.join(EVENTS)}"
    raise InputError(f"no event {quoted(text)}; {hint}")


@lru_cache(maxsize=1024)
def done(text: str) -> tuple[Event | None, str]:
    """Find the event that words name or start with, and the rest to keep as a note.

    Parameters
    ----------
    text : str
        Such as "Racked", "topping up", or "racked into a clean jar".

    Returns
    -------
    event : Event or None
        None if the words start with no event.
    note : str
        All of the words, unless they are only the event.

    Raises
    ------
    InputError
        If it is a single word that is nearly an event.

    Examples
    --------
    >>> done("Topped up") == ("topped-up", ""), done("bottle tomorrow")
    (True, (None, 'bottle tomorrow'))
    >>> done("racked, 4.2 L left") == ("racked", "racked, 4.2 L left")
    True
    """
    if event := known(text):
        return event, ""
    tidy = tidied(text).rstrip(".!")
    if match := re.match(_DONE_FIRST, tidy):
        event = _FORMS[match[1].replace("-", " ")]
        return (_topped_with(tidy) if event is Event.TOPPED_UP else event), text
    one_word = tidy.isalpha() and len(tidy) <= 14 and tidy != "fine"  # which is no fining
    near = _nearest(tidy, 0.75) if one_word else None
    if near is None or near in _REMARKS:
        return None, text
    hint = f"one of {', '.join(EVENTS)}" if near in _NEVER_OFFERED else near
    raise InputError(f"no event {quoted(text)}; write {hint}, or put it under Note")


def likely(text: str) -> Event | None:
    """Find an event to offer for a text that is none: the nearest harmless one."""
    if event := known(text):
        return event
    near = _nearest(tidied(text).replace(" ", "-"), 0.6)
    return None if near in _NEVER_OFFERED else near


def _nearest(word: str, alike: float) -> Event | None:
    from difflib import get_close_matches  # only needed to say what was meant

    near = get_close_matches(word, EVENTS, 1, alike)
    return Event(near[0]) if near else None


def _topped_with(tidy: str) -> Event:
    """Find what topping up meant, from what it was done with."""
    if re.search(_WITH_SUGAR, tidy):
        return Event.FED
    return Event.DILUTED if re.search(_WITH_WATER, tidy) else Event.TOPPED_UP
