"""Groups the events of a diary by meaning; the only place in this folder that names them.

A set holds every event with that meaning; what each does to the facts is in `fold`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:
    from ..diary.visit import Visit

__all__ = ["extras"]

PITCHED: Final = "pitched"
FED: Final = "fed"
STARTER: Final = "starter"
DILUTED: Final = "diluted"
SWEETENED: Final = "sweetened"
STIRRED: Final = "stirred"
DEGASSED: Final = "degassed"
MOVED: Final = "moved"
CHILLED: Final = "chilled"
WARMED: Final = "warmed"
AIRLOCK: Final = "airlock"
BUNG_TIGHT: Final = "bung-tight"
BUNG_LEAKED: Final = "bung-leaked"
STRAINED: Final = "strained"
PRESSED: Final = "pressed"
RACKED: Final = "racked"
TOPPED_UP: Final = "topped-up"
FINED: Final = "fined"
FINED_TWO_PART: Final = "fined-two-part"
SULPHITED: Final = "sulphited"
STABILISED: Final = "stabilised"
FILTERED: Final = "filtered"
BOTTLED: Final = "bottled"
BOTTLED_SPARKLING: Final = "bottled-sparkling"
OPENED: Final = "opened"
POURED_BACK: Final = "poured-back"
GUSHED: Final = "gushed"
SPLIT: Final = "split"
JOINED: Final = "joined"
PUT_AWAY: Final = "put-away"
CLEAR: Final = "clear"
CLOUDY: Final = "cloudy"
LEES: Final = "lees"
STILL: Final = "still"
PRICKLE: Final = "prickle"
SUGAR_HIGH: Final = "sugar-high"
MALOLACTIC_OVER: Final = "malolactic-over"

SUGAR: Final = frozenset({PITCHED, FED})
RACKINGS: Final = frozenset({RACKED, FILTERED})
FININGS: Final = frozenset({FINED, FINED_TWO_PART})
BOTTLINGS: Final = frozenset({BOTTLED, BOTTLED_SPARKLING})
BUNG: Final = frozenset({AIRLOCK, BUNG_TIGHT, BUNG_LEAKED})
LOOKS: Final = frozenset({CLEAR, CLOUDY, LEES, RACKED, FILTERED})

# After these a bubble has another size: counts before and after are never pooled.
# fmt: off
STRETCH: Final = frozenset({
    PITCHED, FED, SWEETENED, DILUTED, STRAINED, PRESSED, RACKED, MOVED, CHILLED, WARMED, FILTERED,
    SPLIT, JOINED, AIRLOCK, BUNG_LEAKED, POURED_BACK,
})
# fmt: on
# Counts of that evening and the next show the handling (a burst, then fewer): common practice.
SHAKEN: Final = frozenset(
    {RACKED, FILTERED, MOVED, CHILLED, WARMED, STIRRED, DEGASSED, TOPPED_UP, STRAINED, PRESSED}
)
# Handled: if the jar falls silent after it, the bung should be checked.
HANDLED: Final = frozenset({RACKED, FILTERED, STRAINED, PRESSED, MOVED, SPLIT})


class Extras(NamedTuple):
    """Columns of a row that old diaries do not have; None or empty if nothing is noted."""

    added_l: float | None
    sugar_g: float | None
    bottles: str
    closure: str
    other: str


def extras(visit: Visit) -> Extras:
    """Read the newer columns of a row, whether it has them or not."""
    return Extras(
        getattr(visit, "added_l", None),
        getattr(visit, "sugar_g", None),
        getattr(visit, "bottles", None) or "",
        getattr(visit, "closure", None) or "",
        getattr(visit, "other", None) or "",
    )
