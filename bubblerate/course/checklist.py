"""The gate before bottling: a checklist in which every line must pass, and what sugar would press.

It holds the verdict on bottling and asks more: what no diary shows, and only the maker can have
seen. So it can be stricter than that verdict, never looser: each reason against bottling keeps
some line from passing. What is not known is a wait. The limits are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Literal

from ..physics.alcohol import abv_from_sg
from ..physics.bottle import CELLAR_C, WARM_C, bottle_pressure
from ..physics.gas import saturated_g_per_litre
from ..text import format_day
from ..verdict.limits import STEADINESS
from ..verdict.reasons import Code, Reason

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from ..diary.settings import Keeping
    from ..ferment.gravity_check import GravityCheck
    from ..verdict.case import Answer
    from ..verdict.decide import Verdict
    from .standing import Seen, Standing

__all__ = ["Gate", "Line", "Mark", "Pressure", "gate", "pressure"]

Mark = Literal["pass", "fail", "unknown"]

STEADY, FINISH, WOKEN, WARM, QUIET, OTHER = (
    *("gravity steady", "at its finish", "treatment settled", "warm enough", "airlock quiet"),
    "nothing else against",
)

# Reason against bottling, by its code: the lines that it keeps from passing, and how. A code that
# is not here fails the last line; a test holds that none was forgotten.
AGAINST: dict[Code, tuple[tuple[str, Mark], ...]] = {
    Code.NO_GRAVITY: ((STEADY, "unknown"), (FINISH, "unknown"), (WARM, "unknown")),
    Code.GRAVITY_UNPROVEN: ((STEADY, "unknown"),),  # a fall that was seen is a fail: see below
    Code.OLD_READING: ((STEADY, "unknown"),),
    Code.ODD_READING: ((STEADY, "unknown"),),
    Code.CHECK_READING: ((STEADY, "unknown"),),
    Code.GRAVITY_IMPOSSIBLE: ((STEADY, "fail"), (FINISH, "unknown")),
    Code.WOKE: ((STEADY, "fail"),),
    Code.STABILISED_AND_FALLING: ((STEADY, "fail"),),
    Code.STABILISED_UNPROVEN: ((STEADY, "unknown"),),
    Code.SWEETNESS_LEFT: ((FINISH, "fail"), (WARM, "unknown")),
    Code.FIZZ: ((FINISH, "fail"), (WARM, "unknown")),
    Code.SILENCE_ALONE: ((STEADY, "unknown"),),
    Code.TOO_SWEET: ((FINISH, "fail"),),
    Code.STRONG_AND_SWEET: ((FINISH, "fail"),),
    Code.FINISH_UNTESTED: ((FINISH, "fail"),),
    Code.STUNNED: ((WOKEN, "unknown"),),
    Code.FEW_COUNTS: ((QUIET, "unknown"),),
    Code.STILL_BUBBLING: ((QUIET, "fail"),),
    **dict.fromkeys(
        (
            *(Code.PRICKLE, Code.STILL_UNSAID, Code.ON_FININGS, Code.NEW_LEES, Code.CLOUDY),
            *(Code.CLEAR_UNSAID, Code.CLEAR_TOO_SHORT, Code.MALOLACTIC_OPEN, Code.BOTTLED),
        ),
        ((OTHER, "fail"),),
    ),
}
# Reason in favour, by its code: the line that it speaks on.
IN_FAVOUR: dict[Code, str] = {
    Code.GRAVITY_STEADY: STEADY,
    Code.STABILISED: FINISH,
    Code.QUIET: QUIET,
}
BESIDE = frozenset({Code.SLIP, Code.WEATHER})  # said beside the reasons, never one of them
_WORSE: tuple[Mark, ...] = ("pass", "unknown", "fail")

_READ_TO_POINTS = 2.0  # a hydrometer read by hand may be off by so much; common practice
_USUAL_ABV = 12.0  # where no start was read


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of the checklist: what is asked, how it stands, and why or what would settle it."""

    name: str
    mark: Mark
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Pressure:
    """Pressure over the air in a shut bottle if the sugar left ferments there.

    Attributes
    ----------
    points : float
        How far the gravity may still fall, with the error of a reading [points].
    abv_pct : float
        Strength that the sum takes [% vol].
    abv_known : bool
        Whether it follows from the readings; otherwise it is only usual.
    cellar_bar, warm_bar : float
        Over one atmosphere, at 20 and at 30 C [bar].
    """

    points: float
    abv_pct: float
    abv_known: bool
    cellar_bar: float
    warm_bar: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """The whole checklist."""

    lines: tuple[Line, ...]

    @property
    def answer(self) -> Answer:
        """Go only if every line passes."""
        return "go" if all(line.mark == "pass" for line in self.lines) else "wait"


def gate(
    bottling: Verdict, gravity: GravityCheck | None, stands: Standing, *, keeping: Keeping
) -> Gate:
    """Go through the checklist.

    Parameters
    ----------
    bottling : Verdict
        On bottling; its reasons decide the lines that a diary can.
    gravity : GravityCheck or None
    stands : Standing
        What the maker has seen decides the others.
    keeping : Keeping
        How long it must be clear.

    Returns
    -------
    Gate
    """
    return Gate(
        lines=(
            *_by_diary(bottling, gravity),
            _clear(stands, keeping),
            _seen("degassed", stands.degassed, stands, "degassed_on", _DEGASSED),
            _seen(
                "malolactic considered",
                stands.malolactic,
                stands,
                "malolactic_settled_on",
                _MALOLACTIC,
            ),
        )
    )


