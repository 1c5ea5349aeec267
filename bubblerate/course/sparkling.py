"""Works out the sugar for a wine made sparkling on purpose, in the right bottles, or refuses.

Bar over one atmosphere at 20 C, sugar in grams.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from ..diary.places import typed_again
from ..errors import InputError
from ..physics.bottle import CELLAR_C, bottle_pressure
from ..physics.constants import CO2_PER_EXTRACT, CO2_PER_HEXOSE
from ..physics.doses import priming_g_per_litre
from ..physics.gas import saturated_g_per_litre
from ..verdict.reasons import Phase, Question
from ..verdict.sugar_odds import G_PER_POINT
from .doses import facts_of, no_litres
from .in_bottle import BEER_BAR

if TYPE_CHECKING:
    from .balance import Balance
    from .judgement import Judgement

__all__ = ["Priming", "prime"]

Range = tuple[float, float]

LEAST_BAR: Final = 1.2  # bar from wine full of gas and the air closed in, without any sugar
_HEXOSE_PER_SUCROSE: Final = 1.0526  # water taken up when it is split, by the molar masses [g/g]
_DEGASSED_G_PER_LITRE: Final = 0.3  # of CO2, stirred well; common practice, no source
_COOL_C: Final = 12.0  # cool wine holds more gas; used if no temperature is noted


@dataclass(frozen=True, slots=True, kw_only=True)
class Priming:
    """Sugar for a wanted pressure.

    Attributes
    ----------
    sugar_g, g_per_litre : float
    bar : Range
        Over one atmosphere at 20 C: from degassed wine, to wine full of gas whose last sugar
        ferments too.
    """

    sugar_g: float
    g_per_litre: float
    bar: Range


def prime(
    judged: Judgement, holds: Balance | None, *, litres: float | None, over_bar: float
) -> Priming:
    """Work out the sugar for a wanted pressure, in bottles made for it under a crown cap.

    Parameters
    ----------
    judged : Judgement
    holds : Balance or None
        Its strength.
    litres : float or None
        Of wine [L].
    over_bar : float
        Wanted, over one atmosphere at 20 C [bar].

    Returns
    -------
    Priming

    Raises
    ------
    InputError
        If the wine is not proven to have ended, or was stabilised, if litres are unknown, or if the
        pressure could exceed what such a bottle is made for.
    """
    name, facts = judged.diary.vessel, facts_of(judged)
    if facts.cellar.stabilised_on is not None:
        raise InputError(f"{name} was stabilised: its yeast can make no gas; drink it still")
    if facts.phase is not Phase.CLEARING or not judged.proof.go:
        raise InputError(
            f"{name} is not proven to have finished: what is left would add to the pressure; "
            f"see {typed_again(judged.diary.path, 'verdict', '--on', Question.BOTTLING.value)}"
        )
    if litres is None:
        raise no_litres(judged)
    if not LEAST_BAR <= over_bar <= BEER_BAR:
        raise InputError(
            f"{over_bar:g} bar: a bottle with a crown cap is said to hold {BEER_BAR:.1f} bar "
            f"and no more; write {LEAST_BAR} to 2.7"
        )
    abv = min(holds.abv_pct.middle if holds is not None else 12.0, 18.0) + 0.4
    temp_c = _COOL_C if facts.cold.temp_c is None else min(max(facts.cold.temp_c, 0.0), 20.0)
    full = saturated_g_per_litre(temp_c, abv_pct=abv)
    g_per_litre = priming_g_per_litre(over_bar, abv_pct=abv, dissolved_g_per_litre=full)
    sugar = judged.proof.sugar_g_per_litre
    left = 0.0 if sugar is None else sugar.high
    most = CO2_PER_HEXOSE * _HEXOSE_PER_SUCROSE / CO2_PER_EXTRACT
    bar = (
        _bar(g_per_litre, abv, _DEGASSED_G_PER_LITRE),
        _bar((g_per_litre + left) * most, abv, full),
    )
    if bar[1] > BEER_BAR:
        raise InputError(
            f"{over_bar:g} bar could become {bar[1]:.1f} with the sugar left and all its gas: "
            f"more than the {BEER_BAR:.1f} such a bottle is said to hold; ask for less"
        )
    return Priming(sugar_g=g_per_litre * litres, g_per_litre=g_per_litre, bar=bar)


def _bar(g_per_litre: float, abv_pct: float, dissolved: float) -> float:
    return bottle_pressure(
        g_per_litre / G_PER_POINT,
        temp_c=CELLAR_C,
        abv_pct=abv_pct,
        dissolved_g_per_litre=dissolved,
    ).over_bar
