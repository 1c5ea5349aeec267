"""The glossary: words of the trade that a beginner meets first, in a sentence or two each.

Common practice, no source, except the sugar of dry to sweet, from the OIV (from memory).
"""

from __future__ import annotations

from typing import Final, NamedTuple

__all__ = ["WORDS", "Word", "find"]


class Word(NamedTuple):
    """A word and what it means.

    Attributes
    ----------
    name : str
    text : str
        One or two sentences.
    also : tuple of str
        Other words for it, in lower case.
    """

    name: str
    text: str
    also: tuple[str, ...] = ()


WORDS: Final = (
    Word(
        "80 %",
        "A range marked 80 % should hold the true day or value about four times in five.",
        ("80%", "95 %", "95%", "range", "interval"),
    ),
    Word(
        "airlock",
        "A small water trap in the bung: gas can get out and air cannot get in. Keep it filled.",
        ("fermentation lock", "lock"),
    ),
    Word("Brix", "A sugar scale: grams of sugar in 100 g of juice.", ("plato", "balling")),
    Word("bung", "The stopper with a hole for the airlock.", ("stopper", "grommet")),
    Word(
        "clearing",
        "Yeast and haze sink until the wine is clear. If the beam of a torch shows as a path in "
        "the wine, it is not clear yet.",
        ("clear", "cloudy", "haze", "hazy"),
    ),
    Word(
        "degassing",
        "Swirling, stirring or shaking the dissolved gas out. Gas lifts a hydrometer and makes it "
        "read too high.",
        ("degas", "gas"),
    ),
    Word(
        "demijohn",
        "A glass jar with a narrow neck, usually about 4.5 litres. Here it is just called a jar.",
        ("jar", "carboy", "vessel"),
    ),
    Word(
        "dry, sweet",
        "Sugar left in the wine: dry up to 4 g a litre, medium dry up to 12, semi-sweet up to 45, "
        "sweet above that.",
        ("dry", "sweet", "medium dry", "semi-sweet", "residual sugar", "sugar left"),
    ),
    Word("feeding", "Adding sugar, honey or juice, so that there is more to ferment.", ("fed",)),
    Word(
        "finings",
        "Something stirred in to make haze sink, such as clay, or a kit of two parts.",
        ("fining", "fined", "bentonite", "clay"),
    ),
    Word(
        "finish",
        "The gravity at which a wine stops fermenting by itself, often 0.990 to 1.005.",
        ("final gravity", "fg"),
    ),
    Word(
        "gravity",
        "How heavy the wine is for its size; water is 1.000. Sugar raises it and alcohol lowers "
        "it, so it falls while the wine ferments.",
        ("sg", "specific gravity", "density", "og"),
    ),
    Word(
        "headspace",
        "The air above the wine. Leave room for foam at first; in finished wine keep it to a few "
        "centimetres.",
        ("ullage", "full"),
    ),
    Word(
        "hydrometer",
        "A weighted glass float that shows the gravity. Spin it to shake off bubbles, and read it "
        "at eye level.",
        ("stem", "saccharometer"),
    ),
    Word("lees", "What has sunk to the bottom: yeast and bits of fruit.", ("sediment", "deposit")),
    Word(
        "malolactic",
        "Bacteria may turn the sharp malic acid of a wine into softer lactic acid. It makes gas, "
        "but the gravity hardly moves.",
        ("malolactic fermentation", "mlf", "malolactic-over"),
    ),
    Word("must", "The juice or fruit pulp that you ferment.", ("pulp",)),
    Word(
        "nutrient",
        "Food that yeast needs besides sugar. Honey has very little of it.",
        ("yeast nutrient",),
    ),
    Word("Oechsle", "Points above water: a gravity of 1.004 is 4 Oechsle.", ("oe",)),
    Word(
        "pH",
        "A scale of acidity: the lower, the sharper. It decides how much sulphite a wine needs.",
        ("acid", "acidity"),
    ),
    Word("pitching", "Adding the yeast. A diary counts its days from here.", ("pitched", "yeast")),
    Word(
        "point",
        "A thousandth of gravity: from 1.010 to 1.009 is one point, or about 2 g of sugar "
        "fermented in a litre.",
        ("points",),
    ),
    Word(
        "prickle",
        "A slight sting of gas on the tongue. A wine without it is still.",
        ("still", "fizz"),
    ),
    Word(
        "racking",
        "Siphoning the wine off its lees into a clean jar.",
        ("rack", "racked", "siphon"),
    ),
    Word(
        "refractometer",
        "Shows the sugar in a drop of juice by how it bends light. Once there is alcohol it no "
        "longer shows the gravity.",
    ),
    Word(
        "sorbate",
        "Keeps the last yeast in a finished, clear wine from growing. It does not stop an active "
        "ferment, and is always used with sulphite.",
        ("potassium sorbate",),
    ),
    Word(
        "stabilising",
        "Adding sulphite and sorbate to a finished wine, so that it does not start again.",
        ("stabilise", "stabilised", "stabilize"),
    ),
    Word(
        "starter",
        "A cup of juice or wine in which fresh yeast is already working.",
        ("yeast starter",),
    ),
    Word("striking", "Marking a wrong row, so that it no longer counts.", ("strike", "struck")),
    Word(
        "stuck",
        "Stopped, with sugar left that the yeast should have finished.",
        ("stuck ferment", "sluggish"),
    ),
    Word(
        "sugar strip",
        "A test strip made for wine that shows how much sugar is left.",
        ("strip", "sugar-low", "sugar-high"),
    ),
    Word(
        "sulphite",
        "Guards wine against air and germs. It can affect people with asthma.",
        ("sulfite", "metabisulphite", "sulphited"),
    ),
    Word(
        "tail",
        "The last, slow part of a ferment, with fewer bubbles each evening.",
        ("curve",),
    ),
    Word("tally", "Bubbles counted, and the time it took.", ("count", "rate")),
    Word(
        "tell-tale",
        "One plastic bottle filled with the glass ones. If it goes hard, pressure is building.",
        ("telltale", "plastic bottle"),
    ),
    Word(
        "test bottle",
        "A bottle of the wine kept at 25 C for two weeks under an airlock, to see whether it "
        "starts again.",
        ("tested",),
    ),
    Word(
        "threshold",
        "The bubble rate below which a jar counts as quiet: 1 a minute, unless you set another.",
        ("quiet",),
    ),
    Word(
        "topping up",
        "Filling a jar with a similar wine, so that little air is left above it.",
        ("top up", "topped-up", "top-up"),
    ),
)


def find(text: str) -> Word | None:
    """Find the entry for a word, by its name or another word for it; None if there is none.

    Parameters
    ----------
    text : str

    Returns
    -------
    Word or None

    Examples
    --------
    >>> find("SG").name
    'gravity'
    """
    wanted = " ".join(text.lower().split())
    return next((w for w in WORDS if wanted == w.name.lower() or wanted in w.also), None)