_DEGASSED = "shake a sample: no puff and no prickle?"
_MALOLACTIC = "is it over (no ring at the neck, no ticking), or was it ruled out?"


def _by_diary(bottling: Verdict, gravity: GravityCheck | None) -> Iterator[Line]:
    """Lines that the verdict decides."""
    marks: dict[str, Mark] = dict.fromkeys((STEADY, FINISH, WOKEN, WARM, QUIET, OTHER), "pass")
    texts: dict[str, list[str]] = {name: [] for name in marks}
    reasons = [reason for reason in bottling.reasons if reason.code not in BESIDE]
    told: set[Reason] = set()
    for reason in reasons if bottling.answer == "wait" else ():
        falls = (
            reason.code is Code.GRAVITY_UNPROVEN and gravity is not None and gravity.steady is False
        )
        for name, mark in AGAINST.get(reason.code, ((OTHER, "fail"),)):
            marks[name] = max(marks[name], "fail" if falls else mark, key=_WORSE.index)
            if reason not in told:
                texts[name].append(reason.text)
                told.add(reason)
    for reason in reasons if bottling.answer == "go" else ():
        texts[IN_FAVOUR[reason.code]].append(reason.text)
    for name, mark in marks.items():
        if name == OTHER and mark == "pass":
            continue
        yield Line(name=name, mark=mark, text=" ".join(texts[name]) or _silent(name, mark, gravity))


def _silent(name: str, mark: Mark, gravity: GravityCheck | None) -> str:
    """What to say of a line on which the verdict has no reason of its own."""
    if mark != "pass":
        return "Not to be told without gravity."
    if name == STEADY and gravity is not None:
        rule = STEADINESS["bottling"]
        return f"Within {rule.points:.0f} point for {gravity.steady_days:.0f} days."
    if name == FINISH and gravity is not None:
        return f"{gravity.latest.sg:.3f}, or stabilised and proven since."
    if name == WOKEN:
        return "Nothing of the last two weeks can have stunned the yeast."
    return "By the temperatures noted." if name == WARM else "By the counts of the last two weeks."


def _clear(stands: Standing, keeping: Keeping) -> Line:
    """Clear, and without new lees for long enough."""
    name, since = "clear", stands.clear.on
    if since is None:
        return _seen(name, stands.clear, stands, "clear_since", "clear by torchlight, no new lees?")
    due = since + timedelta(days=keeping.deposit_days)
    days = (stands.asked_on - since).days
    if stands.asked_on < due:
        text = f"Clear without new lees for {days} days; wait until {format_day(due)}."
        return Line(name=name, mark="fail", text=text)
    return Line(name=name, mark="pass", text=f"Clear without new lees for {days} days.")


def _seen(name: str, seen: Seen, stands: Standing, key: str, ask: str) -> Line:
    """A line that only the maker can answer."""
    if seen.on is not None:
        return Line(name=name, mark="pass", text=f"Seen on {format_day(seen.on)}.")
    why = ""
    if seen.undone is not None and seen.said_on is not None:
        event, day = seen.undone
        why = f"Seen on {format_day(seen.said_on)}, but {event} on {format_day(day)}: "
    elif not stands.rows:
        why = "Nothing is written down yet: "
    text = f"{why}{ask} Then {key} = {_day_to_write(stands.asked_on)} in bubblerate.toml."
    return Line(name=name, mark="unknown", text=text[:1].upper() + text[1:])


def _day_to_write(day: date) -> str:
    return day.isoformat()


def pressure(gravity: GravityCheck | None, *, og: float | None) -> Pressure | None:
    """Pressure in a shut bottle if the gravity falls on to its finish.

    Parameters
    ----------
    gravity : GravityCheck or None
    og : float or None
        Gravity at the start, if it was read and nothing was fed.

    Returns
    -------
    Pressure or None
        None where there is no reading.

    Notes
    -----
    Taken straight from under the airlock, full of gas, and with 2 points more than the reading
    stands above its finish: so far two readings by hand may miss. No rating of any bottle is known
    here, so nothing is said of what one can bear.
    """
    if gravity is None:
        return None
    points = max(gravity.above_finish_points, 0.0) + _READ_TO_POINTS
    try:
        abv = None if og is None else abv_from_sg(og, gravity.latest.sg)
    except ValueError:  # readings of no one wine
        abv = None
    used = min(abv if abv is not None else _USUAL_ABV, 20.0)
    dissolved = saturated_g_per_litre(CELLAR_C, abv_pct=used)
    cellar, warm = (
        bottle_pressure(
            points, temp_c=temp_c, abv_pct=used, dissolved_g_per_litre=dissolved
        ).over_bar
        for temp_c in (CELLAR_C, WARM_C)
    )
    return Pressure(
        points=points,
        abv_pct=used,
        abv_known=abv is not None,
        cellar_bar=cellar,
        warm_bar=warm,
    )
