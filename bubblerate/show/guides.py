"""How things are done, step by step: what is tried, in which order, and what it rests on; no sums.

Common practice, no source, unless a line says otherwise.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Final

from ..verdict import cautions

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["CARES", "GUIDES", "Topic"]


class Topic(StrEnum):
    """What a guide is about."""

    FIRST_DAYS = "first-days"
    STUCK = "stuck"
    HAZE = "haze"
    FININGS = "finings"
    FILTER = "filter"
    STABILISE = "stabilise"
    SPARKLE = "sparkle"
    BOTTLING = "bottling"


GUIDES: Final[Mapping[Topic, tuple[tuple[str, str], ...]]] = {
    Topic.FIRST_DAYS: (
        ("look", "Froth, a ring at the neck or a lifted cap of fruit count as a start too."),
        ("bung", "Press the bung: does the airlock creep back in ten seconds? If so it leaks, and "
         "the ferment may be well."),
        ("gravity", "Read it: two points down say that it works, whatever the airlock does."),
        ("warm", "Bring it to 18 to 22 C; yeast put into must above 35 C may be dead."),
        ("air", "Stir air in: in these first days alone, yeast needs it to grow."),
        ("yeast", "A day warm and nothing yet: a fresh starter, begun in a cup of the must."),
        ("sulphite", "Must that was sulphited rests 24 hours before the yeast."),
    ),
    Topic.STUCK: (
        ("why", "Too cold, too little food for the yeast, too strong, or too sweet for it: no "
         "change in 24 hours is called stuck in warm grape must [textbook page]; in a cool jar, "
         "two readings five days apart."),
        ("warm", "A week at 18 to 20 C, away from draughts. Read before and after."),
        ("rouse", "Stir gently, feed the yeast by its packet, keep it warm: another week."),
        ("starter", "Fresh yeast in a cup of half wine, half water with a spoon of sugar, warm; "
         "once it works, add as much of the wine again each time it works, three times; then all "
         "of it to the jar. Two weeks."),
        ("sweet", "Take it sweet: rack, sulphite and sorbate, hold 14 days, read: it must stand "
         "where it stood. Or wait under airlock till it is warm again."),
    ),
    Topic.HAZE: (
        ("time", "Most haze falls by itself: two months in the cool, 5 to 6 C below its room."),
        ("yeast", "A glass in the fridge for two days: it clears from the top, and cream lies "
         "below. Then it is yeast: time, the cool, finings of two parts or clay."),
        ("pectin", "One part of wine with four of methylated or rubbing alcohol, in a glass that "
         "is thrown away, never tasted: strings or clots within the hour are pectin. Pectic "
         "enzyme by its packet, at 18 C or more; finings do not touch it."),
        ("protein", "A glass of wine heated to 80 C in a water bath and cooled: a haze that comes "
         "or grows is protein. Clay (bentonite), by its packet."),
        ("starch", "A drop of iodine turns it blue: starch, as of grain, banana or parsnip; "
         "amylase by its packet."),
        ("trial", "Fine one glass first, in proportion, with a drop or a pinch weighed in water: "
         "what clears it in two days clears the jar. Take the least that does."),
    ),
    Topic.FININGS: (
        ("first", "Fine wine that has ended, was racked and holds no gas: gas keeps haze up."),
        ("two-part", "Half a teaspoon (2.5 mL) of the first in a 4.5 L jar, swirl, wait half an "
         "hour, as much of the second, swirl. The packet goes first."),
        ("wait", "Clear in about three days, at most two weeks; cool helps."),
        ("rack", "Rack it off them the evening it is clear: they give back what they took."),
        ("label", "Note which finings: egg, milk, fish, shellfish go on the label."),
    ),
    Topic.FILTER: (
        ("when", "Only clear wine: a pad polishes, haze clogs it."),
        ("water", "A jar of clean water through the pad first: its fibres swell, its taste goes."),
        ("first run", "Throw away the first glass of wine, thin with water."),
        ("bottle", "Bottle straight from it, the tube at the bottom of the bottle."),
        ("loss", "Pad and hoses keep 0.1 to 0.3 L [from memory]."),
    ),
    Topic.STABILISE: (
        ("when", "Clear, racked wine that is still: sorbate kills no yeast, it keeps the few "
         "that are left from growing [university extension]."),
        ("both", "Sulphite and sorbate together, each dissolved in a little wine."),
        ("hold", "14 days under airlock; read: it must read as it did."),
        ("sweeten", "After the hold, and hold it 14 days again."),
    ),
    Topic.SPARKLE: (
        ("wine", "Proven to have ended, not stabilised, well below 12 % vol."),
        ("bottles", "Beer bottles under crown caps, none chipped; never wine bottles or corks."),
        ("sugar", "Weighed, dissolved, stirred into the whole batch: never a spoon a bottle."),
        ("warm", "14 days at 18 to 20 C in a shut crate; squeeze the plastic one daily."),
        ("cool", "Hard: all go to the cool. Open one cold, over a sink, eyes covered."),
    ),
    Topic.BOTTLING: (
        ("sheet", "bubblerate bottling-day NAME prints the list for the evening."),
    ),
}  # fmt: skip

CARES: Final[Mapping[Topic, tuple[str, ...]]] = {
    Topic.FIRST_DAYS: (cautions.SEALED, cautions.AIR),
    Topic.STUCK: (cautions.BURST, cautions.SULPHITE),
    Topic.HAZE: (
        "Methylated and rubbing alcohol are poison and burn: no flame, and that glass goes down "
        "the drain.",
        cautions.GLASS,
    ),
    Topic.FININGS: (cautions.FININGS,),
    Topic.FILTER: (cautions.BLEACH,),
    Topic.STABILISE: (cautions.SULPHITE, cautions.BURST),
    Topic.SPARKLE: (cautions.BURST,),
    Topic.BOTTLING: (cautions.BURST, cautions.BLEACH),
}
