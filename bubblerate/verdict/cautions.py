"""Every caution once, and which of them goes with a verdict.

Common practice, no source, but for the limits in air and for allergens, which are set by law.
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
    "HINT",
    "SEALED",
    "SPIRIT",
    "SULPHITE",
    "YOUNG",
    "caution",
]

HINT: Final = (
    "The count is a hint. Never bottle on bubbles alone: two readings well apart, warm, degassed."
)
SEALED: Final = "Never seal a jar that works; keep the airlock filled and clear."
AIR: Final = (
    "Its gas is heavy and has no smell: many jars in a shut room need air. Headache, fast breath: "
    "out."
)
GLASS: Final = (
    "Glass: dry hands, a hand under the base, never by the neck alone, shoes on; no hot water in a "
    "cold jar, nor cold in a hot one."
)
FININGS: Final = (
    "Finings may hold egg, milk, fish, shellfish or gelatine: tell guests. Time or clay may do "
    "instead."
)
SULPHITE: Final = (
    "People with asthma may react to it. Air the room; do not lean over powder and acid."
)
_GUSHING: Final = (
    "If a cork lifts or a bottle gushes: a towel over it, eyes covered, chill, vent, do not shake."
)
_BURST: Final = "Bottles can burst"
_GAS: Final = f"{_BURST}: sweetness left and live yeast make gas in a shut bottle."
BURST: Final = f"{_GAS} In doubt wait, or keep it under airlock. {_GUSHING}"
BLEACH: Final = (
    "Washing bottles: never mix bleach with acid, sulphite, vinegar, ammonia or alcohol: the gas "
    "is poison; if it happens, leave. Rinse between cleaners."
)
SPIRIT: Final = "No distilling: spirits from home are another matter, and usually against the law."
CUSTOM: Final = (
    "Making wine for yourself is lawful in many places within limits; selling, bartering or giving "
    "it away may not be. See your own law."
)
YOUNG: Final = (
    "Not for those under age. Throw away what is mouldy, rotten or vinegary. Strength is an "
    "estimate, not for deciding to drive."
)

_WITH_VERDICT: Final = {
    ("racking", "go"): "Jars are heavy and slip: dry hands, one under the base, never by the neck "
    "alone. This says nothing about bottling.",
    ("racking", "wait"): "Never seal a jar that works; keep the airlock filled. Its gas is heavy "
    "and has no smell: give the room air.",
    ("bottling", "go"): f"{_BURST}. If it tastes sweet or prickles, wait. Fill one plastic bottle "
    "too and squeeze it weekly: hard means open the rest. Your own law rules sale and gift.",
    ("bottling", "wait"): f"{_GAS} In doubt, keep it under airlock.",
}


def caution(verdict: Verdict) -> str:
    """The caution that goes with a verdict.

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
