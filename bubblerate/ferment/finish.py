"""The gravity at which a wine should end, as a distribution that all other parts use.

The fit, the verdicts, the plan and the pressure in a bottle take it from here. Gravity is SG, or
points (0.001 SG) above 1.000; sugar is in g/L; shares of a volume are between 0 and 1.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

from ..diary.styles import kind_of
from ..physics.alcohol import OG_HIGH, Style, expected_finish
from ..physics.limits import refuse_outside
from ..physics.scales import fall_points, sg_at

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

__all__ = ["Z80", "FinishDistribution", "likely_finish"]

Z80: Final = 1.2816  # a normal has 80 % within this many standard deviations
LEAST_OG: Final = 1.020  # a start below it is no must: the style tells more

# Packets of wine yeast give limits of 14 to 18 % vol; the maker's is not known (our judgement).
YEAST_LIMIT_ABV: Final = 15.5
YEAST_LIMIT_SPREAD_ABV: Final = 1.5
ROUGH_ABV_PER_POINT, LIMIT_MARGIN_ABV = 0.131, 2.0  # only to see whether the limit can be reached
_LIMITS: Final = ((-1.22, 0.3), (0.0, 0.4), (1.22, 0.3))  # standard deviations and weights

# Where a wine ends if its start was never read, middle 80 %: table and fruit wines 0.990 to
# 1.000, cider 0.998 to 1.005, perry 1.000 to 1.015 (its sorbitol is 2 to 10 times the apple's),
# mead 0.996 to 1.010 (handbooks; the first and the last are common practice, no source).
_START_UNKNOWN: Final[dict[Style, tuple[float, float]]] = {
    "dry wine": (-10.0, 0.0),
    "cider": (-2.0, 5.0),
    "perry": (0.0, 15.0),
    "mead": (-4.0, 10.0),
}
# A fruit we do not know may leave more sugar than grapes do (our judgement, no source).
FRUIT_SHIFT_POINTS: Final = 0.5
FRUIT_ABOVE_TIMES: Final = 1.3

G_PER_POINT_LIFTED: Final = 2.58  # g/L that raise the gravity by a point (sucrose tables)
# A raised point falls by more than a point once fermented, since alcohol is lighter than water: 2.1
# g of sugar lower the gravity by a point (from ABV = 131 x drop), so 2.58 g by 1.22.
OVERFALL: Final = 0.22
UNKNOWN_FEED_POINTS: Final = 3.0  # juice, must, or sugar not weighed (our judgement, no source)

# How exact a maker's own value is; less so the further it is from physics (our judgement, no
# source).
MAKER_SD_POINTS: Final = 2.0
MAKER_SD_SHARE: Final = 0.5
HALF_A_POINT_SG: Final = 0.0005  # to which people write gravity down


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishDistribution:
    r"""Where a wine should end: a normal with two halves that meet at its centre.

    Attributes
    ----------
    centre_sg : float
        Most likely finish.
    below_points, above_points : float
        Standard deviations of the halves below and above it, above 0 [points].

    Notes
    -----
    The density at :math:`x` points is :math:`2 / (a + b)` times a standard normal density at
    :math:`(x - c) / b` below the centre and at :math:`(x - c) / a` above it. It is log-concave, so
    a higher reading never makes less sugar look likelier.
    """

    centre_sg: float
    below_points: float
    above_points: float

    def __post_init__(self) -> None:
        spreads = self.below_points, self.above_points
        if not (0.8 <= self.centre_sg <= 1.3 and all(0.0 < s < math.inf for s in spreads)):
            raise ValueError(f"no such finish: {self.centre_sg}, spreads {spreads} points")

    @property
    def centre_points(self) -> float:
        """Most likely finish, in points above 1.000."""
        return fall_points(self.centre_sg, 1.0)

    @property
    def low_sg(self) -> float:
        """Lower end of the range that holds the finish four times out of five."""
        return self.centre_sg - Z80 * self.below_points / 1000.0

    @property
    def high_sg(self) -> float:
        """Upper end of that range."""
        return self.centre_sg + Z80 * self.above_points / 1000.0

    def log_density(self, points: ArrayLike, *, stem_points: float = 0.0) -> NDArray[np.float64]:
        """Logarithm of the density of a finish, in 1/points, for an array of any shape.

        The standard deviation of the reading widens both halves.
        """
        below = math.hypot(self.below_points, stem_points)
        above = math.hypot(self.above_points, stem_points)
        off = np.asarray(points, dtype=float) - self.centre_points
        height = math.log(2.0 / ((below + above) * math.sqrt(2.0 * math.pi)))
        return height - 0.5 * (off / np.where(off < 0.0, below, above)) ** 2

    def allows(self, sg: float) -> bool:
        """Whether a finish lies within the range, give or take half a point of rounding."""
        return self.low_sg - HALF_A_POINT_SG <= sg <= self.high_sg + HALF_A_POINT_SG

    def narrowed(self, maker_sg: float, *, tested: bool = False) -> FinishDistribution:
        """Give the distribution after the maker has said where it ends.

        Parameters
        ----------
        maker_sg : float
            Gravity at which the maker says it ends.
        tested : bool
            A bottle of it, kept two weeks at 25 C, did not move: then the value counts even outside
            the range.

        Returns
        -------
        FinishDistribution
            Narrower, with no end beyond those it had. Unchanged if the value lies outside them
            without a test: typed in afterwards, it proves nothing.
        """
        if not (tested or self.allows(maker_sg)):
            return self
        said = maker_sg if tested else min(max(maker_sg, self.low_sg), self.high_sg)
        off = fall_points(said, self.centre_sg)
        sd = MAKER_SD_POINTS + MAKER_SD_SHARE * abs(off)
        side = self.below_points if off < 0.0 else self.above_points
        share = side**2 / (side**2 + sd**2)
        left = math.sqrt(1.0 - share)
        centre = self.centre_sg + share * off / 1000.0
        below, above = left * self.below_points, left * self.above_points
        if not tested:
            below = min(below, fall_points(centre, self.low_sg) / Z80)
            above = min(above, fall_points(self.high_sg, centre) / Z80)
        return FinishDistribution(centre_sg=centre, below_points=below, above_points=above)

    def fed(self, g_per_litre: float | None) -> FinishDistribution:
        """Give the finish after adding sugar, all of which ferments; None if it was not weighed."""
        if g_per_litre is not None:
            return self.moved(-OVERFALL * g_per_litre / G_PER_POINT_LIFTED)
        below = math.hypot(self.below_points, UNKNOWN_FEED_POINTS)
        return replace(self.moved(-UNKNOWN_FEED_POINTS), below_points=below)

    def moved(self, points: float) -> FinishDistribution:
        """Give the same distribution, that many points higher."""
        return replace(self, centre_sg=self.centre_sg + points / 1000.0)

    def diluted(self, share: float) -> FinishDistribution:
        """Give the finish when this share of the whole is water, of gravity 1.000."""
        kept = 1.0 - share
        return FinishDistribution(
            centre_sg=1.0 + kept * (self.centre_sg - 1.0),
            below_points=kept * self.below_points,
            above_points=kept * self.above_points,
        )


def likely_finish(
    og_sg: float | None,
    style: str | None = None,
    *,
    fed_g_per_litre: float = 0.0,
    limit_abv: float = YEAST_LIMIT_ABV,
    limit_spread_abv: float = YEAST_LIMIT_SPREAD_ABV,
) -> FinishDistribution:
    """Find where a wine should end, by physics and by what is usual for its style.

    Parameters
    ----------
    og_sg : float or None
        Original gravity, up to 1.17; None, or below 1.020, if it was not read.
    style : str or None
        In the maker's words, as for `kind_of`.
    fed_g_per_litre : float
        Sugar added since and weighed [g/L]: it ferments out, unless the yeast reaches its limit
        first.
    limit_abv, limit_spread_abv : float
        Alcohol at which the yeast gives up, and its standard deviation [% vol].

    Returns
    -------
    FinishDistribution

    Raises
    ------
    ValueError
        If a number lies outside its range.

    Notes
    -----
    The balance and the usual ranges are those of `bubblerate.physics.alcohol`, averaged over three
    limits of the yeast, whose own spread is added to that of the style.

    Examples
    --------
    >>> finish = likely_finish(1.085, "dry wine")
    >>> f"{finish.centre_sg:.3f}, {finish.low_sg:.3f} to {finish.high_sg:.3f}"
    '0.994, 0.990 to 0.998'
    """
    refuse_outside("sugar fed", fed_g_per_litre, 0.0, 1000.0, " g/L")
    kind = kind_of(style)
    family: Style = kind.style or "dry wine"
    if og_sg is None or og_sg < LEAST_OG:
        found = _usual(family).fed(fed_g_per_litre)
    else:
        found = _balanced(round(og_sg, 4), family, fed_g_per_litre, limit_abv, limit_spread_abv)
    if kind.style is not None:
        return found
    wider = replace(found, above_points=FRUIT_ABOVE_TIMES * found.above_points)
    return wider.moved(FRUIT_SHIFT_POINTS)


def _usual(family: Style) -> FinishDistribution:
    """Finish of a style if the start was not read."""
    low, high = _START_UNKNOWN[family]
    half, middle_sg = (high - low) / 2.0 / Z80, 1.0 + (low + high) / 2000.0
    return FinishDistribution(centre_sg=middle_sg, below_points=half, above_points=half)


@lru_cache(maxsize=256)  # takes 50 ms, and every evening of a jar needs the same
def _balanced(
    og_sg: float, family: Style, fed_g_per_litre: float, limit_abv: float, limit_spread_abv: float
) -> FinishDistribution:
    """Finish by mass balance, over the limits that the yeast may have."""
    lifted = fed_g_per_litre / G_PER_POINT_LIFTED
    strong_sg = min(og_sg + lifted / 1000.0, OG_HIGH)
    own = expected_finish(og_sg, family)
    fed = expected_finish(strong_sg, family) if lifted else own
    strongest = 1000.0 * ROUGH_ABV_PER_POINT * (strong_sg - fed.low)
    ends = np.empty((len(_LIMITS), 3))
    for i, (z, _) in enumerate(_LIMITS):
        limit = limit_abv + z * limit_spread_abv
        reached = strongest > limit - LIMIT_MARGIN_ABV  # else it is known already
        stopped = expected_finish(strong_sg, family, limit_abv=limit) if reached else fed
        # what the limit leaves, above the end at which all added sugar is gone
        sides = zip(*((f.low, f.sg, f.high) for f in (own, stopped, fed)), strict=True)
        ends[i] = [1000.0 * (a - 1.0 + b - c) - OVERFALL * lifted for a, b, c in sides]
    weights = np.array([w for _, w in _LIMITS])
    centre = float(weights @ ends[:, 1])
    spread = float(weights @ (ends[:, 1] - centre) ** 2)
    below, above = (weights @ ((ends[:, side] - ends[:, 1]) / Z80) ** 2 for side in (0, 2))
    return FinishDistribution(
        centre_sg=sg_at(centre),
        below_points=math.sqrt(float(below) + spread),
        above_points=math.sqrt(float(above) + spread),
    )
