"""Scales of sugar and gravity: SG, points, Brix, g/L, Oechsle.

A point is 0.001 SG, and all that is reported in points is converted here. Gravities are apparent SG
20/20 C, 1.050 and not 1050. Sugar is sucrose at 20 C; musts hold other sugars and acids too, and
are read by the same tables everywhere. Every function takes a float, or an array and works element
by element.
"""

from typing import Final, Literal

from .hydrometer import water_in_air_kg_m3
from .limits import SG_HIGH, SG_LOW, Value, refuse_outside
from .water import water_density_kg_m3

__all__ = [
    "brix_from_sg",
    "fall_points",
    "g_per_litre_from_sg",
    "oechsle_from_sg",
    "points",
    "sg_at",
    "sg_from_brix",
    "sg_from_g_per_litre",
    "sg_from_oechsle",
]

BRIX_LOW: Final = -5.0  # as low as a stem reads in strong dry wine
BRIX_HIGH: Final = 40.0  # as far as the tables it was checked against go
# ICUMSA SPS-4 density of sucrose at 20 C less that of water, kg/m3, powers 1 to 6 of the mass
# fraction (Emmerich and Emmerich 1994).
SUCROSE_KG_M3: Final = (385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.289)
POINTS_PER_SG: Final = 1000.0  # by definition


def points(sg: Value) -> Value:
    """Points of a gravity above that of water, by definition 0.001 SG each.

    Parameters
    ----------
    sg : float or ndarray, shape (n,)

    Returns
    -------
    float or ndarray, shape (n,)
        [points], negative below 1.

    Examples
    --------
    >>> round(points(1.085), 6)
    85.0
    """
    return (sg - 1.0) * POINTS_PER_SG


def sg_at(points: Value) -> Value:
    """Gravity this many points above water, or below: the inverse of `points`.

    Examples
    --------
    >>> sg_at(-2.0)
    0.998
    """
    return 1.0 + points / POINTS_PER_SG


def fall_points(before_sg: Value, after_sg: Value) -> Value:
    """Fall from one gravity to another [points]; negative is a rise.

    Examples
    --------
    >>> round(fall_points(1.012, 1.010), 6)
    2.0
    """
    return (before_sg - after_sg) * POINTS_PER_SG


def sg_from_brix(
    brix: Value,
    *,
    instrument: Literal["hydrometer", "refractometer"] = "hydrometer",
    alcohol_formed: bool = False,
) -> Value:
    r"""Apparent gravity 20/20 C of a sugar solution.

    Parameters
    ----------
    brix : float or ndarray, shape (n,)
        Sucrose [g per 100 g], -5 to 40; below zero the curve is simply carried on, as the
        marks of a stem are.
    instrument : {"hydrometer", "refractometer"}
        What was read.
    alcohol_formed : bool
        Whether fermentation has begun.

    Returns
    -------
    float or ndarray, shape (n,)
        Gravity.

    Raises
    ------
    ValueError
        If a value lies outside -5 to 40, or was read by refractometer after alcohol had formed:
        alcohol bends light as sugar does, and only the must's own gravity could tell them apart.

    Notes
    -----
    With :math:`\Delta(w)` the density of the solution less that of water [1]_, and both weighed in
    air of density :math:`a`: :math:`S = 1 + \Delta(w) / (\rho_w - a)`. Chosen before the polynomial
    fitted to NBS Circular C440, from which it differs by 0.1 point at most, because it is exactly
    1 for water and gives a gravity without a root to find.

    References
    ----------
    .. [1] A. Emmerich and L. Emmerich 1994, adopted in ICUMSA SPS-4 (attribution from memory).

    Examples
    --------
    >>> round(sg_from_brix(10.0), 4)
    1.04
    """
    refuse_outside("Brix", brix, BRIX_LOW, BRIX_HIGH, " g per 100 g")
    if instrument == "refractometer" and alcohol_formed:
        import numpy as np  # here alone, so that a gravity that is typed in loads none

        first = float(np.asarray(brix).flat[0])
        raise ValueError(
            f"Brix {first:g} by refractometer is not a gravity once there is alcohol, which bends "
            "light as sugar does; use a hydrometer"
        )
    return 1.0 + _excess_kg_m3(brix / 100.0) / water_in_air_kg_m3()


