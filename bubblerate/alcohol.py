"""Alcohol from gravities by mass balance, and the gravity at which a ferment should end.

Strength is in % vol at 20 C, gravities are apparent SG 20/20 C of samples without gas, densities
kg/m3, which is also g/L. Every function takes a float, or an array and works element by element,
save `expected_finish`, which makes a record.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from .hydrometer import Value, refuse_outside
from .scales import brix_from_sg, kg_m3_from_sg, sg_from_g_per_litre, sg_from_kg_m3

__all__ = [
    "Finish",
    "Style",
    "abv_from_mass_fraction",
    "abv_from_sg",
    "ethanol_water_kg_m3",
    "expected_finish",
    "mass_fraction_from_abv",
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

# Balling's balance, in grams for each gram of ethanol: 2.0665 = 1 + 0.9565 (CO2) + 0.11 (yeast).
EXTRACT_PER_ETHANOL: Final = 2.0665
LOST_PER_ETHANOL: Final = 1.0665  # gone as gas or fallen to the lees

OG_HIGH: Final = 1.17  # far above what any yeast ferments, and inside the sugar tables
LIMIT_LOW_ABV: Final = 1.0
LIMIT_HIGH_ABV: Final = 25.0
LIMIT_SPREAD_ABV: Final = 1.0  # a yeast may miss its limit by this (common practice, no source)
ROUNDS: Final = 24  # of each fixed point below; a round leaves less than 3/10 of the error

Style: TypeAlias = Literal["dry wine", "cider", "perry", "mead"]

# Share of the must's extract that yeast turns to alcohol: high, middle, low. Back-worked with the
# densities below, each from the finishes usual for its style (common practice, no source), taken
# for the middle 80 %, at the original gravity that stands beside them. What stays behind:
FERMENTABLE: Final[dict[Style, tuple[float, float, float]]] = {
    "dry wine": (0.92, 0.885, 0.845),  # 0.990-0.998 at 1.085: acids, glycerol, pectin, minerals
    "cider": (0.85, 0.80, 0.735),  # 0.998-1.005 at 1.050: as much of these beside less sugar
    "perry": (0.82, 0.715, 0.595),  # 1.000-1.015 at 1.055: sorbitol too, which no yeast takes
    "mead": (0.86, 0.80, 0.745),  # 0.996-1.010 at 1.100: rarer sugars, and a yeast that tires
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """Gravity at which a ferment should end; 80 of 100 end between `low` and `high`."""

    sg: float
    low: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.sg <= self.high:  # written so that nan is refused too
            raise ValueError(f"finish {self.sg} is outside its own {self.low} to {self.high}")


def ethanol_water_kg_m3(mass_fraction: Value, temp_c: Value) -> Value:
    r"""Density of ethanol and water mixed, by the formula of OIML R 22.

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
    r"""Strength by volume at 20 C of ethanol and water mixed, from the share by mass.

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
    return 100.0 * mass_fraction * _series(R22_KG_M3[0], mass_fraction) / _ethanol_kg_m3()


def mass_fraction_from_abv(abv: Value) -> Value:
    """Share by mass of ethanol in a mixture with water: inverse of `abv_from_mass_fraction`.

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
    fraction = _mass_fraction(abv / 100.0 * _ethanol_kg_m3())
    above_pure = fraction - 1.0
    return fraction - above_pure * (above_pure > 0.0)  # rounding may leave 1e-16 there


def abv_from_sg(og: Value, sg: Value) -> Value:
    r"""Strength of a wine from its gravity at the start and now, by mass balance.

    Parameters
    ----------
    og : float or ndarray, shape (n,)
        Original gravity, 1 to 1.17.
    sg : float or ndarray, shape (n,)
        Gravity now: not above `og`, and above what is left when all its sugar has gone.

    Returns
    -------
    float or ndarray, shape (n,)
        Strength [% vol].

    Raises
    ------
    ValueError
        If a gravity lies outside its range.

    Notes
    -----
    A litre of wine of density :math:`\rho` that holds :math:`e` g of ethanol was
    :math:`\rho + 1.0665\,e` g of must, for gas and yeast have left it [1]_. With :math:`p_0` the
    must's extract in g/g, from its gravity, the extract left in that litre is

    .. math:: c = p_0 (\rho + 1.0665\,e) - 2.0665\,e .

    The density is that of water with :math:`e` g/L of ethanol (OIML R 22) and with :math:`c` g/L
    of sugar, each by itself and their excesses over water added [2]_:

    .. math:: \rho = \rho_w + [\rho_{R22}(e) - \rho_{R22}(0)] + \Delta(c) .

    One unknown, :math:`e`. The right side falls by 0.7 to 1 kg/m3 for each g/L of ethanol, so
    stepping by the difference itself comes up to the root from below and never passes it.
    Extract is counted as sucrose. Acids and the like, which no yeast takes, need no word of their
    own: they stand in both gravities.

    References
    ----------
    .. [1] C. J. N. Balling's yields, through H. Nielsen et al., "Balling's formula - scrutiny of a
       brewing dogma", Scandinavian School of Brewing.
    .. [2] Tabarie's rule, by which dry extract of wine is found (OIV; from memory).

    Examples
    --------
    >>> round(abv_from_sg(1.085, 0.993), 1)
    12.3
    """
    refuse_outside("OG", og, 1.0, OG_HIGH)
    must_g_g = brix_from_sg(og) / 100.0
    driest = _settled_sg(must_g_g, lambda kg_m3: _ethanol_g(1.0, must_g_g, kg_m3))
    refuse_outside("SG", sg, driest, og, ", all that its OG allows")
    density = kg_m3_from_sg(sg)
    ethanol_g = 0.0 * density
    for _ in range(ROUNDS):
        lacking = _wine_kg_m3(ethanol_g, must_g_g, density) - density
        ethanol_g = abs(ethanol_g + lacking)  # rounding may leave -1e-13 where nothing is made
    return 100.0 * ethanol_g / _ethanol_kg_m3()


