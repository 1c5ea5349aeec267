"""All safety cautions, and which of them goes with a verdict.

Common practice, no source, except for limits in air and allergens, which the law sets.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from .reasons import Code

if TYPE_CHECKING:
    from .decide import Verdict

__all__ = [
    "AIR",
    "BLEACH",
    "BURST",
    "CUSTOM",
    "FININGS",
    "GLASS",
    "GUSHED",
    "HINT",
    "SEALED",
    "SPIRIT",
    "SULPHITE",
    "YOUNG",
    "caution",
]

HINT: Final = (
    "Bubbles are only a hint. Never bottle on them alone: take two readings well apart, warm and "
    "degassed."
)
SEALED: Final = "Never seal a fermenting jar. Keep the airlock filled and clear."
AIR: Final = (
    "Its gas is heavy and has no smell: many jars in a closed room need fresh air. Headache or "
    "fast breathing: get out."
)
GLASS: Final = (
    "Glass: dry hands, one hand under the base, never by the neck alone, shoes on. No hot water "
    "in a cold jar, or cold in a hot one."
)
FININGS: Final = (
    "Finings may contain egg, milk, fish, shellfish or gelatine: tell your guests. Time or clay "
    "may do instead."
)
SULPHITE: Final = (
    "People with asthma may react to it. Air the room, and do not lean over powder and acid."
)
_GUSHING: Final = (
    "If a cork lifts or a bottle gushes: put a towel over it, cover your eyes, chill it and vent "
    "it. Do not shake it."
)
GUSHED: Final = (
    "STOP: the other bottles may burst too. Put on goggles and gloves, chill them, ease each one "
    "open and pour it back. Put a towel over one that gushes, and do not shake it."
)
_BURST: Final = "Bottles can burst"
_GAS: Final = f"{_BURST}: leftover sugar and live yeast make gas in a closed bottle."
BURST: Final = f"{_GAS} If in doubt, wait, or keep it under airlock. {_GUSHING}"
BLEACH: Final = (
    "Washing bottles: never mix bleach with acid, sulphite, vinegar, ammonia or alcohol. The gas "
    "is poison: if it happens, leave. Rinse between cleaners."
)
SPIRIT: Final = (
    "No distilling: making spirits at home is another matter, and usually against the law."
)
CUSTOM: Final = (
    "Making wine for yourself is legal in many places, within limits. Selling, bartering or "
    "giving it away may not be: check your own law."
)
YOUNG: Final = (
    "Not for anyone under age. Throw away wine that is mouldy, rotten or vinegary. Strength is an "
    "estimate: never use it to decide whether to drive."
)

_WITH_VERDICT: Final = {
    ("racking", "go"): (
        "Jars are heavy and slippery: dry hands, one under the base, never by the neck alone. "
        "It may not be ready to bottle."
    ),
    ("racking", "wait"): (
        "Never seal a fermenting jar. Keep the airlock filled. Its gas is heavy and has no smell: "
        "air the room."
    ),
    ("bottling", "go"): (
        f"{_BURST}. If it tastes sweet or prickles, wait. Fill one plastic bottle too and squeeze "
        "it weekly: if it goes hard, open the rest. Check your own law before you sell or give it "
        "away."
    ),
    ("bottling", "wait"): f"{_GAS} If in doubt, keep it under airlock.",
}


def caution(verdict: Verdict) -> str:
    """Give the caution for a verdict.

    Parameters
    ----------
    verdict : Verdict

    Returns
    -------
    str
        One or more sentences.
    """
    if any(reason.code == Code.BOTTLED for reason in verdict.reasons):
        return _GUSHING
    return _WITH_VERDICT[verdict.question, verdict.answer]
