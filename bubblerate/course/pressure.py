"""Works out the pressure that the sugar left would make in a closed bottle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from ..physics.bottle import CELLAR_C, WARM_C, bottle_pressure
from ..physics.gas import saturated_g_per_litre
from ..physics.scales import fall_points

if TYPE_CHECKING:
    from ..ferment.gravity_check import GravityCheck

__all__ = ["Pressure", "pressure"]

_READ_TO_POINTS: Final = 2.0  # points that a hand-read hydrometer may be off; common practice
_USUAL_ABV: Final = 12.0  # if no start was read


@dataclass(frozen=True, slots=True, kw_only=True)
class Pressure:
    """Pressure over the air in a closed bottle if the sugar left ferments there.

    Attributes
    ----------
    points : float
        How far the gravity may still fall, with the error of a reading [points].
    abv_pct : float
        Strength used in the sum [% vol].
    abv_known : bool
        Whether it is from the readings; otherwise it is only the usual one.
    cellar_bar, warm_bar : float
        Over one atmosphere, at 20 and at 30 C [bar].
    """

    points: float
    abv_pct: float
    abv_known: bool
    cellar_bar: float
    warm_bar: float


def pressure(gravity: GravityCheck | None, *, abv_pct: float | None) -> Pressure | None:
    """Work out the pressure in a closed bottle if the gravity falls to its finish.

    Parameters
    ----------
    gravity : GravityCheck or None
    abv_pct : float or None
        Strength of the wine, if known [% vol].

    Returns
    -------
    Pressure or None
        None if there is no reading.

    Notes
    -----
    The wine is taken as saturated with gas, as under an airlock, and 2 points further from its
    finish than the reading says, since two readings by hand may be off by that. No rating of any
    bottle is known here, so nothing is said about what a bottle can bear.
    """
    if gravity is None:
        return None
    low_sg = min(gravity.finish_sg, gravity.finish.centre_sg)  # the lower, to be safe
    points = max(fall_points(gravity.latest.sg, low_sg), 0.0) + _READ_TO_POINTS
    used = min(abv_pct if abv_pct is not None else _USUAL_ABV, 20.0)
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
        abv_known=abv_pct is not None,
        cellar_bar=cellar,
        warm_bar=warm,
    )
