"""What a hydrometer says and what it means: temperature correction, SG, Brix, Oechsle.

Gravities are SG relative to water, 1.050 and not 1050; temperatures are in C. Every function
takes a float, or an array and works element by element.
"""

from typing import Final, TypeVar

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "brix_from_sg",
    "corrected_sg",
    "oechsle_from_sg",
    "sg_from_brix",
    "sg_from_oechsle",
    "water_density_kg_m3",
]

Value = TypeVar("Value", float, NDArray[np.float64])

GLASS_EXPANSION_PER_C: Final = 25e-6  # cubic, the conventional value of ISO 1768:1975
AIR_KG_M3: Final = 1.2  # air in which tables of apparent gravity weigh (common practice)
BRIX_LOW: Final = -5.0  # as low as a stem reads in strong dry wine
BRIX_HIGH: Final = 40.0  # as far as the tables it was checked against go
# ICUMSA SPS-4 density of sucrose at 20 C less that of water, kg/m3, powers 1 to 6 of the mass
# fraction (Emmerich and Emmerich 1994).
SUCROSE_KG_M3: Final = (385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.289)


def water_density_kg_m3(temp_c: Value) -> Value:
    r"""Density of air-free water at 1 atm.

    Parameters
    ----------
    temp_c : float or ndarray, shape (n,)
        Temperature of the water [C], 0 to 40.

    Returns
    -------
    float or ndarray, shape (n,)
        Density [kg/m3].

    Raises
    ------
    ValueError
        If a temperature lies outside 0 to 40 C, where the formula is not valid.

    Notes
    -----
    :math:`\rho = a_5 [1 - (t + a_1)^2 (t + a_2) / (a_3 (t + a_4))]`, from [1]_.

    References
    ----------
    .. [1] M. Tanaka et al., "Recommended table for the density of water between 0 C and 40 C
       based on recent experimental reports", Metrologia 38 (2001) 301-309.

    Examples
    --------
    >>> round(water_density_kg_m3(20.0), 4)
    998.2067
    """
    _refuse_outside("temperature", temp_c, 0.0, 40.0, " C")
    above_densest = temp_c - 3.983035
    return 999.974950 * (
        1.0 - above_densest**2 * (temp_c + 301.797) / (522528.9 * (temp_c + 69.34881))
    )


def corrected_sg(
    sg: Value, sample_c: Value, *, calibration_c: float = 20.0, offset: float = 0.0
) -> Value:
    r"""Gravity the stem would show were the sample at the stem's own temperature.

    Parameters
    ----------
    sg : float or ndarray, shape (n,)
        Gravity as read.
    sample_c : float or ndarray, shape (n,)
        Temperature of the sample [C], 0 to 40.
    calibration_c : float
        Temperature at which the stem reads true [C].
    offset : float
        What the stem reads too high in water at `calibration_c`; 0.002 if it shows 1.002.

    Returns
    -------
    float or ndarray, shape (n,)
        Gravity at `calibration_c`, relative to water at `calibration_c`.

    Raises
    ------
    ValueError
        If a temperature lies outside 0 to 40 C.

    Notes
    -----
    The mark :math:`R` stands where a stem of mass :math:`m` floats at the calibration temperature
    :math:`c` in liquid of density :math:`R\rho_w(c)`, so the glass below it has the volume
    :math:`V(c) = m / (R\rho_w(c))`. At the sample temperature :math:`t` that glass has grown to
    :math:`V(c)[1 + \gamma(t - c)]`, and floating at the same mark the liquid must weigh

    .. math:: \rho(t) = \frac{m}{V(t)} = \frac{R\,\rho_w(c)}{1 + \gamma (t - c)} .

    Brought to :math:`c` and taken to expand like water, it weighs
    :math:`\rho(c) = \rho(t)\,\rho_w(c) / \rho_w(t)`; relative to water at :math:`c` that is

    .. math:: \frac{\rho(c)}{\rho_w(c)} = \frac{R\,\rho_w(c)}{\rho_w(t)\,[1 + \gamma (t - c)]} .

    Must and wine expand a little more than water, so the correction is somewhat small far
    from `calibration_c`; a sample near it is always the better reading.

    References
    ----------
    .. [1] ISO 1768:1975, "Glass hydrometers - Conventional value for the thermal cubic
       expansion coefficient".

    Examples
    --------
    >>> round(corrected_sg(1.010, 25.0), 4)
    1.011
    """
    at_calibration = water_density_kg_m3(calibration_c)
    glass = 1.0 + GLASS_EXPANSION_PER_C * (sample_c - calibration_c)
    return (sg - offset) * at_calibration / (water_density_kg_m3(sample_c) * glass)


def sg_from_brix(brix: Value) -> Value:
    r"""Apparent gravity 20/20 C of a sugar solution.

    Parameters
    ----------
    brix : float or ndarray, shape (n,)
        Sucrose [g per 100 g], -5 to 40; below zero the curve is simply carried on, as the
        marks of a stem are.

    Returns
    -------
    float or ndarray, shape (n,)
        Gravity.

    Raises
    ------
    ValueError
        If a value lies outside -5 to 40.

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
    _refuse_outside("Brix", brix, BRIX_LOW, BRIX_HIGH, " g per 100 g")
    return 1.0 + _excess(brix / 100.0)


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
    _refuse_outside("SG", sg, sg_from_brix(BRIX_LOW), sg_from_brix(BRIX_HIGH))
    fraction = (sg - 1.0) * 2.5  # 1 Brix is about 4 points
    for _ in range(6):  # the start is within 5 Brix, and each step squares the error
        fraction = fraction - (_excess(fraction) - (sg - 1.0)) / _excess_slope(fraction)
    return 100.0 * fraction


def sg_from_oechsle(oechsle: Value) -> Value:
    """Gravity of a must given in degrees Oechsle, the points above water.

    Examples
    --------
    >>> sg_from_oechsle(86.0)
    1.086
    """
    return 1.0 + oechsle / 1000.0


def oechsle_from_sg(sg: Value) -> Value:
    """Degrees Oechsle of a gravity: points above water, negative for a dry wine.

    Examples
    --------
    >>> round(oechsle_from_sg(0.996), 6)
    -4.0
    """
    return (sg - 1.0) * 1000.0


def _excess(fraction: Value) -> Value:
    """Apparent gravity less 1 of a sucrose solution with this mass fraction, at 20 C."""
    b1, b2, b3, b4, b5, b6 = SUCROSE_KG_M3
    w = fraction
    kg_m3 = w * (b1 + w * (b2 + w * (b3 + w * (b4 + w * (b5 + w * b6)))))
    return kg_m3 / (water_density_kg_m3(20.0) - AIR_KG_M3)


def _excess_slope(fraction: Value) -> Value:
    """Slope of `_excess` with the mass fraction."""
    b1, b2, b3, b4, b5, b6 = SUCROSE_KG_M3
    w = fraction
    kg_m3 = b1 + w * (2 * b2 + w * (3 * b3 + w * (4 * b4 + w * (5 * b5 + w * 6 * b6))))
    return kg_m3 / (water_density_kg_m3(20.0) - AIR_KG_M3)


def _refuse_outside(quantity: str, value: Value, low: float, high: float, unit: str = "") -> None:
    """Raise ValueError that names the first value outside [low, high]; nan is outside."""
    outside = ~((np.asarray(value) >= low) & (np.asarray(value) <= high))
    if np.any(outside):
        first = float(np.asarray(value)[outside].flat[0])
        raise ValueError(f"{quantity} {first:g} is outside {low:.4g} to {high:.4g}{unit}")
