"""Water, by the formulas of its standards: density and vapour pressure.

Temperatures are in C. Every function takes a float, or an array and works element by element.
"""

import math

from .constants import ZERO_C_IN_K
from .limits import Value, refuse_outside

__all__ = ["vapour_pressure_hpa", "water_density_kg_m3"]


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


def vapour_pressure_hpa(temp_c: Value) -> Value:
    """Pressure of water vapour over water, which the gas of a ferment carries too.

    Parameters
    ----------
    temp_c : float or ndarray, shape (n,)
        Temperature [C], 0 to 100.

    Returns
    -------
    float or ndarray, shape (n,)
        Pressure [hPa]; over a wine of 12 % about 4 % less by Raoult's law.

    Raises
    ------
    ValueError
        If a temperature lies outside 0 to 100 C.

    References
    ----------
    .. [1] W. Wagner and A. Pruss, J. Phys. Chem. Ref. Data 22 (1993) 783, eq. 2.5; IAPWS
       SR1-86(1992), from 0.01 C; carried on to 0 C.

    Examples
    --------
    >>> round(vapour_pressure_hpa(20.0), 2)
    23.39
    """
    refuse_outside("temperature", temp_c, 0.0, 100.0, " C")
    ratio = (temp_c + ZERO_C_IN_K) / 647.096
    tau = 1.0 - ratio
    log_pressure = (
        -7.85951783 * tau
        + 1.84408259 * tau**1.5
        - 11.7866497 * tau**3
        + 22.6807411 * tau**3.5
        - 15.9618719 * tau**4
        + 1.80122502 * tau**7.5
    ) / ratio
    hpa: Value = 220_640.0 * math.e**log_pressure  # a power, so that a float stays a float
    return hpa