def expected_finish(og: float, style: Style, *, limit_abv: float | None = None) -> Finish:
    """Gravity at which a ferment should end, from where it began.

    Parameters
    ----------
    og : float
        Original gravity, 1 to 1.17.
    style : {"dry wine", "cider", "perry", "mead"}
        What is made; it says how much of the must yeast can use.
    limit_abv : float, optional
        Strength [% vol] at which the yeast gives up, 1 to 25; it may end the ferment early, and is
        taken to be missed by 1 % vol at either end of the range.

    Returns
    -------
    Finish
        Gravity, with the middle 80 % of what is usual.

    Raises
    ------
    ValueError
        If a number lies outside its range or the style is none of the four.

    Notes
    -----
    The balance and the densities are those of `abv_from_sg`; only the share of the extract that
    is used comes from the style. With all of it used, wine of 12 % vol weighs what OIML R 22 says
    of plain alcohol, SG 0.984; its 17 to 30 g/L of dry extract bring it to 0.991 to 0.996.

    Examples
    --------
    >>> finish = expected_finish(1.085, "dry wine")
    >>> f"{finish.sg:.3f}, {finish.low:.3f} to {finish.high:.3f}"
    '0.994, 0.990 to 0.998'
    """
    refuse_outside("OG", og, 1.0, OG_HIGH)
    if style not in FERMENTABLE:
        raise ValueError(f"style {style!r} is none of {', '.join(FERMENTABLE)}")
    if limit_abv is not None:
        refuse_outside("yeast's limit", limit_abv, LIMIT_LOW_ABV, LIMIT_HIGH_ABV, " % vol")
    must_g_g = brix_from_sg(og) / 100.0
    limit = math.inf if limit_abv is None else limit_abv

    def end(share: float, abv: float) -> float:
        most_g = abv / 100.0 * _ethanol_kg_m3()
        return _settled_sg(must_g_g, lambda kg_m3: min(most_g, _ethanol_g(share, must_g_g, kg_m3)))

    most, middle, least = FERMENTABLE[style]
    return Finish(
        sg=end(middle, limit),
        low=end(most, limit + LIMIT_SPREAD_ABV),
        high=end(least, limit - LIMIT_SPREAD_ABV),
    )


def _settled_sg(must_g_g: Value, ethanol_g: Callable[[Value], Value]) -> Value:
    """Gravity of a wine whose ethanol [g/L] follows from its density: both are found together."""
    density = kg_m3_from_sg(1.0 + 0.0 * must_g_g)
    for _ in range(ROUNDS):
        density = _wine_kg_m3(ethanol_g(density), must_g_g, density)
    return sg_from_kg_m3(density)


def _ethanol_g(share: float, must_g_g: Value, kg_m3: Value) -> Value:
    """Ethanol in a litre of wine of this density once this share of its extract is used."""
    used_g_g = share * must_g_g
    return used_g_g * kg_m3 / (EXTRACT_PER_ETHANOL - LOST_PER_ETHANOL * used_g_g)


def _wine_kg_m3(ethanol_g: Value, must_g_g: Value, kg_m3: Value) -> Value:
    """Density by the contents of a litre that holds so much ethanol and weighs `kg_m3`."""
    was_extract_g = must_g_g * (kg_m3 + LOST_PER_ETHANOL * ethanol_g)
    extract_g = abs(was_extract_g - EXTRACT_PER_ETHANOL * ethanol_g)  # -1e-13 where all is used
    water, mixture = _series(R22_KG_M3[0], 0.0), _series(R22_KG_M3[0], _mass_fraction(ethanol_g))
    return kg_m3_from_sg(sg_from_g_per_litre(extract_g)) + mixture - water


def _ethanol_kg_m3() -> float:
    """Density of ethanol at 20 C."""
    return _series(R22_KG_M3[0], 1.0)


def _mass_fraction(ethanol_g: Value) -> Value:
    """Mass fraction of ethanol in a mixture with water that holds so much in a litre at 20 C.

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
