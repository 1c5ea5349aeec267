"""Estimates the gravity of a working wine from two Brix readings of a refractometer.

Alcohol bends light as sugar does, so once there is some, one reading alone says nothing about the
gravity. Together with the reading of the must it does, roughly.
"""

import math
from dataclasses import dataclass
from typing import Final

from .alcohol import OG_HIGH, settled_sg
from .constants import EXTRACT_PER_ETHANOL, LOST_PER_ETHANOL
from .limits import refuse_outside
from .scales import POINTS_PER_SG, brix_from_sg

__all__ = ["RefractedSG", "sg_by_refractometer"]

# Brix that a refractometer shows for ethanol in water: FIRST times its mass in 100 g, and SECOND
# times the square of that. Fitted to the refractive indices of tests/reference/refraction.csv.
FIRST: Final = 0.4188
SECOND: Final = 0.00278

# How far the truth may be below and above [points]: further than the two published corrections in
# the tests, of which the one fitted to beer is up to 8 points higher.
BELOW_POINTS: Final = 4.0
ABOVE_POINTS: Final = 8.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RefractedSG:
    """What the gravity may be, from two readings of a refractometer [SG]."""

    sg: float
    low: float
    high: float


def sg_by_refractometer(start_brix: float, brix: float) -> RefractedSG:
    r"""Estimate the gravity of a wine from refractometer readings of it and of its must.

    Parameters
    ----------
    start_brix : float
        Of the must, before any alcohol [g per 100 g], 1 to about 38.
    brix : float
        Of the wine now: not above `start_brix`, and above what all of its sugar would leave.

    Returns
    -------
    RefractedSG
        Apparent gravity 20/20 C, and how far it may be off. A hydrometer is three times as sure or
        more; nothing should be bottled by this.

    Raises
    ------
    ValueError
        If a reading lies outside its range.

    Notes
    -----
    With :math:`p_0` the must's extract and :math:`w` the ethanol, both in g/g, the balance of
    `abv_from_sg` leaves :math:`p_0 (1 + 1.0665 w) - 2.0665 w` of extract. It and the ethanol are
    taken to bend light each by itself [1]_, which gives a quadratic for :math:`w`. The density
    then follows as in `abv_from_sg`. Within 2.5 points of a published correction by two readings
    over all of its range [2]_; another, fitted to beers alone, lies up to 8 points above [3]_.

    References
    ----------
    .. [1] CRC Handbook of Chemistry and Physics, concentrative properties of aqueous solutions:
       refractive index of ethanol and of sucrose (values from memory).
    .. [2] L. K. Bonham, "The use of handheld refractometers by homebrewers", Zymurgy 24 (2001)
       (from memory).
    .. [3] S. Terrill, cubic fit to two readings of beers, 2011 (from memory).

    Examples
    --------
    >>> found = sg_by_refractometer(21.0, 7.4)
    >>> f"{found.sg:.3f}, {found.low:.3f} to {found.high:.3f}"
    '0.996, 0.992 to 1.004'
    """
    refuse_outside("Brix of the must", start_brix, 1.0, brix_from_sg(OG_HIGH))
    must_g_g = start_brix / 100.0
    most = must_g_g / (EXTRACT_PER_ETHANOL - LOST_PER_ETHANOL * must_g_g)  # all of it fermented
    driest = 100.0 * most * (FIRST + 100.0 * most * SECOND)
    refuse_outside("Brix of the wine", brix, driest, start_brix, ", all that its must allows")
    slope = FIRST + LOST_PER_ETHANOL * must_g_g - EXTRACT_PER_ETHANOL
    fallen = start_brix - brix
    percent = 2.0 * fallen / (math.sqrt(slope**2 - 4.0 * SECOND * fallen) - slope)
    sg = settled_sg(must_g_g, lambda kg_m3: percent / 100.0 * kg_m3)
    return RefractedSG(
        sg=sg, low=sg - BELOW_POINTS / POINTS_PER_SG, high=sg + ABOVE_POINTS / POINTS_PER_SG
    )
