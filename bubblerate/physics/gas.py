"""Carbon dioxide in a ferment: made from sugar, leaving as gas, dissolved in the wine.

Gas through an airlock is wet: saturated with water vapour. Temperatures are in C, air pressures in
hPa at the vessel, not reduced to sea level. The first argument may be a float, or an array, element
by element.
"""

import math

from .constants import (
    ATM_HPA,
    CO2_G_PER_MOL,
    CO2_PER_EXTRACT,
    GAS_J_PER_MOL_K,
    HPA_PER_BAR,
    ZERO_C_IN_K,
)
from .limits import Value, refuse_outside
from .water import vapour_pressure_hpa, water_density_kg_m3

__all__ = [
    "co2_from_points_g",
    "co2_from_sugar_g",
    "dry_pressure_hpa",
    "saturated_g_per_litre",
    "water_holds_g_per_litre_bar",
    "wet_gas_ml",
    "wine_holds_g_per_litre_bar",
]


def co2_from_sugar_g(sugar_g: Value) -> Value:
    """Work out the CO2 that yeast makes from sugar; some sugar goes into yeast and by-products.

    Parameters
    ----------
    sugar_g : float or ndarray, shape (n,)
        Sugar or extract fermented [g], from 0.

    Returns
    -------
    float or ndarray, shape (n,)
        CO2 [g]; right to 3 %. `CO2_PER_HEXOSE`, 6 % more, is the most possible.

    Raises
    ------
    ValueError
        If an amount is negative.

    References
    ----------
    .. [1] H. Nielsen et al., "Balling's formula - scrutiny of a brewing dogma", Scandinavian
       School of Brewing: 2.0665 g of extract give 0.9565 g of CO2.

    Examples
    --------
    >>> round(co2_from_sugar_g(100.0), 2)
    46.29
    """
    refuse_outside("sugar", sugar_g, 0.0, math.inf, " g")
    return sugar_g * CO2_PER_EXTRACT


def co2_from_points_g(points: Value, *, litres: float) -> Value:
    """Work out the CO2 made while the gravity fell by so many points (0.001 SG).

    Parameters
    ----------
    points : float or ndarray, shape (n,)
        Fall of the gravity [points], 0 to 200.
    litres : float
        Must or wine in the vessel, above 0.

    Returns
    -------
    float or ndarray, shape (n,)
        CO2 [g]; good to 3 %.

    Raises
    ------
    ValueError
        If a value lies outside its range.

    Notes
    -----
    The volume hardly changes: a gram of sugar fills 0.62 mL, and so do the ethanol and yeast made
    of it. So the weight that a litre loses is the CO2 that left it, 0.998 g a point. Worked out
    from the sugar and ethanol tables with Balling's yields it is 0.97 g (weak) to 1.03 g (strong).

    Examples
    --------
    >>> round(co2_from_points_g(10.0, litres=4.5), 1)
    44.9
    """
    refuse_outside("fall of gravity", points, 0.0, 200.0, " points")
    refuse_outside("volume", litres, 0.01, 1000.0, " litres")
    return points * litres * 0.001 * water_density_kg_m3(20.0)


def wet_gas_ml(co2_g: Value, *, temp_c: float = 20.0, pressure_hpa: float = ATM_HPA) -> Value:
    """Work out the volume of gas through the airlock for this much CO2.

    Parameters
    ----------
    co2_g : float or ndarray, shape (n,)
        CO2 [g]; negative if air is drawn in.
    temp_c : float
        Temperature of the gas [C], 0 to 40.
    pressure_hpa : float
        Pressure of the air [hPa], 500 to 1100.

    Returns
    -------
    float or ndarray, shape (n,)
        Volume [mL], water vapour counted; taken as an ideal gas, which is 0.5 % too large.

    Raises
    ------
    ValueError
        If temperature or pressure lies outside its range.

    Notes
    -----
    Ideal gas law with R of SI 2019; the share of water vapour is `vapour_pressure_hpa`.

    Examples
    --------
    >>> round(wet_gas_ml(co2_from_points_g(1.0, litres=1.0)))
    559
    """
    moles = co2_g / CO2_G_PER_MOL
    dry_pa = 100.0 * dry_pressure_hpa(temp_c, pressure_hpa)
    return 1e6 * moles * GAS_J_PER_MOL_K * (temp_c + ZERO_C_IN_K) / dry_pa


