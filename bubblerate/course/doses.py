"""Works out how much sugar, sulphite or sorbate a wine needs; as a range, or refused.

In grams and litres. What the packet and the law say comes first.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from ..diary.places import typed_again
from ..errors import InputError
from ..physics.constants import SO2_SHARE_OF_POWDER, SUCROSE_LITRES_PER_G, TABLET_G
from ..physics.doses import (
    lifted_sg,
    sorbate_g,
    sweetening_g,
)
from ..physics.sulphite import Sulphite, sulphite_dose
from ..text import format_day
from ..verdict.reasons import Phase
from .balance import Balance, Sweetness
from .waits import hold_ends

if TYPE_CHECKING:
    from datetime import date

    from .facts import Facts
    from .judgement import Judgement

__all__ = [
    "Stabilising",
    "Sweetening",
    "facts_of",
    "no_litres",
    "stabilise",
    "sweeten",
    "tablets",
]

Range = tuple[float, float]

_AT_WORK: Final = frozenset({"busy", "slowing", "back"})
# Sugar for each word, within its class [g/L]; our choice.
WANTED_G_PER_LITRE: Final = {
    Sweetness.MEDIUM_DRY: 9.0,
    Sweetness.SEMI_SWEET: 25.0,
    Sweetness.SWEET: 60.0,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Sweetening:
    """Sugar for a wanted sweetness.

    Attributes
    ----------
    sugar_g : Range
    sg : float
        Gravity that the wine should read afterwards.
    litres : float
        Volume afterwards.
    held : bool
        Whether the wine was stabilised before; if not, the sugar feeds the yeast.
    hold_until : date or None
        Day on which the wait of a stabilised wine ends, if that is still to come.
    """

    sugar_g: Range
    sg: float
    litres: float
    held: bool
    hold_until: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stabilising:
    """Sulphite and sorbate, and the wait after them.

    Attributes
    ----------
    sulphite : Sulphite or None
        None if the pH is unknown or outside the published table.
    so2_most_mg_per_litre : float or None
        Total with that dose, free and bound, as far as earlier doses were weighed [mg/L].
    sorbate_g : Range
        In addition to what is in it.
    hold_until : date or None
        Day on which the wait of a stabilised wine ends.
    hold_day : int or None
        Days of that wait that are over.
    """

    sulphite: Sulphite | None
    so2_most_mg_per_litre: float | None
    sorbate_g: Range
    hold_until: date | None
    hold_day: int | None


def tablets(grams: Range) -> Range:
    """The same in tablets of potassium metabisulphite.

    Examples
    --------
    >>> tablets((0.22, 0.44))
    (0.5, 1.0)
    """
    return grams[0] / TABLET_G, grams[1] / TABLET_G


def sweeten(
    judged: Judgement, holds: Balance | None, *, litres: float | None, to: float | Sweetness
) -> Sweetening:
    """Work out the sugar that brings a wine to a gravity, or to a sweetness in a word.

    Parameters
    ----------
    judged : Judgement
    holds : Balance or None
        Strength and sugar of the wine.
    litres : float or None
        Of wine [L].
    to : float or Sweetness
        Gravity wanted, or a word.

    Returns
    -------
    Sweetening

    Raises
    ------
    InputError
        If litres or gravity are unknown, if it still works, or if it is that sweet already.
    """
    _refuse_working(judged, "to sweeten")
    if litres is None:
        raise no_litres(judged)
    facts = facts_of(judged)
    if facts.gravity.last is None or holds is None:
        raise InputError(f"{judged.diary.vessel}: its gravity is not known; read it first")
    held = facts.cellar.stabilised_on is not None
    sg = facts.gravity.last.sg
    if isinstance(to, Sweetness):
        low, high = (
            max(WANTED_G_PER_LITRE.get(to, 0.0) - now, 0.0)
            for now in (holds.sugar_g_per_litre.high, holds.sugar_g_per_litre.low)
        )
        grams = (low * litres, high * litres)
    else:
        grams = _to_gravity(judged, litres, sg, to)
    if grams[1] <= 0.0:
        raise InputError(f"{judged.diary.vessel}: it is already that sweet; taste it")
    middle = sum(grams) / 2.0 / litres
    return Sweetening(
        sugar_g=grams,
        sg=lifted_sg(sg, g_per_litre=middle),
        litres=litres * (1.0 + SUCROSE_LITRES_PER_G * middle),
        held=held,
        hold_until=_still_to_come(judged, facts),
    )


def _still_to_come(judged: Judgement, facts: Facts) -> date | None:
    """Day on which the wait of a stabilised wine ends, unless it is over."""
    ends = None if facts.cellar.hold_from is None else hold_ends(facts)
    over = ends is None or judged.course is None or judged.course.asked_on >= ends
    return None if over else ends


def _to_gravity(judged: Judgement, litres: float, sg: float, to: float) -> Range:
    """Sugar up to a gravity, with one point for the error of a reading."""
    if to <= sg:
        raise InputError(f"{judged.diary.vessel} reads {sg:.3f}; {to:.3f} is not above it")
    grams = sweetening_g(litres=litres, sg=sg, wanted_sg=to)
    point = sweetening_g(litres=litres, sg=sg, wanted_sg=sg + 0.001)
    return max(grams - point, 0.0), grams + point


def stabilise(
    judged: Judgement,
    holds: Balance | None,
    *,
    litres: float | None,
    ph: float | None,
    free_mg_per_litre: float | None = None,
    sorbate: bool = True,
) -> Stabilising:
    """Work out sulphite from pH and sorbate from litres, for a wine that has ended.

    Parameters
    ----------
    judged : Judgement
    holds : Balance or None
        With what was put in before.
    litres : float or None
        Of wine [L].
    ph : float or None
        As measured.
    free_mg_per_litre : float or None
        Free SO2 in it, as measured [mg/L].
    sorbate : bool
        Whether to keep it from fermenting again. Sulphite alone may also go into a wine that has
        only slowed.

    Returns
    -------
    Stabilising

    Raises
    ------
    InputError
        If litres are unknown, or it still works.
    """
    _refuse_working(judged, "to stabilise" if sorbate else "for sulphite", sugar=sorbate)
    if litres is None:
        raise no_litres(judged)
    facts = facts_of(judged)
    held = facts.cellar.hold_from
    course = judged.course
    sulphite = sulphite_dose(ph=ph, litres=litres, free_mg_per_litre=free_mg_per_litre)
    there = (0.0, 0.0)
    if holds is not None:
        there = holds.sorbic_mg_per_litre.low, holds.sorbic_mg_per_litre.high
    return Stabilising(
        sulphite=sulphite,
        so2_most_mg_per_litre=_in_all(holds, sulphite, litres),
        sorbate_g=sorbate_g(litres, there_mg_per_litre=there),
        hold_until=None if held is None else hold_ends(facts),
        hold_day=None if held is None or course is None else (course.asked_on - held).days,
    )


def _in_all(holds: Balance | None, dose: Sulphite | None, litres: float) -> float | None:
    """The most SO2 there can be once the dose is in."""
    if dose is None or dose.powder_g is None:
        return None
    there = 0.0 if holds is None else holds.so2_mg_per_litre.high
    return there + 1000.0 * SO2_SHARE_OF_POWDER * dose.powder_g[1] / litres


def facts_of(judged: Judgement) -> Facts:
    """Facts of a jar that has a diary entry.

    Raises
    ------
    InputError
        If it has none.
    """
    if judged.course is None:
        raise InputError(f"{judged.diary.vessel}: nothing has been written down yet")
    return judged.course.facts


def _refuse_working(judged: Judgement, what: str, *, sugar: bool = True) -> None:
    """Refuse a wine that works, since no dose stops it; with `sugar`, also if sugar is left."""
    facts, name = facts_of(judged), judged.diary.vessel
    see = f"see {typed_again(judged.diary.path, 'verdict')}"
    if facts.bottles is not None:
        raise InputError(f"{name} is in bottles: you cannot add anything to it")
    if facts.known.falling and sugar:
        raise InputError(
            f"{name}: its gravity still falls: too early {what}, as nothing stops an active "
            f"ferment; {see}"
        )
    if facts.air.state in _AT_WORK:
        day = "" if facts.air.counted_on is None else f" on {format_day(facts.air.counted_on)}"
        raise InputError(
            f"{name} was still fermenting{day}: too early {what}, as nothing stops an active "
            f"ferment; {see}"
        )
    if facts.phase is Phase.FERMENTING and not facts.gravity.slow:
        raise InputError(f"{name} has not been read since it went quiet: too early {what}; {see}")


def no_litres(judged: Judgement) -> InputError:
    """Make the error that litres are unknown, and what to do."""
    return InputError(f"{judged.diary.vessel}: the litres in it are not noted; add --litres 4.5")
