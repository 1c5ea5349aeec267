"""Works out alcohol from gravities by mass balance, and where a ferment should end.

Strength is in % vol at 20 C, gravities are apparent SG 20/20 C of samples without gas, densities
kg/m3, which is also g/L. Every function takes a float, or an array element by element, except
`expected_finish`.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from .constants import EXTRACT_PER_ETHANOL, LOST_PER_ETHANOL
from .ethanol import ethanol_kg_m3, mixture_kg_m3
from .hydrometer import kg_m3_from_sg, sg_from_kg_m3
from .limits import Value, refuse_outside
from .scales import brix_from_sg, sg_from_g_per_litre

__all__ = [
    "OG_HIGH",
    "Finish",
    "Style",
    "abv_from_sg",
    "driest_sg",
    "expected_finish",
    "settled_sg",
]

OG_HIGH: Final = 1.17  # far above what any yeast ferments, and within the sugar tables
LIMIT_LOW_ABV: Final = 1.0
LIMIT_HIGH_ABV: Final = 25.0
LIMIT_SPREAD_ABV: Final = 1.0  # a yeast may miss its limit by this (common practice, no source)
_WATER_KG_M3: Final = mixture_kg_m3(0.0)
ROUNDS: Final = 24  # rounds of iteration; each leaves less than 3/10 of the error

Style: TypeAlias = Literal["dry wine", "cider", "perry", "mead"]

# Share of the must's extract that yeast ferments: high, middle, low. Worked back with the densities
# below from the usual finishes of each style (common practice, no source), taken as the middle 80
# %, at the original gravity given beside them. What stays behind:
FERMENTABLE: Final[dict[Style, tuple[float, float, float]]] = {
    "dry wine": (0.92, 0.885, 0.845),  # 0.990-0.998 at 1.085: acids, glycerol, pectin, minerals
    "cider": (0.85, 0.80, 0.735),  # 0.998-1.005 at 1.050: as much of these, with less sugar
    "perry": (0.82, 0.715, 0.595),  # 1.000-1.015 at 1.055: sorbitol too, which no yeast uses
    "mead": (0.86, 0.80, 0.745),  # 0.996-1.010 at 1.100: rarer sugars, and a yeast that tires
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """Gravity at which a ferment should end; 80 of 100 end between `low` and `high`."""

    sg: float
    low: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.sg <= self.high:  # written this way to refuse nan too
            raise ValueError(f"finish {self.sg} is outside its own {self.low} to {self.high}")


def abv_from_sg(og: Value, sg: Value) -> Value:
    r"""Work out the strength of a wine from its gravity at the start and now, by mass balance.

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

    One unknown, :math:`e`. The right side falls by 0.7 to 1 kg/m3 per g/L of ethanol, so stepping
    by the difference itself reaches the root from below and never passes it. Extract is counted as
    sucrose. Acids and other substances that no yeast uses need no term of their own: they are in
    both gravities.

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
    refuse_outside("SG", sg, driest_sg(og), og, ", all that its OG allows")
    must_g_g = brix_from_sg(og) / 100.0
    density = kg_m3_from_sg(sg)
    ethanol_g = 0.0 * density
    for _ in range(ROUNDS):
        lacking = _wine_kg_m3(ethanol_g, must_g_g, density) - density
        ethanol_g = abs(ethanol_g + lacking)  # rounding may leave -1e-13 if nothing is made
    return 100.0 * ethanol_g / ethanol_kg_m3()


def driest_sg(og: Value) -> Value:
    """Work out the gravity of a must when all extract is gone, the lowest for `abv_from_sg`.

    Parameters
    ----------
    og : float or ndarray, shape (n,)
        Original gravity, 1 to 1.17.

    Returns
    -------
    float or ndarray, shape (n,)

    Raises
    ------
    ValueError
        If a gravity lies outside its range.

    Examples
    --------
    >>> round(driest_sg(1.085), 3)
    0.982
    """
    refuse_outside("OG", og, 1.0, OG_HIGH)
    must_g_g = brix_from_sg(og) / 100.0
    return settled_sg(must_g_g, lambda kg_m3: _ethanol_g(1.0, must_g_g, kg_m3))


def expected_finish(og: float, style: Style, *, limit_abv: float | None = None) -> Finish:
    """Work out the gravity at which a ferment should end, from its start.

    Parameters
    ----------
    og : float
        Original gravity, 1 to 1.17.
    style : {"dry wine", "cider", "perry", "mead"}
        What is made; it says how much of the must yeast can use.
    limit_abv : float, optional
        Strength [% vol] at which the yeast gives up, 1 to 25; it may end the ferment early. It is
        taken as uncertain by 1 % vol at either end of the range.

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
    The balance and the densities are those of `abv_from_sg`; only the share of the extract that is
    used comes from the style. With all of it used, a wine of 12 % vol would be like plain alcohol
    in OIML R 22, SG 0.984; its 17 to 30 g/L of dry extract bring it to 0.991 to 0.996.

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
        most_g = abv / 100.0 * ethanol_kg_m3()
        return settled_sg(must_g_g, lambda kg_m3: min(most_g, _ethanol_g(share, must_g_g, kg_m3)))

    most, middle, least = FERMENTABLE[style]
    return Finish(
        sg=end(middle, limit),
        low=end(most, limit + LIMIT_SPREAD_ABV),
        high=end(least, limit - LIMIT_SPREAD_ABV),
    )


def settled_sg(must_g_g: Value, ethanol_g: Callable[[Value], Value]) -> Value:
    """Work out the gravity of a wine whose ethanol depends on its density; both are found together.

    Parameters
    ----------
    must_g_g : float or ndarray, shape (n,)
        Extract of the must [g/g].
    ethanol_g : callable
        Gives ethanol [g/L] for a density [kg/m3].

    Returns
    -------
    float or ndarray, shape (n,)
        Apparent gravity 20/20 C.
    """
    density = kg_m3_from_sg(1.0 + 0.0 * must_g_g)
    for _ in range(ROUNDS):
        density = _wine_kg_m3(ethanol_g(density), must_g_g, density)
    return sg_from_kg_m3(density)


def _ethanol_g(share: float, must_g_g: Value, kg_m3: Value) -> Value:
    """Ethanol in a litre of wine of this density once this share of its extract is used."""
    used_g_g = share * must_g_g
    return used_g_g * kg_m3 / (EXTRACT_PER_ETHANOL - LOST_PER_ETHANOL * used_g_g)


def _wine_kg_m3(ethanol_g: Value, must_g_g: Value, kg_m3: Value) -> Value:
    """Density from the contents of a litre with this much ethanol, which weighs `kg_m3`."""
    was_extract_g = must_g_g * (kg_m3 + LOST_PER_ETHANOL * ethanol_g)
    extract_g = abs(was_extract_g - EXTRACT_PER_ETHANOL * ethanol_g)  # -1e-13 if all is used
    mixture = mixture_kg_m3(ethanol_g)
    return kg_m3_from_sg(sg_from_g_per_litre(extract_g)) + mixture - _WATER_KG_M3
