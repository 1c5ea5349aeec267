"""Corrects hydrometer readings for temperature and for an error of the stem; and density.

Gravities are SG relative to water, 1.050 and not 1050; temperatures are in C. Every function
takes a float, or an array and works element by element.
"""

from .constants import AIR_KG_M3, GLASS_EXPANSION_PER_C
from .limits import SG_HIGH, SG_LOW, Value, refuse_outside
from .water import water_density_kg_m3

__all__ = [
    "corrected_sg",
    "kg_m3_from_sg",
    "offset_in_water",
    "sg_from_kg_m3",
    "water_in_air_kg_m3",
]


def corrected_sg(
    sg: Value, sample_c: Value, *, calibration_c: float = 20.0, offset: float = 0.0
) -> Value:
    r"""Correct a reading to the temperature at which the stem was calibrated.

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
    r"""Find how much a stem reads too high, from a reading in plain water.

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


def kg_m3_from_sg(sg: Value) -> Value:
    r"""Density at 20 C of a liquid of this apparent gravity 20/20 C.

    Parameters
    ----------
    sg : float or ndarray, shape (n,)
        Gravity, 0.7 to 1.3.

    Returns
    -------
    float or ndarray, shape (n,)
        Density in vacuum [kg/m3].

    Raises
    ------
    ValueError
        If a gravity lies outside that range.

    Notes
    -----
    Both liquid and water weighed in air of density :math:`a`:
    :math:`S = (\rho - a) / (\rho_w - a)`, the convention of tables of apparent gravity; the air
    is `AIR_KG_M3`, common practice, no source.

    Examples
    --------
    >>> round(kg_m3_from_sg(1.040), 1)
    1038.1
    """
    refuse_outside("SG", sg, SG_LOW, SG_HIGH)
    return sg * water_in_air_kg_m3() + AIR_KG_M3


def sg_from_kg_m3(kg_m3: Value) -> Value:
    """Apparent gravity 20/20 C of a liquid of this density: the inverse of `kg_m3_from_sg`.

    Parameters
    ----------
    kg_m3 : float or ndarray, shape (n,)
        Density in vacuum at 20 C [kg/m3].

    Returns
    -------
    float or ndarray, shape (n,)
        Gravity.

    Raises
    ------
    ValueError
        If the gravity would lie outside 0.7 to 1.3.

    Examples
    --------
    >>> round(sg_from_kg_m3(982.355), 4)  # alcohol of 12 % vol in plain water
    0.9841
    """
    refuse_outside("density", kg_m3, kg_m3_from_sg(SG_LOW), kg_m3_from_sg(SG_HIGH), " kg/m3")
    return (kg_m3 - AIR_KG_M3) / water_in_air_kg_m3()


def water_in_air_kg_m3() -> float:
    """Weight of water at 20 C in air, by which apparent gravity is reckoned."""
    return water_density_kg_m3(20.0) - AIR_KG_M3
