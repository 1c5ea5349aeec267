"""What a hydrometer says and what it means: corrected for temperature and its own offset.

Gravities are SG relative to water, 1.050 and not 1050; temperatures are in C. Every function
takes a float, or an array and works element by element.
"""

from typing import Final, TypeVar

import numpy as np
from numpy.typing import NDArray

__all__ = ["corrected_sg", "offset_in_water", "refuse_outside", "water_density_kg_m3"]

Value = TypeVar("Value", float, NDArray[np.float64])

GLASS_EXPANSION_PER_C: Final = 25e-6  # cubic, the conventional value of ISO 1768:1975
SG_LOW: Final = 0.7  # spirits would read lower than any wine
SG_HIGH: Final = 1.3  # and syrup higher than any must


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
    refuse_outside("temperature", temp_c, 0.0, 40.0, " C")
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
        If a temperature lies outside 0 to 40 C, or a gravity outside 0.7 to 1.3.

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
    refuse_outside("SG", sg, SG_LOW, SG_HIGH)
    return (sg - offset) / _water_mark(sample_c, calibration_c)


def offset_in_water(reading: Value, water_c: Value, *, calibration_c: float = 20.0) -> Value:
    r"""What a stem reads too high, found by floating it in plain water.

    Parameters
    ----------
    reading : float or ndarray, shape (n,)
        Gravity read in the water.
    water_c : float or ndarray, shape (n,)
        Temperature of the water [C], 0 to 40.
    calibration_c : float
        Temperature at which the stem should read true [C].

    Returns
    -------
    float or ndarray, shape (n,)
        Offset [SG], as `corrected_sg` takes it; negative for a stem that reads low.

    Raises
    ------
    ValueError
        If a temperature lies outside 0 to 40 C, or a gravity outside 0.7 to 1.3.

    Notes
    -----
    A true stem stands in water at :math:`R = \rho_w(t) [1 + \gamma (t - c)] / \rho_w(c)`, by the
    reasoning of `corrected_sg`.

    Examples
    --------
    >>> round(offset_in_water(1.001, 25.0), 4)  # water at 25 C should have read 0.999
    0.002
    """
    refuse_outside("SG", reading, SG_LOW, SG_HIGH)
    return reading - _water_mark(water_c, calibration_c)


def _water_mark(water_c: Value, calibration_c: float) -> Value:
    """Where a true stem stands in water: its glass has grown and the water thinned."""
    glass = 1.0 + GLASS_EXPANSION_PER_C * (water_c - calibration_c)
    return water_density_kg_m3(water_c) * glass / water_density_kg_m3(calibration_c)


def refuse_outside(
    quantity: str,
    value: Value,
    low: float | NDArray[np.float64],
    high: float | NDArray[np.float64],
    unit: str = "",
) -> None:
    """Raise ValueError that names the first value outside [low, high]; nan is outside."""
    inside = (np.asarray(value) >= low) & (np.asarray(value) <= high)
    if not np.all(inside):
        found, least, most = (
            np.broadcast_to(x, inside.shape)[~inside][0] for x in (value, low, high)
        )
        raise ValueError(f"{quantity} {found:g} is outside {least:.4g} to {most:.4g}{unit}")
