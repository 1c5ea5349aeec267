"""What passes an airlock: how much gas a bubble has, and bubbles that are only weather.

Gas that leaves is positive, gas or air drawn in is negative.
"""

import math
from dataclasses import dataclass
from typing import Final

from .constants import ATM_HPA, GAS_J_PER_MOL_K, ZERO_C_IN_K
from .gas import co2_from_points_g, dry_pressure_hpa, saturated_g_per_litre, wet_gas_ml
from .limits import Value, refuse_outside
from .water import water_density_kg_m3

__all__ = ["Air", "BubbleSize", "WeatherGas", "air_pressure_hpa", "bubble_size", "weather_gas"]

READING_ERROR_POINTS: Final = 1.0  # error of each gravity reading; common practice, no source


def air_pressure_hpa(altitude_m: Value) -> Value:
    """Work out the pressure of the standard atmosphere, if there is no barometer.

    Parameters
    ----------
    altitude_m : float or ndarray, shape (n,)
        Geopotential altitude [m], -500 to 9000; a map's altitude will do (0.2 hPa at 3000 m).

    Returns
    -------
    float or ndarray, shape (n,)
        Pressure [hPa]; the weather moves it by 30 hPa either way (common practice, no source).

    Raises
    ------
    ValueError
        If an altitude lies outside that range.

    References
    ----------
    .. [1] ISO 2533:1975, "Standard Atmosphere".

    Examples
    --------
    >>> round(air_pressure_hpa(500.0), 1)
    954.6
    """
    refuse_outside("altitude", altitude_m, -500.0, 9000.0, " m")
    exponent = 9.80665 / (287.05287 * 0.0065)
    hpa: Value = ATM_HPA * (1.0 - 0.0065 * altitude_m / 288.15) ** exponent
    return hpa


@dataclass(frozen=True, slots=True, kw_only=True)
class BubbleSize:
    """Gas made per bubble counted, learnt from two gravities.

    Attributes
    ----------
    ml : float
        Gas per bubble [mL]; more than the bubble itself if some leaks past the airlock.
    sd_ml : float
        Its standard error, from the two readings alone [mL].
    """

    ml: float
    sd_ml: float


def bubble_size(
    points: float,
    bubbles: float,
    *,
    litres: float,
    temp_c: float = 20.0,
    pressure_hpa: float = ATM_HPA,
) -> BubbleSize:
    r"""Work out the gas per bubble, from the bubbles counted while the gravity fell.

    Parameters
    ----------
    points : float
        Fall of the gravity between two readings [points], 0.1 to 200.
    bubbles : float
        Bubbles in that time, from 1.
    litres : float
        Wine in the vessel.
    temp_c, pressure_hpa : float
        Of the gas, as for `wet_gas_ml`.

    Returns
    -------
    BubbleSize
        The wine is taken to hold as much gas at the end as at the start.

    Raises
    ------
    ValueError
        If a value lies outside its range.

    Notes
    -----
    Each reading may be off by 1 point (common practice, no source), so a fall by :math:`n` points
    has a relative error of :math:`\sqrt 2 / n`: below about 10 points it tells little. The gas of a
    fall is from `bubblerate.physics.gas`.

    Examples
    --------
    >>> size = bubble_size(14.0, 28_000, litres=4.5)
    >>> round(size.ml, 2), round(size.sd_ml, 2)
    (1.26, 0.13)
    """
    refuse_outside("fall of gravity", points, 0.1, 200.0, " points")
    refuse_outside("bubbles", bubbles, 1.0, math.inf)
    co2_g = co2_from_points_g(points, litres=litres)
    ml = wet_gas_ml(co2_g, temp_c=temp_c, pressure_hpa=pressure_hpa) / bubbles
    return BubbleSize(ml=ml, sd_ml=ml * math.sqrt(2.0) * READING_ERROR_POINTS / points)


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """What surrounds a vessel: its temperature [C], 0 to 40, and pressure [hPa], 500 to 1100."""

    temp_c: float
    pressure_hpa: float = ATM_HPA


