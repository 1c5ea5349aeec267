"""Works out the pressure in a closed bottle if sugar left in the wine ferments there.

Pressures are in bar: absolute, or over one atmosphere. Nothing here says what a bottle can hold: no
rating was found.
"""

from dataclasses import dataclass
from typing import Final, Generic, Literal

from .constants import ATM_HPA, CO2_G_PER_MOL, GAS_J_PER_MOL_K, HPA_PER_BAR, ZERO_C_IN_K
from .gas import co2_from_points_g, dry_pressure_hpa, wine_holds_g_per_litre_bar
from .limits import Value, refuse_outside
from .water import vapour_pressure_hpa, water_density_kg_m3

__all__ = ["CELLAR_C", "WARM_C", "BottlePressure", "Sparkle", "bottle_pressure", "sparkle"]

CELLAR_C: Final = 20.0  # temperature of the published definitions
WARM_C: Final = 30.0  # a warm room or car; common practice, no source
ATM_BAR: Final = ATM_HPA / HPA_PER_BAR

Sparkle = Literal["still", "semi-sparkling", "between semi-sparkling and sparkling", "sparkling"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BottlePressure(Generic[Value]):
    """Pressure in a closed bottle once nothing changes any more.

    Attributes
    ----------
    temp_c : float
        Temperature of the bottle [C].
    co2_bar : float or ndarray, shape (n,)
        Share of CO2 [bar].
    air_bar : float
        Share of the enclosed air and of water vapour [bar].
    """

    temp_c: float
    co2_bar: Value
    air_bar: float

    @property
    def absolute_bar(self) -> Value:
        """Absolute pressure [bar]."""
        return self.co2_bar + self.air_bar

    @property
    def over_bar(self) -> Value:
        """Pressure over one atmosphere, which the glass has to hold [bar]."""
        return self.absolute_bar - ATM_BAR


def bottle_pressure(
    points_left: Value,
    *,
    temp_c: float,
    abv_pct: float,
    dissolved_g_per_litre: float,
    sugar_g_per_litre: float = 0.0,
    headspace_share: float = 0.02,
) -> BottlePressure[Value]:
    r"""Work out the pressure if all fermentable sugar left ferments in the closed bottle.

    Parameters
    ----------
    points_left : float or ndarray, shape (n,)
        Points the gravity would still fall [points], 0 to 200.
    temp_c : float
        Temperature of the bottle [C], 0 to 40: `CELLAR_C`, `WARM_C`.
    abv_pct : float
        Alcohol at the end [% vol], 0 to 20.
    dissolved_g_per_litre : float
        CO2 in the wine when closed [g/L], 0 to 15; straight from under an airlock it is
        `bubblerate.physics.gas.saturated_g_per_litre`, about 1.4.
    sugar_g_per_litre : float
        Sugar that no yeast there will ferment [g/L], 0 to 250.
    headspace_share : float
        Gas space for each litre of wine at 20 C, 0.01 to 0.5; the usual value stands for 15 mL
        in a bottle of 75 cL (common practice, no source).

    Returns
    -------
    BottlePressure
        Right to about 5 % at 20 C and below 6 bar. Gases are taken as ideal; the true pressure is a
        little higher above that, about 5 % at 10 bar (from memory).

    Raises
    ------
    ValueError
        If a value lies outside its range.

    Notes
    -----
    Per litre of wine the CO2 dissolved at closing and that made after it, :math:`m`, is shared
    between the wine, which holds :math:`H p`, and the headspace, which holds
    :math:`h p M / R T`. So :math:`p = m / (H + h M / R T)`. Air of one atmosphere was closed in
    at 20 C and stays in the headspace, which the wine, swelling as water does, makes smaller. That
    some of it dissolves and that glass gives a little are left out: both would lower the pressure.

    Examples
    --------
    >>> woken = bottle_pressure(3.0, temp_c=20.0, abv_pct=12.0, dissolved_g_per_litre=1.4)
    >>> round(woken.over_bar, 1)
    3.0
    """
    refuse_outside("dissolved CO2", dissolved_g_per_litre, 0.0, 15.0, " g/L")
    refuse_outside("headspace", headspace_share, 0.01, 0.5, " of the wine")
    held = wine_holds_g_per_litre_bar(temp_c, abv_pct=abv_pct, sugar_g_per_litre=sugar_g_per_litre)
    kelvin = temp_c + ZERO_C_IN_K
    swelling = water_density_kg_m3(CELLAR_C) / water_density_kg_m3(temp_c) - 1.0
    headspace = headspace_share - swelling
    gas_g_per_litre_bar = 100.0 * CO2_G_PER_MOL / (GAS_J_PER_MOL_K * kelvin)
    co2_g = co2_from_points_g(points_left, litres=1.0) + dissolved_g_per_litre
    closed_in_hpa = dry_pressure_hpa(CELLAR_C, ATM_HPA)
    squeeze = headspace_share / headspace * kelvin / (CELLAR_C + ZERO_C_IN_K)
    return BottlePressure(
        temp_c=temp_c,
        co2_bar=co2_g / (held + headspace * gas_g_per_litre_bar),
        air_bar=(closed_in_hpa * squeeze + vapour_pressure_hpa(temp_c)) / HPA_PER_BAR,
    )


def sparkle(over_bar_20c: float) -> Sparkle:
    """Give the word of the published definitions for a wine with this pressure at 20 C.

    Parameters
    ----------
    over_bar_20c : float
        Pressure over one atmosphere at 20 C [bar], -1 to 200.

    Returns
    -------
    str
        No word is defined between 2.5 and 3 bar.

    Raises
    ------
    ValueError
        If the pressure lies outside its range.

    Notes
    -----
    Still: below 1 bar [1]_. Semi-sparkling: 1 to 2.5 bar [2]_. Sparkling: from 3 bar [2]_, but
    from 3.5 bar in [3]_ and for quality wines.

    References
    ----------
    .. [1] CETIE, bottling guide 1 (1992, revised 2008).
    .. [2] Council Regulation (EC) 1493/1999 and its successors.
    .. [3] OIV, International Code of Oenological Practices, I.4.4.

    Examples
    --------
    >>> sparkle(1.8)
    'semi-sparkling'
    """
    refuse_outside("over-pressure", over_bar_20c, -1.0, 200.0, " bar")
    if over_bar_20c < 1.0:
        return "still"
    if over_bar_20c <= 2.5:
        return "semi-sparkling"
    return "sparkling" if over_bar_20c >= 3.0 else "between semi-sparkling and sparkling"
