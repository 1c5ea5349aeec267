"""Density and strength of mixtures of ethanol and water, by the formula of OIML R 22.

Strength is in % vol at 20 C, densities kg/m3, which is also g/L. Every function takes a float, or
an array and works element by element.
"""

from typing import Final

from .limits import Value, refuse_outside

__all__ = [
    "abv_from_mass_fraction",
    "ethanol_kg_m3",
    "ethanol_water_kg_m3",
    "mass_fraction_from_abv",
    "mixture_kg_m3",
]

# OIML R 22: coefficients of the powers 0, 1, 2 ... of the mass fraction, a line for each power 0
# to 6 of (t - 20 C), kg/m3. The Recommendation calls the first line A, the heads of the others B,
# and the rest C.
R22_KG_M3: Final = (
    (998.20123, -192.9769495, 389.1238958, -1668.103923, 13522.15441, -88292.78388, 306287.4042,
     -613838.1234, 747017.2998, -547846.1354, 223446.0334, -39032.85426),
    (-0.20618513, 0.1693443461530087, -10.46914743455169, 71.96353469546523, -704.7478054272792,
     3924.090430035045, -12101.64659068747, 22486.46550400788, -26055.62982188164,
     18523.73922069467, -7420.201433430137, 1285.617841998974),
    (-0.0052682542, -0.0119301300505701, 0.2517399633803461, -2.170575700536993,
     13.53034988843029, -50.29988758547014, 109.635566657757, -142.2753946421155,
     108.043594285623, -44.14153236817392, 7.442971530188783),
    (3.6130013e-05, -0.0006802995733503803, 0.01876837790289664, -0.2002561813734156,
     1.02299296671922, -2.895696483903638, 4.810060584300675, -4.672147440794683,
     2.458043105903461, -0.5411227621436812),
    (-3.8957702e-07, 4.075376675622027e-06, -8.76305857347111e-06, 6.515031360099368e-06,
     -1.51578483698721e-06),
    (7.169354e-09, -2.788074354782409e-08, 1.345612883493354e-08),
    (-9.9739231e-11,),
)  # fmt: skip


def ethanol_water_kg_m3(mass_fraction: Value, temp_c: Value) -> Value:
    r"""Work out the density of ethanol and water, by the formula of OIML R 22.

    Parameters
    ----------
    mass_fraction : float or ndarray, shape (n,)
        Ethanol [g per g of the mixture], 0 to 1.
    temp_c : float or ndarray, shape (n,)
        Temperature [C], -20 to 40.

    Returns
    -------
    float or ndarray, shape (n,)
        Density in vacuum [kg/m3].

    Raises
    ------
    ValueError
        If a value lies outside its range, where the formula is not valid.

    Notes
    -----
    With mass fraction :math:`p` and :math:`s = t - 20` [1]_:

    .. math:: \rho = A_1 + \sum_{k=2}^{12} A_k p^{k-1} + \sum_{k=1}^{6} B_k s^k
              + \sum_{i=1}^{5} \sum_k C_{i,k}\, p^k s^i .

    References
    ----------
    .. [1] OIML R 22, "International Alcoholometric Tables", 1973 (edition of 1975).

    Examples
    --------
    >>> round(ethanol_water_kg_m3(1.0, 20.0), 2)
    789.24
    """
    refuse_outside("mass fraction", mass_fraction, 0.0, 1.0, " g/g of ethanol")
    refuse_outside("temperature", temp_c, -20.0, 40.0, " C")
    warmth = temp_c - 20.0
    density = warmth * 0.0
    for line in reversed(R22_KG_M3):
        density = density * warmth + _series(line, mass_fraction)
    return density


def abv_from_mass_fraction(mass_fraction: Value) -> Value:
    r"""Convert the share of ethanol by mass to strength by volume at 20 C.

    Parameters
    ----------
    mass_fraction : float or ndarray, shape (n,)
        Ethanol [g per g of the mixture], 0 to 1.

    Returns
    -------
    float or ndarray, shape (n,)
        Strength [% vol].

    Raises
    ------
    ValueError
        If a value lies outside 0 to 1.

    Notes
    -----
    :math:`q = 100\, p\, \rho_{20}(p) / \rho_{20}(1)`, the definition of OIML R 22.

    Examples
    --------
    >>> round(abv_from_mass_fraction(0.0964099), 4)
    12.0
    """
    refuse_outside("mass fraction", mass_fraction, 0.0, 1.0, " g/g of ethanol")
    return 100.0 * mass_fraction * _series(R22_KG_M3[0], mass_fraction) / ethanol_kg_m3()


def mass_fraction_from_abv(abv: Value) -> Value:
    """Convert strength to the share of ethanol by mass: the inverse of `abv_from_mass_fraction`.

    Parameters
    ----------
    abv : float or ndarray, shape (n,)
        Strength [% vol at 20 C], 0 to 100.

    Returns
    -------
    float or ndarray, shape (n,)
        Ethanol [g per g of the mixture].

    Raises
    ------
    ValueError
        If a strength lies outside 0 to 100.

    Examples
    --------
    >>> round(mass_fraction_from_abv(12.0), 5)
    0.09641
    """
    refuse_outside("strength", abv, 0.0, 100.0, " % vol")
    fraction = _mass_fraction(abv / 100.0 * ethanol_kg_m3())
    above_pure = fraction - 1.0
    return fraction - above_pure * (above_pure > 0.0)  # rounding may leave 1e-16 there


def ethanol_kg_m3() -> float:
    """Density of ethanol at 20 C by OIML R 22 [kg/m3]."""
    return _series(R22_KG_M3[0], 1.0)


def mixture_kg_m3(ethanol_g_per_litre: Value) -> Value:
    """Work out the density at 20 C of water with this much ethanol per litre, by OIML R 22.

    Parameters
    ----------
    ethanol_g_per_litre : float or ndarray, shape (n,)
        [g/L], 0 to 789: pure ethanol.

    Returns
    -------
    float or ndarray, shape (n,)
        Density in vacuum [kg/m3].

    Examples
    --------
    >>> round(mixture_kg_m3(94.7), 1)  # 12 % vol
    982.4
    """
    return _series(R22_KG_M3[0], _mass_fraction(ethanol_g_per_litre))


def _mass_fraction(ethanol_g: Value) -> Value:
    """Mass fraction of ethanol in a mixture with water, from grams per litre at 20 C.

    Newton's steps for p x density(p), which rises all the way.
    """
    at_20_c = R22_KG_M3[0]
    slopes = tuple((k + 1) * c for k, c in enumerate(at_20_c))
    fraction = ethanol_g / at_20_c[0]
    for _ in range(8):
        excess_g = fraction * _series(at_20_c, fraction) - ethanol_g
        fraction = fraction - excess_g / _series(slopes, fraction)
    return fraction


def _series(coefficients: tuple[float, ...], x: Value) -> Value:
    """Sum of the coefficients times the powers 0, 1, 2 ... of `x`."""
    total = 0.0 * x
    for coefficient in reversed(coefficients):
        total = total * x + coefficient
    return total