def water_holds_g_per_litre_bar(temp_c: Value) -> Value:
    """Work out the solubility of CO2 in pure water, per bar of CO2.

    Parameters
    ----------
    temp_c : float or ndarray, shape (n,)
        Temperature [C], 0 to 40.

    Returns
    -------
    float or ndarray, shape (n,)
        Solubility [g/L/bar]; within 3.1 % of the CRC Handbook's table, most at 0 C.

    Raises
    ------
    ValueError
        If a temperature lies outside 0 to 40 C.

    References
    ----------
    .. [1] R. F. Weiss, Mar. Chem. 2 (1974) 203, fresh water, -1 to 40 C. Pressure stands for
       fugacity, which is 0.5 % less at 1 bar.

    Examples
    --------
    >>> round(water_holds_g_per_litre_bar(20.0), 3)
    1.698
    """
    refuse_outside("temperature", temp_c, 0.0, 40.0, " C")
    hundreds = (temp_c + ZERO_C_IN_K) / 100.0
    mol_per_litre_atm: Value = math.e ** (-58.0931 + 90.5069 / hundreds) * hundreds**22.2940
    return mol_per_litre_atm * CO2_G_PER_MOL * HPA_PER_BAR / ATM_HPA


def wine_holds_g_per_litre_bar(
    temp_c: Value, *, abv_pct: float, sugar_g_per_litre: float = 0.0
) -> Value:
    """Work out the solubility of CO2 in wine, per bar of CO2.

    Parameters
    ----------
    temp_c : float or ndarray, shape (n,)
        Temperature [C], 0 to 40.
    abv_pct : float
        Alcohol [% vol], 0 to 20.
    sugar_g_per_litre : float
        Sugar still there [g/L], 0 to 250.

    Returns
    -------
    float or ndarray, shape (n,)
        Solubility [g/L/bar].

    Raises
    ------
    ValueError
        If a value lies outside its range.

    Notes
    -----
    The official formula [1]_ holds at 20 C only. For other temperatures it is scaled like the
    solubility in water, as if wine changed with temperature as water does. No table for wine was
    found to check that; a champagne between 6 and 20 C agrees within 2 % [2]_.

    References
    ----------
    .. [1] Commission Regulation (EEC) 2676/90 and OIV-MA-AS314.
    .. [2] G. Liger-Belair et al., Sci. Rep. 7 (2017), table 1.

    Examples
    --------
    >>> round(wine_holds_g_per_litre_bar(20.0, abv_pct=12.0), 3)
    1.444
    """
    refuse_outside("alcohol", abv_pct, 0.0, 20.0, " % vol")
    refuse_outside("sugar", sugar_g_per_litre, 0.0, 250.0, " g/L")
    at_20c = 1.951 * (0.86 - 0.01 * abv_pct) * (1.0 - 0.00144 * sugar_g_per_litre)
    return at_20c * water_holds_g_per_litre_bar(temp_c) / water_holds_g_per_litre_bar(20.0)


def saturated_g_per_litre(
    temp_c: Value,
    *,
    abv_pct: float,
    sugar_g_per_litre: float = 0.0,
    pressure_hpa: float = ATM_HPA,
) -> Value:
    """Work out the CO2 in wine under an airlock, with only wet CO2 above it.

    Parameters
    ----------
    temp_c : float or ndarray, shape (n,)
        Temperature [C], 0 to 40.
    abv_pct, sugar_g_per_litre : float
        As for `wine_holds_g_per_litre_bar`.
    pressure_hpa : float
        Pressure of the air [hPa], 500 to 1100.

    Returns
    -------
    float or ndarray, shape (n,)
        CO2 [g/L].

    Raises
    ------
    ValueError
        If a value lies outside its range.

    Notes
    -----
    Henry's law: `wine_holds_g_per_litre_bar` times the pressure of the CO2.

    Examples
    --------
    >>> round(saturated_g_per_litre(20.0, abv_pct=12.0), 2)
    1.43
    """
    held = wine_holds_g_per_litre_bar(temp_c, abv_pct=abv_pct, sugar_g_per_litre=sugar_g_per_litre)
    return held * dry_pressure_hpa(temp_c, pressure_hpa) / HPA_PER_BAR


def dry_pressure_hpa(temp_c: Value, pressure_hpa: float) -> Value:
    """Work out the pressure of wet gas without its water vapour (Dalton's law).

    Parameters
    ----------
    temp_c : float or ndarray, shape (n,)
        Temperature of the gas [C], 0 to 40.
    pressure_hpa : float
        Total pressure [hPa], 500 to 1100.

    Returns
    -------
    float or ndarray, shape (n,)
        [hPa]

    Raises
    ------
    ValueError
        If temperature or pressure lies outside its range.
    """
    refuse_outside("temperature", temp_c, 0.0, 40.0, " C")
    refuse_outside("pressure", pressure_hpa, 500.0, 1100.0, " hPa")
    return pressure_hpa - vapour_pressure_hpa(temp_c)
