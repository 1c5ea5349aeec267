"""All events: what can be done to a jar or seen in it, each with one meaning.

A diary has an event as one word of `Event`; `event_names` reads what people say instead.
"""

from enum import StrEnum
from typing import Self

__all__ = [
    "ADDED",
    "BREAKS",
    "EVENTS",
    "NEW_SUGAR",
    "Event",
]


class Event(StrEnum):
    """What was done to a vessel or seen in it; `meaning` explains the word.

    Examples
    --------
    >>> Event("racked") == "racked", Event.RACKED.meaning
    (True, 'siphoned off its lees into a clean jar')
    """

    meaning: str

    def __new__(cls, word: str, meaning: str = "") -> Self:  # noqa: D102 - StrEnum's own
        event = str.__new__(cls, word)
        event._value_ = word
        event.meaning = meaning
        return event

    PITCHED = "pitched", "the yeast went in: a new wine starts"
    SAMPLED = "sampled", "opened for a reading, a sample taken"
    FED = "fed", "sugar, honey, juice, must or fruit added: more to ferment"
    STARTER = "starter", "a fresh working yeast starter added"
    DILUTED = "diluted", "water added"
    SWEETENED = (
        "sweetened",
        ("sugar added for taste; unless it was stabilised first, the yeast will ferment it"),
    )
    STIRRED = "stirred", "stirred: yeast and lees stirred up"
    DEGASSED = "degassed", "shaken or stirred to get the gas out"
    MOVED = "moved", "moved to another place, about as warm"
    CHILLED = "chilled", "moved to the cold on purpose"
    WARMED = "warmed", "moved to a warmer place"
    AIRLOCK = "airlock", "the airlock was refilled or changed"
    BUNG_TIGHT = "bung-tight", "bung pressed and the airlock held: no leak"
    BUNG_LEAKED = "bung-leaked", "bung or airlock leaked and was made tight"
    STRAINED = (
        "strained",
        "taken off the fruit or pulp into another vessel; does not count as racking",
    )
    PRESSED = "pressed", "pressed off the fruit into another vessel; does not count as racking"
    RACKED = "racked", "siphoned off its lees into a clean jar"
    TOPPED_UP = (
        "topped-up",
        ("filled up with finished wine (with juice it is fed, with water diluted)"),
    )
    FINED = "fined", "finings stirred in, to clear it"
    FINED_TWO_PART = "fined-two-part", "two-part finings stirred in, to clear it"
    SULPHITED = "sulphited", "sulphite added"
    STABILISED = (
        "stabilised",
        ("sulphite and sorbate added: they stop a finished wine from starting again"),
    )
    FILTERED = "filtered", "passed through a filter"
    BOTTLED = "bottled", "filled into bottles; if litres is blank, none is left in the jar"
    BOTTLED_SPARKLING = "bottled-sparkling", "bottled to be sparkling, with a weighed dose of sugar"
    OPENED = "opened", "a bottle was opened"
    POURED_BACK = "poured-back", "every bottle opened and poured back into the jar"
    GUSHED = "gushed", "a bottle gushed when it was opened"
    SPLIT = "split", "divided between two jars"
    JOINED = "joined", "poured together with the wine of another jar"
    PUT_AWAY = "put-away", "taken off the shelf for good; the diary is kept"
    TESTED = "tested", "a test bottle stayed quiet for two weeks at 25 C"
    SUGAR_LOW = "sugar-low", "a strip or tablet showed under 3 g/L of sugar"
    SUGAR_HIGH = "sugar-high", "a strip or tablet showed 3 g/L of sugar or more"
    CLEAR = "clear", "clear, seen with a torch"
    CLOUDY = "cloudy", "hazy"
    LEES = "lees", "new sediment at the bottom"
    STILL = "still", "no gas puffed out of a shaken sample, and no prickle"
    PRICKLE = "prickle", "gas in it: a puff when shaken, or a prickle on the tongue"
    MALOLACTIC_OVER = "malolactic-over", "malolactic fermentation is over"
    TASTED = "tasted", "tasted; how it tasted is in the note"
    NOT_FED = "not-fed", "no sugar went in: answers a note that mentions sugar"

    @property
    def base(self) -> "Event":
        """The plainer event that this also counts as; for most, itself."""
        return _BASE.get(self, self)

    @property
    def passive(self) -> str:
        """Words to follow "it was"."""
        return _PASSIVE.get(self, str(self))


EVENTS = tuple(Event)

# Each event on the left also counts as the one on the right.
_BASE = {Event.BOTTLED_SPARKLING: Event.BOTTLED, Event.FINED_TWO_PART: Event.FINED}
_PASSIVE = {
    Event.AIRLOCK: "given another airlock",
    Event.NOT_FED: "not fed",
    Event.STARTER: "given a starter",
    Event.BUNG_LEAKED: "found to leak",
    Event.POURED_BACK: "poured back",
    Event.FINED_TWO_PART: "fined",
}

# Events that change the gravity; events that add sugar, or may; and all after which counts cannot
# be compared with those before: another bubble size, or another place. Topping up with finished
# wine leaves it as good as the same wine, and water has no sugar. Common practice, no source.
_SUGARED = frozenset((Event.FED, Event.SWEETENED, Event.JOINED, Event.POURED_BACK))
ADDED = _SUGARED | {Event.DILUTED}
NEW_SUGAR = _SUGARED | {Event.PITCHED}
BREAKS = ADDED | {
    *(Event.PITCHED, Event.TOPPED_UP),
    *(Event.STARTER, Event.RACKED, Event.STRAINED, Event.PRESSED, Event.FILTERED, Event.SPLIT),
    *(Event.MOVED, Event.CHILLED, Event.WARMED, Event.AIRLOCK, Event.BUNG_LEAKED),
}
