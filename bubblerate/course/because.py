"""Words why a step is next: one plain sentence with the facts behind it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ..text import format_day, format_rate
from ..verdict.reasons import Phase, Question
from .returning import returned_text

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from .facts import Facts

__all__ = ["because", "nothing_to_do"]

_STUCK: Final = "Quiet at {sg}, and no longer falling."
_CLOUDY: Final = "Cloudy on {cloudy}."
_HIGH: Final = "At {sg}, more readings cannot prove that it has finished."
_IN_BOTTLE: Final = "In bottles since {phase}."
_UNCOUNTED: Final = (
    "{sg} on {read}, by the hydrometer alone: the last of the sugar can go after racking."
)
_GUSHED: Final = "A bottle gushed on {danger}: the others may burst."
_PARTLY: Final = "Part of it was bottled on {phase}, and it may still ferment."
_SWEETENED: Final = "Sweetened, quiet at {sg}, and not surely stabilised."
# fmt: off
_WHY: Final[Mapping[str, str]] = {
    "A1":   "There is nothing left in it.",
    "A1b":  "It is the spare for topping up {spare_for}.",
    "A2":   "The reading of {read} does not fit the one before.",
    "F1":   "{sg} on {read}, and quiet: the last of the sugar can go after racking.",
    "F1b":  "{sg} on {read}, near its end, with no bubbles counted yet.",
    "F2":   "Three quiet counts over five days, after it was seen to slow down.",
    "F3":   "It has only just started, or has not been counted yet.",
    "F3b":  "Sweetened on {sugar}, but not surely stabilised: yeast may take that sugar.",
    "F4":   "No bubbles since the yeast or the sugar went in.",
    "F5":   "No bubbles since it was handled on {handled}, and it is not near its end.",
    "F6":   "Its gravity fell by more than the bubbles explain: gas is getting out elsewhere.",
    "F7":   "Moved somewhere warmer on {warmed}, with no useful count since.",
    "F8":   "Resting in the cold{temp}, where you put it.",
    "F9":   "Resting: it is too cold{temp}.",
    "F10":  "Still fermenting: {rate}.",
    "F11":  "{sg} on {read}: falling fast for so few bubbles.",
    "F12":  "Quiet, with no reading since it slowed down.",
    "F13":  "{sg} on {read}, and still falling.",
    "F14":  "Quiet at {sg}, read once: is it a leak, the cold, or stuck?",
    "F15":  _STUCK,
    "F16":  _STUCK,
    "F17":  "Helped along, with no reading yet to show whether it worked.",
    "F18":  _STUCK,
    "F19":  "Still stuck at {sg}, after all that was tried.",
    "F20":  "Nearly quiet ({rate}), with no reading since it slowed down.",
    "F21":  "Not quiet for long enough yet: {rate}.",
    "C0":   "The note of {noted} mentions sugar: did you feed it?",
    "C2":   "It had gas in it on {prickle}.",
    "C3":   "On finings since {fined}, and not yet noted as clear.",
    "C4":   "On finings since {fined}.",
    "C5":   "New lees since {lees}.",
    "C6":   "Not full since it was racked on {racked}.",
    "C7":   "Stabilised or sweetened on {hold}: leave it 14 days from then.",
    "C8":   "It is not yet noted as clear.",
    "C9":   _CLOUDY,
    "C10":  _CLOUDY,
    "C11":  _CLOUDY,
    "C11b": _CLOUDY,
    "C12a": "The last reading, {sg} on {read}, is far from the others.",
    "C12b": "It bubbles more than the weather explains.",
    "C12":  "Its readings do not yet prove that it has finished.",
    "C12d": "The readings are enough, but the last count was short and had bubbles.",
    "C12c": "No sample has been shaken yet to check for gas.",
    "C13":  _HIGH,
    "C14":  _HIGH,
    "C15":  _HIGH,
    "C16":  "Malolactic fermentation may still come.",
    "C17":  "Clear since {clear}: not long enough yet.",
    "C18":  "The last reading is from {read}.",
    "C18b": "There was no five-minute count in the last week.",
    "C19":  "{sg} on {read}, no longer falling; clear since {clear}.",
    "B1":   "Bottled on {phase} while it could still ferment.",
    "B2":   _IN_BOTTLE,
    "B3":   _IN_BOTTLE,
    "B4":   _IN_BOTTLE,
    "B5":   _IN_BOTTLE,
    "B6":   _IN_BOTTLE,
}
# fmt: on


def because(row: str, facts: Facts) -> str:
    """Why a row of the table fits.

    Parameters
    ----------
    row : str
        Its code.
    facts : Facts

    Returns
    -------
    str
        One sentence, of no more than 25 words.
    """
    if row == "C1":
        return returned_text(facts)
    air, cold, cellar, last = facts.air, facts.cold, facts.cellar, facts.gravity.last
    words = _WHY[row]
    if row == "F1" and not facts.calm:
        words = _UNCOUNTED
    if row == "F19" and facts.sweet:
        words = _SWEETENED
    bottles = facts.bottles
    if row == "B1" and bottles is not None:
        words = _GUSHED if bottles.gushed else _PARTLY if bottles.part else words
    return words.format(
        sg="its gravity" if last is None else f"{last.sg:.3f}",
        rate="not counted" if air.per_min is None else format_rate(air.per_min),
        temp="" if cold.temp_c is None else f" at {cold.temp_c:.0f} C",
        spare_for=facts.about.spare_for,
        sugar=_day(facts.sugar_in),
        noted=_day(facts.sugar_noted_on),
        read=_day(facts.gravity.read_on),
        phase=_day(facts.phase_on),
        handled=_day(facts.handled_on),
        warmed=_day(cold.warmed_on),
        prickle=_day(cellar.prickle_on),
        fined=_day(cellar.fined_on),
        lees=_day(cellar.lees_on),
        racked=_day(cellar.racked_on),
        hold=_day(cellar.hold_from),
        cloudy=_day(cellar.cloudy_on),
        clear=_day(cellar.clear_on),
        danger=_day(None if bottles is None else bottles.danger_on),
    )


def nothing_to_do(question: Question, facts: Facts) -> str:
    """Say why the act asked about is not possible in this phase; empty if it is.

    Parameters
    ----------
    question : Question
    facts : Facts

    Returns
    -------
    str
    """
    if facts.phase is Phase.CLEARING and question is Question.RACKING:
        return "It has already been racked or cleared: there is nothing to rack it off."
    if facts.phase is Phase.FERMENTING and question is Question.BOTTLING:
        return "It is still fermenting, or has not been racked since it finished."
    return ""


def _day(day: date | None) -> str:
    return "a day not noted" if day is None else format_day(day)
