"""The guides: how each thing is done, step by step, and why; no sums.

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
        ("look", (
            "Froth, a ring at the neck or a raised cap of fruit also mean that it has started."
        )),
        ("bung", "Press the bung: does the water in the airlock creep back within ten seconds? If "
         "so it leaks, and the wine may be fermenting well."),
        ("gravity", (
            "Read it: if it is two points down, it is fermenting, whatever the airlock does."
        )),
        ("warm", "Keep it at 18 to 22 C. Yeast that went into must above 35 C may be dead."),
        ("air", "Stir air in: yeast needs it to grow, but only in these first days."),
        ("yeast", (
            "Still nothing after a day in the warm: add a fresh starter, begun in a cup of the "
            "must."
        )),
        ("sulphite", "After sulphiting the must, wait 24 hours before you add yeast."),
    ),
    Topic.STUCK: (
        ("why", "Too cold, too little nutrient, too strong, or too sweet for the yeast. A warm "
         "grape must counts as stuck after 24 hours without change [textbook page]; a cool jar, "
         "after two equal readings five days apart."),
        ("warm", "Keep it at 18 to 20 C for a week, away from draughts. Read it before and after."),
        ("rouse", (
            "Stir gently, add nutrient as its packet says, and keep it warm for another week."
        )),
        ("starter", "Start fresh yeast in a warm cup of half wine, half water, with a spoon of "
         "sugar. Each time it is working, double it with wine, three times over. Then pour it all "
         "into the jar. Give it two weeks."),
        ("sweet", "Keep it as a sweet wine: rack it, add sulphite and sorbate, and leave it 14 "
         "days. The gravity must not have moved. Or wait under airlock until it is warm again."),
    ),
    Topic.HAZE: (
        ("time", "Most haze settles by itself: give it two months somewhere 5 to 6 C cooler."),
        ("yeast", "Put a glass in the fridge for two days. If it clears from the top and leaves a "
         "creamy layer, it is yeast: try time, cold, two-part finings or clay."),
        ("pectin", "Mix one part of wine with four of methylated or rubbing alcohol. Strings or "
         "clots within the hour mean pectin. Never taste it; throw the glass away. Use pectic "
         "enzyme as its packet says, at 18 C or more: finings do not touch it."),
        ("protein", "Heat a glass of wine to 80 C in a water bath and let it cool. If a haze "
         "appears or grows, it is protein: use clay (bentonite) as its packet says."),
        ("starch", "Add a drop of iodine. If it turns blue it is starch, from grain, banana or "
         "parsnip: use amylase as its packet says."),
        ("trial", "Try the finings on one glass first, in proportion. Whatever clears it in two "
         "days will clear the jar. Use the least that does."),
    ),
    Topic.FININGS: (
        ("first", (
            "Fine wine that has finished, has been racked and holds no gas: gas keeps haze afloat."
        )),
        ("two-part", "For a 4.5 L jar: half a teaspoon (2.5 mL) of the first part, swirl, wait "
         "half an hour, then the same of the second part, swirl. The packet comes first."),
        ("wait", "It clears in about three days, two weeks at most. A cool place helps."),
        ("rack", "Rack it off them as soon as it is clear, or the haze comes back."),
        ("label", "Note which finings: egg, milk, fish or shellfish must go on the label."),
    ),
    Topic.FILTER: (
        ("when", "Filter only clear wine: a pad polishes it, but haze clogs the pad."),
        ("water", (
            "Run a jar of clean water through the pad first: its fibres swell and its taste goes."
        )),
        ("first run", "Throw away the first glass of wine: it is watery."),
        ("bottle", "Bottle straight from the filter, with the tube at the bottom of the bottle."),
        ("loss", "The pad and hoses hold back 0.1 to 0.3 L [from memory]."),
    ),
    Topic.STABILISE: (
        ("when", "Clear, racked, still wine. Sorbate kills no yeast: it stops the few cells that "
         "are left from growing [university extension]."),
        ("both", "Add sulphite and sorbate together, each dissolved in a little wine."),
        ("wait", "Leave it 14 days under airlock, then read it: the gravity must not have moved."),
        ("sweeten", "Sweeten after those 14 days, and leave it 14 days more."),
    ),
    Topic.SPARKLE: (
        ("wine", "A wine proven to have finished, not stabilised, well below 12 % vol."),
        ("bottles", "Use beer bottles with crown caps, none chipped. Never wine bottles or corks."),
        ("sugar", (
            "Weigh it, dissolve it and stir it into the whole batch. Never use a spoonful per "
            "bottle."
        )),
        ("warm", (
            "Keep them 14 days at 18 to 20 C in a closed crate. Squeeze the plastic bottle daily."
        )),
        ("cool", (
            "Once it is hard, move them all somewhere cool. Open one cold, over a sink, with eyes "
            "covered."
        )),
    ),
    Topic.BOTTLING: (
        ("sheet", "bubblerate bottling-day NAME prints a checklist for the evening."),
    ),
}  # fmt: skip

CARES: Final[Mapping[Topic, tuple[str, ...]]] = {
    Topic.FIRST_DAYS: (cautions.SEALED, cautions.AIR),
    Topic.STUCK: (cautions.BURST, cautions.SULPHITE),
    Topic.HAZE: (
        "Methylated and rubbing alcohol are poisonous and burn easily: no flames, and pour the "
        "test down the drain.",
        cautions.GLASS,
    ),
    Topic.FININGS: (cautions.FININGS,),
    Topic.FILTER: (cautions.BLEACH,),
    Topic.STABILISE: (cautions.SULPHITE, cautions.BURST),
    Topic.SPARKLE: (cautions.BURST,),
    Topic.BOTTLING: (cautions.BURST, cautions.BLEACH),
}
