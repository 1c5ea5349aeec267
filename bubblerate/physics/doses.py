"""Works out doses for a finished wine: sugar to sweeten or sparkle, sorbate, finings.

Grams, litres, SG, bar over one atmosphere at 20 C. What the packet and the law say comes first.
"""

from typing import Final

from .bottle import CELLAR_C, bottle_pressure
from .constants import CO2_PER_EXTRACT, SORBIC_SHARE_OF_SORBATE, SUCROSE_LITRES_PER_G
from .gas import co2_from_points_g
from .hydrometer import kg_m3_from_sg, sg_from_kg_m3
from .limits import Value, refuse_outside

__all__ = [
    "SORBIC_MG_PER_LITRE",
    "finings_ml",
    "lifted_sg",
    "priming_g_per_litre",
    "sorbate_g",
    "sweetening_g",
]

# Sorbic acid in a stabilised wine [mg/L]: not above 200 (OIV, International Code of Oenological
# Practices 3.4.5, and EU Regulation 2019/934: both from memory); from 125 (from memory).
SORBIC_MG_PER_LITRE: Final = (125.0, 200.0)
# Of each of the two parts, in a jar of 4.5 L: half a teaspoon; common practice, no source.
_FININGS_ML_PER_LITRE: Final = 2.5 / 4.5


def sweetening_g(*, litres: float, sg: float, wanted_sg: float) -> float:
    r"""Work out the sugar that brings a wine to a gravity.

    Parameters
    ----------
    litres : float
        Wine before the sugar, above 0 [L].
    sg, wanted_sg : float
        Gravity now, and the gravity wanted, which is not lower.

    Returns
    -------
    float
        Sucrose [g].

    Raises
    ------
    ValueError
        If the wanted gravity is below that of the wine, or above 1.17.

    Notes
    -----
    Sugar :math:`m` adds a volume :math:`v m`, so :math:`\rho_1 V + m = \rho_2 (V + v m)`.
    Within 1 % of the sucrose tables up to 1.040.

    Examples
    --------
    >>> round(sweetening_g(litres=4.5, sg=0.996, wanted_sg=1.010))
    166
    """
    refuse_outside("volume", litres, 0.001, 10_000.0, " litres")
    refuse_outside("wanted SG", wanted_sg, sg, 1.17)
    now, then = kg_m3_from_sg(sg), kg_m3_from_sg(wanted_sg)
    return litres * (then - now) / (1.0 - then * SUCROSE_LITRES_PER_G)


def lifted_sg(sg: Value, *, g_per_litre: Value) -> Value:
    """Work out the gravity of a wine after adding sugar: the inverse of `sweetening_g`.

    Parameters
    ----------
    sg : float or ndarray, shape (n,)
        Before it.
    g_per_litre : float or ndarray, shape (n,)
        Sucrose, 0 to 500.

    Returns
    -------
    float or ndarray, shape (n,)

    Raises
    ------
    ValueError
        If the sugar lies outside its range.

    Examples
    --------
    >>> round(lifted_sg(0.996, g_per_litre=37.4), 3)
    1.01
    """
    refuse_outside("sugar", g_per_litre, 0.0, 500.0, " g/L")
    now = kg_m3_from_sg(sg)
    then = (now + g_per_litre) / (1.0 + g_per_litre * SUCROSE_LITRES_PER_G)
    return sg_from_kg_m3(then)


def sorbate_g(
    litres: float, *, there_mg_per_litre: tuple[float, float] = (0.0, 0.0)
) -> tuple[float, float]:
    """Work out potassium sorbate to keep a finished, clear, sulphited wine from fermenting.

    Parameters
    ----------
    litres : float
        Of wine [L].
    there_mg_per_litre : (float, float)
        Sorbic acid already in it, least and most [mg/L].

    Returns
    -------
    low, high : float
        [g]; to `SORBIC_MG_PER_LITRE` of sorbic acid, of which the salt is 74.6 %.

    Raises
    ------
    ValueError
        If the volume is out of range.

    Examples
    --------
    >>> "{:.2f} to {:.2f}".format(*sorbate_g(4.5))
    '0.75 to 1.21'
    """
    refuse_outside("volume", litres, 0.001, 10_000.0, " litres")
    low, high = (
        max(mg - there, 0.0) * litres / 1000.0 / SORBIC_SHARE_OF_SORBATE
        for mg, there in zip(SORBIC_MG_PER_LITRE, there_mg_per_litre, strict=True)
    )
    return min(low, high), high


def priming_g_per_litre(over_bar: float, *, abv_pct: float, dissolved_g_per_litre: float) -> float:
    """Work out the sugar for a pressure in a bottle made for it.

    Parameters
    ----------
    over_bar : float
        Wanted over one atmosphere, at 20 C, 0.5 to 6 [bar].
    abv_pct : float
        Strength [% vol], 0 to 20.
    dissolved_g_per_litre : float
        CO2 in the wine already [g/L].

    Returns
    -------
    float
        Sucrose [g/L]; 0 if the gas already in it is enough.

    Raises
    ------
    ValueError
        If a number lies outside its range.

    Notes
    -----
    The inverse of `bubblerate.physics.bottle.bottle_pressure`: the pressure rises in proportion to
    the sugar, a gram of which gives Balling's 0.463 g of CO2. 24 g/L give the 5 to 6 bar of a
    sparkling wine in a cool cellar, as in the trade.

    Examples
    --------
    >>> round(priming_g_per_litre(2.0, abv_pct=6.0, dissolved_g_per_litre=1.6), 1)
    3.4
    """
    refuse_outside("pressure", over_bar, 0.5, 6.0, " bar")
    none, ten = (
        bottle_pressure(
            points, temp_c=CELLAR_C, abv_pct=abv_pct, dissolved_g_per_litre=dissolved_g_per_litre
        ).over_bar
        for points in (0.0, 10.0)
    )
    points = max(10.0 * (over_bar - none) / (ten - none), 0.0)
    return co2_from_points_g(points, litres=1.0) / CO2_PER_EXTRACT


def finings_ml(litres: float) -> float:
    """Work out each part of two-part finings, if the packet says nothing else.

    Parameters
    ----------
    litres : float
        Of wine [L].

    Returns
    -------
    float
        [mL]; 2.5 in a jar of 4.5 L (common practice, no source).

    Examples
    --------
    >>> round(finings_ml(9.0), 1)
    5.0
    """
    return _FININGS_ML_PER_LITRE * litres