@dataclass(frozen=True, slots=True, kw_only=True)
class WeatherGas:
    """Total gas that a change of weather drives out of a vessel.

    Attributes
    ----------
    headspace_ml : float
        From gas that expands and wine that swells [mL]; it comes with the change.
    dissolved_ml : float
        From CO2 that the wine can no longer hold [mL]; it may take hours or days longer.
    """

    headspace_ml: float
    dissolved_ml: float

    @property
    def total_ml(self) -> float:
        """Both together [mL]."""
        return self.headspace_ml + self.dissolved_ml

    def bubbles(self, *, bubble_ml: float) -> float:
        """Total bubbles of `bubble_ml` each [mL]; negative if air is drawn in.

        Raises
        ------
        ValueError
            If `bubble_ml` lies outside 0.01 to 100 mL.

        Examples
        --------
        >>> WeatherGas(headspace_ml=5.0, dissolved_ml=60.0).bubbles(bubble_ml=1.3)
        50.0
        """
        refuse_outside("gas a bubble", bubble_ml, 0.01, 100.0, " mL")
        return self.total_ml / bubble_ml

    def per_min(self, *, bubble_ml: float, hours: float) -> float:
        """Bubbles a minute if spread evenly over so many hours.

        Raises
        ------
        ValueError
            If `bubble_ml` lies outside 0.01 to 100 mL, or `hours` outside 0.1 to 1000.

        Examples
        --------
        >>> WeatherGas(headspace_ml=5.0, dissolved_ml=60.0).per_min(bubble_ml=1.3, hours=10.0)
        0.08333333333333333
        """
        refuse_outside("spread", hours, 0.1, 1000.0, " hours")
        return self.bubbles(bubble_ml=bubble_ml) / (60.0 * hours)


def weather_gas(
    before: Air,
    after: Air,
    *,
    litres: float,
    headspace_litres: float,
    abv_pct: float,
    sugar_g_per_litre: float = 0.0,
) -> WeatherGas:
    r"""Work out the gas that weather alone drives through the airlock, without yeast.

    Parameters
    ----------
    before, after : Air
        Air around the vessel; the wine is as warm as the air.
    litres : float
        Wine in the vessel, 0.01 to 1000.
    headspace_litres : float
        Gas above the wine, 0 to 1000.
    abv_pct, sugar_g_per_litre : float
        As for `bubblerate.physics.gas.wine_holds_g_per_litre_bar`.

    Returns
    -------
    WeatherGas
        Total wet gas in the later state. The wine is taken as saturated at both ends, so
        `dissolved_ml` is the most possible; a degassed wine gives none of it.

    Raises
    ------
    ValueError
        If a value lies outside its range.

    Notes
    -----
    The headspace of volume :math:`V` holds :math:`n = (P - p_v) V / R T` of dry gas, and loses
    what :math:`n` falls by while the wine, swelling as water does, takes room from it (wine of
    12 % swells by a third more, glass by a tenth as much). The wine loses :math:`L (c - c')`,
    with :math:`c` its saturation. How fast is not known: spread it over the time of the change.
    Ideal gas law, and the solubilities of `bubblerate.physics.gas`.

    Examples
    --------
    >>> storm = weather_gas(
    ...     Air(temp_c=18.0, pressure_hpa=1013.0),
    ...     Air(temp_c=18.0, pressure_hpa=1003.0),
    ...     litres=4.5,
    ...     headspace_litres=0.3,
    ...     abv_pct=12.0,
    ... )
    >>> round(storm.bubbles(bubble_ml=1.3))
    32
    """
    refuse_outside("volume", litres, 0.01, 10_000.0, " litres")
    refuse_outside("headspace", headspace_litres, 0.0, 10_000.0, " litres")
    swelling = water_density_kg_m3(before.temp_c) / water_density_kg_m3(after.temp_c) - 1.0
    moles_lost = _dry_mol(before, headspace_litres) - _dry_mol(
        after, headspace_litres - litres * swelling
    )
    held_before, held_after = (
        saturated_g_per_litre(
            air.temp_c,
            abv_pct=abv_pct,
            sugar_g_per_litre=sugar_g_per_litre,
            pressure_hpa=air.pressure_hpa,
        )
        for air in (before, after)
    )
    co2_lost_g = litres * (held_before - held_after)
    return WeatherGas(
        headspace_ml=1000.0 * moles_lost / _dry_mol(after, 1.0),
        dissolved_ml=wet_gas_ml(co2_lost_g, temp_c=after.temp_c, pressure_hpa=after.pressure_hpa),
    )


def _dry_mol(air: Air, litres: float) -> float:
    """Dry gas in this much wet gas [mol]."""
    pascal_m3 = 0.1 * dry_pressure_hpa(air.temp_c, air.pressure_hpa) * litres
    return pascal_m3 / (GAS_J_PER_MOL_K * (air.temp_c + ZERO_C_IN_K))
