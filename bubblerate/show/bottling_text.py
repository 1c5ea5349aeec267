"""Makes the sheet for a bottling evening: what to check, prepare, clean and note; no sums."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ..course.bottling_day import LEES_LITRES, SPARE_CLOSURES
from ..course.volumes import FILTER_LITRES
from ..diary.places import typed_again
from ..text import format_day, plain
from ..verdict import cautions
from .balance_text import strength_text, sugar_text
from .blocks import Banner, Boxes, Heading, Line, Paper
from .doses_text import FIRST_THE_PACKET, put_in_texts, sulphite_text
from .guides import GUIDES, Topic

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ..course.bottling_day import BottlingDay, JarToBottle
    from .blocks import Block

__all__ = ["bottling_sheet"]

# What each closure needs; common practice, no source.
_CLOSURES: Final = {
    "cork": "straight corks, soaked as the packet says, and a corker; these bottles can lie down",
    "tapered": "tapered corks, pushed in by hand or mallet; for early drinking, kept upright",
    "cap": "new screw caps, each used once, on bottles with a thread; kept upright or lying",
    "crown": "crown caps and a capper, on bottles with a lip",
}


def bottling_sheet(day: BottlingDay, *, closure: str, title: str) -> Paper:
    """Make the sheet for one evening and one or more jars.

    Parameters
    ----------
    day : BottlingDay
    closure : str
        What closes the bottles: cork, tapered, cap or crown.
    title : str

    Returns
    -------
    Paper
    """
    blocks: list[Block] = []
    for jar in day.jars:
        blocks += _which(jar)
    blocks += [Heading("First, for each jar"), Boxes(tuple(_first(day)))]
    blocks += [Heading("Have ready"), Boxes(tuple(_ready(day, closure)))]
    blocks += [Heading("Clean"), Boxes(_CLEAN), Line(cautions.BLEACH, small=True)]
    if day.filtered:
        filtering = tuple(f"{label}: {text}" for label, text in GUIDES[Topic.FILTER][:4])
        blocks += [Heading("Filter"), Boxes(filtering)]
    blocks += [Heading("Sulphite"), *_sulphite(day)]
    blocks += [Heading("Fill and close"), Boxes(tuple(_fill(closure)))]
    blocks += [Heading("After"), Boxes(tuple(_after(day, closure)))]
    blocks += [Line(cautions.BURST, small=True), Line(cautions.GLASS, small=True)]
    blocks += [Line(cautions.CUSTOM, small=True)]
    return Paper(title=title, blocks=tuple(blocks))


def _which(jar: JarToBottle) -> Iterator[Block]:
    """The jar, and a warning bar if it must not be bottled."""
    parts = [] if jar.litres is None else [f"{plain(round(jar.litres, 2))} L"]
    if jar.sg is not None and jar.read_on is not None:
        parts.append(f"{jar.sg:.3f} on {format_day(jar.read_on)}")
    if jar.holds is not None:
        parts += [strength_text(jar.holds), sugar_text(jar.holds)]
    yield Heading(f"{jar.name}: {'go' if jar.go else 'wait'}")
    yield Line("; ".join(parts) + ".")
    if not jar.go:
        yield Banner(f"Not tonight: {jar.wait}")


def _first(day: BottlingDay) -> Iterator[str]:
    yield "Shine a torch through it: clear, no new lees."
    yield "Shake a sample: no gas puffs out, no prickle on the tongue."
    yield "Count five minutes: no more bubbles than the weather makes."
    for jar in day.jars:
        if jar.stop_above_sg is not None:
            yield f"Read the gravity of {jar.name}: stop if it is above {jar.stop_above_sg:.3f}."
    yield "Taste it: is it as you want it? If any of these fails, stop."


def _ready(day: BottlingDay, closure: str) -> Iterator[str]:
    if day.bottles is None or day.most is None or day.spare_litres is None:
        yield "Bottles: number not known; note the litres of each jar."
    else:
        yield _bottles(day)
    number = f"{day.most + SPARE_CLOSURES} " if day.most else ""
    yield f"Closures: {number}{_CLOSURES[closure]} [common practice]."
    yield (
        "One plastic bottle as a tell-tale: squeeze it weekly, it should stay soft. Two spare "
        "bottles."
    )
    yield "Siphon and tube, funnel, jug, torch, hydrometer, towels, labels and a pen."


def _bottles(day: BottlingDay) -> str:
    assert day.bottles is not None
    assert day.spare_litres is not None
    low, high = day.bottles
    number = f"{low}" if low == high else f"{low} to {high}"
    litres = plain(round(day.litres or 0.0, 2))
    text = f"Bottles: {number} of {day.size_cl} cl, from {litres} L; {_lost(day)}."
    if day.most is not None and day.most > low:
        least, most = day.spare_litres
        text += f" {day.most} with {least:.1f} to {most:.1f} L of a similar wine from a spare."
    return f"{text} Keep what is left over as the next spare."


def _lost(day: BottlingDay) -> str:
    low, high = (n * len(day.jars) for n in LEES_LITRES)
    text = f"{low:.1f} to {high:.1f} L stays behind with the lees"
    if day.filtered:
        text += f" and {FILTER_LITRES[0]} to {FILTER_LITRES[1]} in the filter"
    return f"{text} [from memory]"


_CLEAN: Final = (
    "Wash the bottles and look through each against the light: no chips at the mouth.",
    "Sterilise bottles, siphon, tube, funnel and jug as the packet says. Rinse if it says so. "
    "Drain.",
)


def _sulphite(day: BottlingDay) -> Iterator[Block]:
    for jar in day.jars:
        figures = jar.figures
        dose = sulphite_text(figures.sulphite, ph=figures.ph, litres=figures.stands.litres)
        for text in put_in_texts(jar.holds):
            yield Line(f"{jar.name}, added before: {text}")
        yield Line(f"{jar.name}: {dose}")
    yield Line(f"{cautions.SULPHITE} {FIRST_THE_PACKET}", small=True)


def _fill(closure: str) -> Iterator[str]:
    yield "Stand the jar up high the day before. Siphon from above the lees."
    yield "Put the tube at the bottom of the bottle. Lift a funnel a little, so that air gets out."
    yield (
        "Fill to 1 to 2 cm below the closure [common practice]. Fill the tell-tale first and date "
        "it."
    )
    if closure in ("cork", "tapered"):
        yield (
            "Push in the corks and wipe. Dip capsules in boiling water for a second or two, with "
            "tongs: it scalds."
        )
    else:
        yield "Close each bottle as soon as it is full, and wipe it."


def _after(day: BottlingDay, closure: str) -> Iterator[str]:
    if closure in ("cork", "tapered"):
        yield "Let the bottles stand 3 to 5 days, so that the corks set [an amateur guide]."
    if closure == "cork":
        yield "Then lay them down in the dark at 10 to 15 C."
    else:
        yield "Store them upright in the dark at 10 to 15 C."
    for jar in day.jars:
        yield f"Label {jar.name}: fruit and year, bottled, batch, strength, sulphite, finings."
    for jar, number in _shares(day):
        if not jar.go:
            continue
        filled = ("--bottles", f"{number}x{day.size_cl}cl", "--closure", closure)
        line = typed_again(jar.path, "event", "bottled", *filled)
        yield f"Write: {line}, with what you filled."


def _shares(day: BottlingDay) -> Iterator[tuple[JarToBottle, int]]:
    """Bottles of each jar, if known."""
    for jar in day.jars:
        share = 0
        if jar.litres is not None and day.litres and day.bottles is not None:
            share = round(day.bottles[1] * jar.litres / day.litres)
        yield jar, share
