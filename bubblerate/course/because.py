"""Why a row of the table fits: one plain sentence with the facts it rests on."""

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

_STUCK: Final = "Quiet at {sg}, and it does not fall."
_CLOUDY: Final = "Cloudy on {cloudy}."
_HIGH: Final = "It is at {sg}, and no further reading can prove that it has ended."
_IN_BOTTLE: Final = "In the bottle since {phase}."
_UNCOUNTED: Final = (
    "{sg} on {read}, by the hydrometer alone: the little that is left goes on later."
)
# fmt: off
_WHY: Final[Mapping[str, str]] = {
    "A1":   "Nothing is left in it.",
    "A1b":  "It is kept to top up {spare_for}.",
    "A2":   "What was read on {read} does not fit the reading before.",
    "F1":   "{sg} on {read}, and quiet: the little that is left goes on its finer lees.",
    "F1b":  "{sg} on {read}, near its end, and no bubbles were counted yet.",
    "F2":   "Quiet on three counts over five days, after a slowing that was seen.",
    "F3":   "It is at its start, or was not counted yet.",
    "F4":   "No bubbles in its first days.",
    "F5":   "Silent since it was handled on {handled}, and not near its end.",
    "F6":   "Its gravity fell by more than its bubbles can tell: gas leaves elsewhere.",
    "F7":   "Moved to the warmth on {warmed}, and not counted since that could tell.",
    "F8":   "Asleep{temp} where you put it.",
    "F9":   "Asleep from the cold{temp}.",
    "F10":  "It works: {rate}.",
    "F11":  "{sg} on {read}: it falls fast for so few bubbles.",
    "F12":  "Quiet, and not read since it slowed.",
    "F13":  "{sg} on {read}, and still falling.",
    "F14":  "Quiet at {sg}, read once: a leak, the cold, or stuck?",
    "F15":  _STUCK,
    "F16":  _STUCK,
    "F17":  "Helped along, and not read since that could tell.",
    "F18":  _STUCK,
    "F19":  "Stuck at {sg}, whatever was tried.",
    "F20":  "Nearly quiet, {rate}, and not read since it slowed.",
    "F21":  "Not quiet for long enough yet: {rate}.",
    "C2":   "Gas in it on {prickle}.",
    "C3":   "On its finings since {fined}, and nobody has said that it is clear.",
    "C4":   "On its finings since {fined}.",
    "C5":   "New lees since {lees}.",
    "C6":   "Not full since it was racked on {racked}.",
    "C7":   "It must stand for 14 days from {hold}, stabilised or sweetened then.",
    "C8":   "Nobody has said that it is clear.",
    "C9":   _CLOUDY,
    "C10":  _CLOUDY,
    "C11":  _CLOUDY,
    "C11b": _CLOUDY,
    "C12a": "The last reading, {sg} on {read}, is far from the others.",
    "C12b": "It bubbles more than weather makes it.",
    "C12":  "Its readings do not prove yet that it has ended.",
    "C12d": "Its readings would do; the bubbles of the last count, a short one, speak against it.",
    "C12c": "Nobody has said that a shaken sample is still.",
    "C13":  _HIGH,
    "C14":  _HIGH,
    "C15":  _HIGH,
    "C16":  "Its malolactic change may still come.",
    "C17":  "Clear since {clear}: not long enough yet.",
    "C18":  "The last reading is of {read}.",
    "C18b": "Five minutes were not counted in the last week.",
    "C19":  "{sg} on {read}, standing still; clear since {clear}.",
    "B1":   "Bottled on {phase} while it could still ferment, or a bottle gushed.",
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
    words = _UNCOUNTED if row == "F1" and not facts.calm else _WHY[row]
    return words.format(
        sg="its gravity" if last is None else f"{last.sg:.3f}",
        rate="not counted" if air.per_min is None else format_rate(air.per_min),
        temp="" if cold.temp_c is None else f" at {cold.temp_c:.0f} C",
        spare_for=facts.about.spare_for,
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
    )


def nothing_to_do(question: Question, facts: Facts) -> str:
    """Why the act asked about is not open in this phase; empty where it is.

    Parameters
    ----------
    question : Question
    facts : Facts

    Returns
    -------
    str
    """
    if facts.phase is Phase.CLEARING and question is Question.RACKING:
        return "It has been racked or cleared at its end: there is nothing to rack it off."
    if facts.phase is Phase.FERMENTING and question is Question.BOTTLING:
        return "It is still fermenting, or has not been racked at its end."
    return ""


def _day(day: date | None) -> str:
    return "a day not noted" if day is None else format_day(day)
