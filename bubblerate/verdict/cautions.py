"""Cautions, each said once, with the step it bears on.

Common practice, no source, but for the limits in air and for allergens, which are set by law.
"""

from typing import Final

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
BURST: Final = (
    "Bottles can burst: sweetness left and live yeast make gas in a shut bottle. In doubt wait, or "
    "keep it under airlock. If a cork lifts or a bottle gushes: a towel over it, eyes covered, "
    "chill, vent, do not shake."
)
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
