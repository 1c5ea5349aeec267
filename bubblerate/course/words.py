"""What each row of the table says, under its code: plain sentences, no logic.

`DO` is the step, `ALSO` what the same visit may settle, `CARE` the caution shown when the step is
next, `SUPPOSED` what a window supposes. `show/` may add numbers beside them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["ALSO", "BOTTLE_LATER", "CARE", "DO", "SUPPOSED"]

# fmt: off
DO: Final[Mapping[str, str]] = {
    "A1":   "Nothing.",
    "A1b":  "Keep its airlock filled; it is there to top up another jar.",
    "A2":   "Is the last reading right? Read it again, or strike it.",
    "F1":   "Rack it off its lees.",
    "F1b":  "Count the bubbles for five minutes; it reads near its end, so if quiet, rack it.",
    "F2":   "Rack it off its lees; it was quiet on three counts over five days.",
    "F3":   "Count the bubbles for five minutes; up to three days without any is usual.",
    "F4":   "Press the bung: does the airlock creep back?",
    "F5":   "Press the bung for ten seconds; it has been silent since you handled it.",
    "F6":   "Reseat the bung; its gravity fell more than the bubbles tell.",
    "F7":   "Count the bubbles for five minutes; it has had three days of warmth.",
    "F8":   "Look in on it and count for five minutes; it sleeps in the cold where you put it.",
    "F9":   "Bring it back to the warmth it worked in, or leave it till spring.",
    "F10":  "Count the bubbles again; no reading is needed while it works.",
    "F11":  "Read the gravity again; it falls fast for so few bubbles.",
    "F12":  "Read the gravity; it has gone quiet.",
    "F13":  "Read the gravity again, and no sooner; it is still falling.",
    "F14":  "Read the gravity a second time: is it falling, or stuck?",
    "F15":  "Warm it to 18 to 20 C for a week; it is stuck.",
    "F16":  "Stir it gently, feed the yeast by its packet and keep it warm.",
    "F17":  "Read the gravity: has it moved?",
    "F18":  "Start fresh yeast in a cup of the wine and water, and add it when it works.",
    "F19":  "Take it as a sweet wine: rack, sulphite and sorbate; or wait under airlock.",
    "F20":  "Read the gravity once; it is nearly quiet.",
    "F21":  "Count the bubbles for five minutes.",
    "C1":   "Read the gravity; it bubbles again.",
    "C2":   "Swirl it daily at 18 to 20 C, then shake a sample: does it puff or prickle?",
    "C3":   "Look with a torch: have the finings cleared it? If so, rack it off them.",
    "C4":   "Rack it off its finings.",
    "C5":   "Rack it off its new lees.",
    "C6":   "Top it up with like wine.",
    "C7":   "Read the gravity at the end of the hold; it should read as it did.",
    "C8":   "Look with a torch from the side: is it clear?",
    "C9":   "Look with a torch again: is it clear now?",
    "C10":  "Rack it once more; it has not cleared.",
    "C11":  "Cool it by 5 to 6 C for 30 days; three rackings have not cleared it.",
    "C11b": "Fine it; first test a glass of it for the kind of haze.",
    "C12a": "Read the gravity again; the last reading is far from the others.",
    "C12b": "Count the bubbles for five minutes; only they still speak against bottling.",
    "C12d": "Count the bubbles for twenty minutes; only the last count speaks against bottling.",
    "C12":  "Read the gravity; if it has not moved, that completes the proof.",
    "C12c": "Shake a sample: does it puff or prickle?",
    "C13":  "Taste it, and warm it to 20 C for 14 days: a wine that only paused wakes.",
    "C14":  "Read the gravity: has it moved in the warm?",
    "C15":  "Stabilise it, or prove that it ends here: a sugar strip, or a test bottle.",
    "C16":  "Look for malolactic: a ring at the neck, ticking, butter; else sulphite by its pH.",
    "C17":  "Bottle it from then on, if all still holds that evening.",
    "C18":  "Read the gravity; then it may be bottled the same evening.",
    "C18b": "Count the bubbles for five minutes; then it may be bottled the same evening.",
    "C19":  "Bottle it, if all still holds this evening.",
    "B1":   "Stop: goggles and gloves, chill the bottles, ease every closure, back under airlock.",
    "B2":   "Lay the corked bottles down, dark, at 10 to 15 C.",
    "B3":   "Squeeze the plastic bottle: once hard, all go to the cool.",
    "B4":   "Squeeze the plastic bottle; soft is right.",
    "B5":   "Drink what is left; it is soon past its best.",
    "B6":   "Open the first bottle.",
}
BOTTLE_LATER: Final = "Bottle it only if the verdict of that evening is go."
ALSO: Final[Mapping[str, str]] = {
    "count":       "count for five minutes",
    "float":       "float it in the jar, or pour the sample back if all was clean",
    "look":        "look with a torch: clear, new lees?",
    "malolactic":  "say whether the malolactic change is over",
    "press":       "press the bung: does the airlock creep back?",
    "read":        "read the gravity",
    "read-if-clear": "if it is clear, read the gravity",
    "shake":       "shake a sample: still, or a prickle?",
    "sugar-test":  "a sugar strip under 3 g/L proves that it is dry",
    "taste":       "taste it: sweet?",
    "temperature": "note the temperature",
    "test-bottle": "a bottle of it kept two weeks at 25 C must stay quiet",
    "top-up":      "top it up with like wine",
}
CARE: Final[Mapping[str, str]] = {
    "F1":   "No air over finished wine; lift with dry hands. This says nothing yet about bottling.",
    "F2":   "The count is a hint. No air over finished wine; lift with dry hands.",
    "F8":   "Do not rack it, do not bottle it.",
    "F9":   "Do not rack it, do not bottle it.",
    "F10":  "Never seal it, keep the airlock filled, and air the room.",
    "F16":  "It foams: leave room in the jar.",
    "F19":  "Sorbate never stops a working ferment. Sulphite can trouble people with asthma.",
    "C1":   "Do not bottle it.",
    "C3":   "Finings may hold egg, milk, fish or shellfish: tell guests.",
    "C4":   "Finings may hold egg, milk, fish or shellfish: tell guests.",
    "C5":   "No air over finished wine.",
    "C6":   "Sweet wine wakes it.",
    "C11b": "Finings may hold egg, milk, fish or shellfish: tell guests.",
    "C12":  "The count is a hint; never bottle on it alone.",
    "C13":  "Bottles burst if it wakes in them.",
    "C15":  "Bottles burst if it wakes in them. Sulphite can trouble people with asthma.",
    "C16":  "Malolactic in the bottle makes haze and gas.",
    "C17":  "Bottles can burst: keep one plastic bottle as a tell-tale.",
    "C19":  "Bottles can burst: keep one plastic bottle. Never mix bleach with sulphite or acid.",
    "B1":   "Bottles burst: nobody without goggles near them. Sorbate does not stop a ferment.",
    "B3":   "Bottles can burst: keep them in a crate.",
    "B4":   "Bottles can burst: if it is hard, chill and open the rest.",
}
SUPPOSED: Final[Mapping[str, str]] = {
    "bottled":    "if it is bottled by then",
    "clears":     "if it clears",
    "ends":       "if the ferment ends as expected",
    "malolactic": "after its first warm month, or sulphited",
    "warm":       "not before it has been warm",
}
# fmt: on
