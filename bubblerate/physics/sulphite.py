"""Works out sulphite for a wine, from published formulas.

SO2 is in mg/L, powder in grams. The result is the free SO2 wanted in the wine. Part of what is
added gets bound, and what was added before counts. What the packet says comes first.
"""

from dataclasses import dataclass
from typing import Final

from .constants import SO2_SHARE_OF_POWDER, SULPHUROUS_PKA

__all__ = [
    "PH_HIGH",
    "PH_LOW",
    "SO2_MOST_MG_PER_LITRE",
    "Sulphite",
    "free_so2_mg_per_litre",
    "sulphite_dose",
]

MOLECULAR_MG_PER_LITRE: Final = 0.8  # molecular SO2, which protects; a usual aim for white wine

PH_LOW: Final = 3.0  # the published table reaches
PH_HIGH: Final = 3.8  # no further
# Total, bound and free, in fruit wine, cider, perry and mead: EU Regulation 1333/2008, annex II
# (from memory); other countries allow other amounts.
SO2_MOST_MG_PER_LITRE: Final = 200.0
PH_GOOD_TO: Final = 0.1  # a cheap meter or a strip; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Sulphite:
    """Free SO2 wanted in a wine, from the lowest to the highest pH it may have.

    Attributes
    ----------
    ph : float
    measured_mg_per_litre : float or None
        Free SO2 in it already [mg/L]; None if it was not measured.
    mg_per_litre : (float, float)
        Free SO2 [mg/L].
    powder_g : (float, float) or None
        Potassium metabisulphite for what is missing, for all the wine [g]; None without litres.
    """

    ph: float
    measured_mg_per_litre: float | None
    mg_per_litre: tuple[float, float]
    powder_g: tuple[float, float] | None


def free_so2_mg_per_litre(ph: float) -> float:
    """Work out the free SO2 that has 0.8 mg/L molecular SO2.

    Parameters
    ----------
    ph : float
        3.0 to 3.8.

    Returns
    -------
    float
        [mg/L].

    Raises
    ------
    ValueError
        If the pH lies outside the published table.

    Notes
    -----
    Henderson and Hasselbalch's equation for the first step: free = molecular (1 + 10^(pH - pKa)),
    with `SULPHUROUS_PKA`; 0.8 mg/L is common practice, no source.

    Examples
    --------
    >>> round(free_so2_mg_per_litre(3.4))
    32
    """
    if not PH_LOW <= ph <= PH_HIGH:  # written this way to refuse nan too
        raise ValueError(f"pH is {ph}; the published table covers {PH_LOW} to {PH_HIGH}")
    return float(MOLECULAR_MG_PER_LITRE * (1.0 + 10.0 ** (ph - SULPHUROUS_PKA)))


def sulphite_dose(
    *, ph: float | None, litres: float | None, free_mg_per_litre: float | None = None
) -> Sulphite | None:
    """Work out sulphite for a wine, as a range.

    Parameters
    ----------
    ph : float or None
        As measured; taken as right to 0.1.
    litres : float or None
        Wine in the vessel [L].
    free_mg_per_litre : float or None
        Free SO2 that is in it already, as measured [mg/L]; None if it was not.

    Returns
    -------
    Sulphite or None
        None if the pH is not known, or lies outside the published table.

    Notes
    -----
    `free_so2_mg_per_litre` at both ends of what the pH may be, in powder by the molar masses.
    """
    if ph is None or not PH_LOW <= ph <= PH_HIGH:
        return None
    low = free_so2_mg_per_litre(max(ph - PH_GOOD_TO, PH_LOW))
    high = free_so2_mg_per_litre(min(ph + PH_GOOD_TO, PH_HIGH))
    powder = None
    if litres is not None:
        g_per_mg_per_litre = litres / 1000.0 / SO2_SHARE_OF_POWDER
        powder = (
            max(low - (free_mg_per_litre or 0.0), 0.0) * g_per_mg_per_litre,
            max(high - (free_mg_per_litre or 0.0), 0.0) * g_per_mg_per_litre,
        )
    return Sulphite(
        ph=ph,
        measured_mg_per_litre=free_mg_per_litre,
        mg_per_litre=(low, high),
        powder_g=powder,
    )
