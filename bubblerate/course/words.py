"""The words of each row of the table, by its code: plain sentences, no logic.

`DO` is the step, `ALSO` what the same visit may settle, `CARE` the caution shown when the step is
next, `SUPPOSED` what a window supposes. `show/` may add numbers.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["ALSO", "BOTTLE_LATER", "CARE", "DO", "SUPPOSED"]

# fmt: off
DO: Final[Mapping[str, str]] = {
    "A1":   "Nothing.",
    "A1b":  "Keep its airlock filled: it is the spare for topping up another jar.",
    "A2":   "Is the last reading right? Read it again, or strike it.",
    "F1":   "Rack it off its lees.",
    "F1b":  "Count the bubbles for five minutes: it is near its end, so rack it if it is quiet.",
    "F2":   "Rack it off its lees: three counts over five days were quiet.",
    "F3":   "Count the bubbles for five minutes. None in the first three days is normal.",
    "F3b":  "Count the bubbles for five minutes: if they come back, yeast is taking the sugar.",
    "F4":   "Press the bung: if the water in the airlock creeps back, it leaks.",
    "F5":   "Press the bung for ten seconds: it has not bubbled since you handled it.",
    "F6":   "Reseat the bung: the gravity fell by more than the bubbles explain.",
    "F7":   "Count the bubbles for five minutes: it has been warm for three days.",
    "F8":   "Check on it and count for five minutes: it is resting in the cold.",
    "F9":   "Move it back to where it was warm enough, or leave it until spring.",
    "F10":  "Count the bubbles again. It needs no reading while it is fermenting.",
    "F11":  "Read the gravity again: it is falling fast for so few bubbles.",
    "F12":  "Read the gravity: it has gone quiet.",
    "F13":  "Read the gravity again, but no sooner: it is still falling.",
    "F14":  "Take a second reading: is it still falling, or stuck?",
    "F15":  "Keep it at 18 to 20 C for a week: it is stuck.",
    "F16":  "Stir it gently, add yeast nutrient as its packet says, and keep it warm.",
    "F17":  "Read the gravity: has it moved at all?",
    "F18":  "Start fresh yeast in a cup of half wine, half water. Add it once it is working.",
    "F19":  "Keep it as a sweet wine (rack it, add sulphite and sorbate), or wait under airlock.",
    "F20":  "Read the gravity once: it is nearly quiet.",
    "F21":  "Count the bubbles for five minutes.",
    "C0":   "Read the gravity: a note mentions sugar. If none went in, write not-fed instead.",
    "C1":   "Read the gravity: it is bubbling again.",
    "C2":   "Swirl it daily at 18 to 20 C to let the gas out, then shake a sample again.",
    "C3":   "Shine a torch through it: have the finings cleared it? If so, rack it off them.",
    "C4":   "Rack it off the finings.",
    "C5":   "Rack it off the new lees.",
    "C6":   "Top it up with a similar wine.",
    "C7":   "Read the gravity once the wait is over: it should not have moved.",
    "C8":   "Shine a torch through it from the side: is it clear?",
    "C9":   "Shine a torch through it again: is it clear now?",
    "C10":  "Rack it once more: it has not cleared.",
    "C11":  "Keep it 5 to 6 C cooler for 30 days: three rackings have not cleared it.",
    "C11b": "Fine it. Test a glass first to see what kind of haze it is.",
    "C12a": "Read the gravity again: the last reading is far from the others.",
    "C12b": "Count the bubbles for five minutes: nothing else is in the way of bottling.",
    "C12d": "Count the bubbles for twenty minutes: only the last count is in the way.",
    "C12":  "Read the gravity. If it has not moved, that is the proof it needs.",
    "C12c": "Shake a sample: does gas puff out, or prickle on the tongue?",
    "C13":  "Taste it, and keep it at 20 C for 14 days: if it only paused, it will start again.",
    "C14":  "Read the gravity: has it fallen in the warm?",
    "C15":  "Stabilise it, or prove that it has finished, with a sugar strip or a test bottle.",
    "C16":  (
        "Look for malolactic: a ring at the neck, ticking, a buttery smell. If none, add sulphite."
    ),
    "C17":  "Bottle it from that day on, if the last checks show no change.",
    "C18":  "Bottle it any evening: read the gravity first, and only if it has not moved.",
    "C18b": "Bottle it any evening: count the bubbles for five minutes first, and only if quiet.",
    "C19":  "Bottle it, if the last checks show no change.",
    "B1":   (
        "Stop. Put on goggles and gloves, chill the bottles, ease each one open and pour it back."
    ),
    "B2":   "Lay the corked bottles down in the dark, at 10 to 15 C.",
    "B3":   "Squeeze the plastic bottle. Once it is hard, move them all to a cool place.",
    "B4":   "Squeeze the plastic bottle: it should be soft.",
    "B5":   "Drink what is left: it will soon be past its best.",
    "B6":   "Open the first bottle.",
}
BOTTLE_LATER: Final = "Bottle it only if the verdict that evening is go."
ALSO: Final[Mapping[str, str]] = {
    "bottles":     "chill the bottles already filled, under a thick cloth, until this is settled",
    "count":       "count for five minutes",
    "float":       (
        "float the hydrometer in the jar, or pour the sample back if everything was clean"
    ),
    "look":        "check with a torch that it is clear, with no new lees",
    "malolactic":  "note whether the malolactic fermentation is over",
    "press":       "press the bung to check for a leak",
    "read":        "read the gravity",
    "read-if-clear": "if it is clear, read the gravity",
    "shake":       "shake a sample to check for gas",
    "sugar-test":  "a sugar strip that shows under 3 g/L proves it is dry",
    "taste":       "taste it for sweetness",
    "temperature": "note the temperature",
    "test-bottle": "a bottle of it kept at 25 C for two weeks must stay quiet",
    "top-up":      "top it up with a similar wine",
}
CARE: Final[Mapping[str, str]] = {
    "F1":   "Leave no air above finished wine. Lift with dry hands. It may not be ready to bottle.",
    "F2":   "Bubbles are only a hint. Leave no air above finished wine. Lift with dry hands.",
    "F8":   "Do not rack or bottle it.",
    "F9":   "Do not rack or bottle it.",
    "F10":  "Never seal it. Keep the airlock filled, and air the room.",
    "F16":  "It will foam: leave room in the jar.",
    "F19":  "Sorbate never stops an active ferment. Sulphite can affect people with asthma.",
    "C0":   "Do not bottle it.",
    "C1":   "Do not bottle it.",
    "C3":   "Finings may contain egg, milk, fish or shellfish: tell your guests.",
    "C4":   "Finings may contain egg, milk, fish or shellfish: tell your guests.",
    "C5":   "Leave no air above finished wine.",
    "C6":   "A sweet wine would start it fermenting again.",
    "C11b": "Finings may contain egg, milk, fish or shellfish: tell your guests.",
    "C12":  "Bubbles are only a hint: never bottle on them alone.",
    "C13":  "Bottles burst if it starts again in them.",
    "C15":  "Bottles burst if it starts again in them. Sulphite can affect people with asthma.",
    "C16":  "Malolactic in the bottle makes it hazy and gassy.",
    "C17":  "Bottles can burst: fill one plastic bottle as a tell-tale.",
    "C19":  (
        "Bottles can burst: fill one plastic bottle too. Never mix bleach with sulphite or acid."
    ),
    "B1":   "Bottles can burst: nobody goes near without goggles. Sorbate does not stop a ferment.",
    "B3":   "Bottles can burst: keep them in a crate.",
    "B4":   "Bottles can burst: if it is hard, chill and open the rest.",
}
SUPPOSED: Final[Mapping[str, str]] = {
    "bottled":    "it is bottled by then",
    "clears":     "it clears",
    "ends":       "it finishes as expected",
    "malolactic": "it has a warm month or sulphite first",
    "warm":       "it has been warm first",
}
# fmt: on