def brix_from_sg(sg: Value) -> Value:
    """Sugar solution that has this apparent gravity 20/20 C: the inverse of `sg_from_brix`.

    Parameters
    ----------
    sg : float or ndarray, shape (n,)
        Gravity, about 0.981 to 1.179 (-5 to 40 Brix).

    Returns
    -------
    float or ndarray, shape (n,)
        Sucrose [g per 100 g].

    Raises
    ------
    ValueError
        If a gravity lies outside that range.

    Notes
    -----
    Newton's steps. The curve rises and bends upwards over the whole range, so from the second
    step on they come down on the root from one side and cannot overshoot.

    Examples
    --------
    >>> round(brix_from_sg(1.040), 2)
    9.99
    """
    refuse_outside("SG", sg, sg_from_brix(BRIX_LOW), sg_from_brix(BRIX_HIGH))
    fraction = (sg - 1.0) * 2.5  # 1 Brix is about 4 points
    excess = (sg - 1.0) * water_in_air_kg_m3()
    for _ in range(6):  # the start is within 5 Brix, and each step squares the error
        fraction = fraction - (_excess_kg_m3(fraction) - excess) / _excess_slope_kg_m3(fraction)
    return 100.0 * fraction


def sg_from_g_per_litre(g_per_litre: Value) -> Value:
    r"""Apparent gravity 20/20 C of a solution with this much sugar in a litre.

    Parameters
    ----------
    g_per_litre : float or ndarray, shape (n,)
        Sucrose in a litre of the solution at 20 C [g/L], 0 to about 470 (40 Brix).

    Returns
    -------
    float or ndarray, shape (n,)
        Gravity.

    Raises
    ------
    ValueError
        If a value lies outside that range.

    Notes
    -----
    Newton's steps for :math:`w [\rho_w + \Delta(w)] = c`, which rises and bends upwards, with
    :math:`\Delta` as in `sg_from_brix`.

    Examples
    --------
    >>> round(sg_from_g_per_litre(100.0), 4)
    1.0386
    """
    refuse_outside("sugar", g_per_litre, 0.0, _g_per_litre(BRIX_HIGH / 100.0), " g/L")
    water = water_density_kg_m3(20.0)
    fraction = g_per_litre / water
    for _ in range(6):
        slope = water + _excess_kg_m3(fraction) + fraction * _excess_slope_kg_m3(fraction)
        fraction = fraction - (_g_per_litre(fraction) - g_per_litre) / slope
    return 1.0 + _excess_kg_m3(fraction) / water_in_air_kg_m3()


def g_per_litre_from_sg(sg: Value) -> Value:
    """Sugar in a litre of a sugar solution of this gravity: inverse of `sg_from_g_per_litre`.

    Parameters
    ----------
    sg : float or ndarray, shape (n,)
        Apparent gravity 20/20 C, 1 to about 1.179. Of a must it is all that is dissolved, of a
        wine it is no sugar at all, for alcohol lightens it.

    Returns
    -------
    float or ndarray, shape (n,)
        Sucrose [g/L] at 20 C.

    Raises
    ------
    ValueError
        If a gravity lies outside that range.

    Examples
    --------
    >>> round(g_per_litre_from_sg(1.090), 1)
    234.5
    """
    refuse_outside("SG", sg, 1.0, sg_from_brix(BRIX_HIGH))
    return _g_per_litre(brix_from_sg(sg) / 100.0)


def sg_from_oechsle(oechsle: Value) -> Value:
    """Gravity of a must given in degrees Oechsle: by definition the points above water.

    Parameters
    ----------
    oechsle : float or ndarray, shape (n,)
        Degrees, -300 to 300.

    Returns
    -------
    float or ndarray, shape (n,)
        Gravity.

    Raises
    ------
    ValueError
        If the degrees lie outside -300 to 300.

    Examples
    --------
    >>> sg_from_oechsle(86.0)
    1.086
    """
    refuse_outside("Oechsle", oechsle, points(SG_LOW), points(SG_HIGH))
    return sg_at(oechsle)


def oechsle_from_sg(sg: Value) -> Value:
    """Degrees Oechsle of a gravity, the inverse of `sg_from_oechsle`; negative for a dry wine.

    Raises
    ------
    ValueError
        If the gravity lies outside 0.7 to 1.3.

    Examples
    --------
    >>> round(oechsle_from_sg(0.996), 6)
    -4.0
    """
    refuse_outside("SG", sg, SG_LOW, SG_HIGH)
    return points(sg)


def _excess_kg_m3(fraction: Value) -> Value:
    """Density of a sucrose solution of this mass fraction less that of water, at 20 C."""
    b1, b2, b3, b4, b5, b6 = SUCROSE_KG_M3
    w = fraction
    return w * (b1 + w * (b2 + w * (b3 + w * (b4 + w * (b5 + w * b6)))))


def _excess_slope_kg_m3(fraction: Value) -> Value:
    """Slope of `_excess_kg_m3` with the mass fraction."""
    b1, b2, b3, b4, b5, b6 = SUCROSE_KG_M3
    w = fraction
    return b1 + w * (2 * b2 + w * (3 * b3 + w * (4 * b4 + w * (5 * b5 + w * 6 * b6))))


def _g_per_litre(fraction: Value) -> Value:
    """Sucrose in a litre of solution of this mass fraction, at 20 C."""
    return fraction * (water_density_kg_m3(20.0) + _excess_kg_m3(fraction))
