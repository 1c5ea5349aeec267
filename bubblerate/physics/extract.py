"""Works out the extract of a wine, and the must it came from, from strength and gravity.

Strength is in % vol at 20 C, gravities are apparent SG 20/20 C, extract is in g/L as sucrose. Every
function takes a float, or an array and works element by element.
"""

from typing import Final

from .alcohol import LIMIT_HIGH_ABV
from .constants import EXTRACT_PER_ETHANOL, LOST_PER_ETHANOL
from .ethanol import ethanol_kg_m3, mixture_kg_m3
from .hydrometer import kg_m3_from_sg, sg_from_kg_m3
from .limits import Value, refuse_outside
from .scales import BRIX_HIGH, g_per_litre_from_sg, sg_from_brix

__all__ = ["extract_g_per_litre", "must_sg"]

_MOST_SG: Final = 1.178  # just within 40 Brix, where the sugar tables end


def extract_g_per_litre(abv_pct: Value, sg: Value) -> Value:
    r"""Work out the extract of a wine, as sucrose: all that is dissolved in it except alcohol.

    Parameters
    ----------
    abv_pct : float or ndarray, shape (n,)
        Strength [% vol], 0 to 25.
    sg : float or ndarray, shape (n,)
        Gravity of the wine.

    Returns
    -------
    float or ndarray, shape (n,)
        [g/L]; 0 if a wine of that strength would weigh more without any, and at most that of 40
        Brix, where the sugar tables end. Of a dry wine 17 to 30 are acids, glycerol and minerals,
        the rest is sugar.

    Raises
    ------
    ValueError
        If a number lies outside its range.

    Notes
    -----
    Tabarie's rule, as in `abv_from_sg`: the density of the wine, less that of water with as much
    ethanol, is due to the extract.

    Examples
    --------
    >>> round(extract_g_per_litre(12.0, 1.010))
    67
    """
    refuse_outside("strength", abv_pct, 0.0, LIMIT_HIGH_ABV, " % vol")
    ethanol_g = abv_pct / 100.0 * ethanol_kg_m3()
    lighter = mixture_kg_m3(0.0) - mixture_kg_m3(ethanol_g)
    alone_sg = sg_from_kg_m3(_least(kg_m3_from_sg(sg) + lighter, kg_m3_from_sg(_MOST_SG)))
    return g_per_litre_from_sg(-_least(-alone_sg, -1.0))  # 1 where it is less


def must_sg(abv_pct: Value, sg: Value) -> Value:
    """Work out the must of a wine with this strength and gravity: the inverse of `abv_from_sg`.

    Parameters
    ----------
    abv_pct : float or ndarray, shape (n,)
        Strength [% vol], 0 to 25.
    sg : float or ndarray, shape (n,)
        Gravity of the wine.

    Returns
    -------
    float or ndarray, shape (n,)
        Original gravity; for a wine that was fed or blended, that of a must that would become it.
        At most that of 40 Brix, as far as the sugar tables go.

    Raises
    ------
    ValueError
        If a number lies outside its range.

    Notes
    -----
    By the balance of `abv_from_sg`, solved for the extract of the must.

    Examples
    --------
    >>> round(must_sg(11.853, 0.996), 3)
    1.085
    """
    ethanol_g = abv_pct / 100.0 * ethanol_kg_m3()
    extract_g = extract_g_per_litre(abv_pct, sg)
    was_g = extract_g + EXTRACT_PER_ETHANOL * ethanol_g
    brix = 100.0 * was_g / (kg_m3_from_sg(sg) + LOST_PER_ETHANOL * ethanol_g)
    return sg_from_brix(_least(brix, BRIX_HIGH))


def _least(value: Value, most: float) -> Value:
    """The lesser of two; a float stays a float."""
    return (value - abs(value - most) + most) / 2.0
