"""Gravity at which a wine should end, as a distribution: one home for all that ask where it ends.

The fit, the verdicts, the plan and the pressure in a bottle take it from here. Gravities are SG, or
points (0.001 SG) above 1.000; sugars are in g/L, shares of a volume between 0 and 1.
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

Z80: Final = 1.2816  # a normal holds 80 of 100 within this many standard deviations
LEAST_OG: Final = 1.020  # a start below it is no must: the style alone says more

# Packets of wine yeast name limits of 14 to 18 % vol; ours is not known (our judgement).
YEAST_LIMIT_ABV: Final = 15.5
YEAST_LIMIT_SPREAD_ABV: Final = 1.5
ROUGH_ABV_PER_POINT, LIMIT_MARGIN_ABV = 0.131, 2.0  # only to see if the limit can be reached
_LIMITS: Final = ((-1.22, 0.3), (0.0, 0.4), (1.22, 0.3))  # standard deviations and weights

# Where a wine ends whose start was never read, middle 80 %: table wine and fruit wines 0.990 to
# 1.000, cider 0.998 to 1.005, perry 1.000 to 1.015 (its sorbitol is 2 to 10 times the apple's),
# mead 0.996 to 1.010 (handbooks; the first and the last are common practice, no source).
_START_UNKNOWN: Final[dict[Style, tuple[float, float]]] = {
    "dry wine": (-10.0, 0.0),
    "cider": (-2.0, 5.0),
    "perry": (0.0, 15.0),
    "mead": (-4.0, 10.0),
}
# A fruit we know nothing of may keep more back than grape does (our judgement, no source).
FRUIT_SHIFT_POINTS: Final = 0.5
FRUIT_ABOVE_TIMES: Final = 1.3

G_PER_POINT_LIFTED: Final = 2.58  # that lifts the gravity a point (sucrose tables)
# What a lifted point falls beyond itself once fermented, for alcohol is lighter than water: 2.1 g
# of sugar gone lower the gravity by a point (from ABV = 131 x drop), so 2.58 g by 1.22.
OVERFALL: Final = 0.22
UNKNOWN_FEED_POINTS: Final = 3.0  # juice, must, or sugar not weighed (our judgement, no source)

# A maker's own figure is as good as this, and less so the further it lies from the physics (our
# judgement, no source).
MAKER_SD_POINTS: Final = 2.0
MAKER_SD_SHARE: Final = 0.5
HALF_A_POINT_SG: Final = 0.0005  # to which gravities are written down


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
    The density at :math:`x` points is :math:`2 / (a + b)` times that of a standard normal at
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
        """Lower end of the range that holds the finish four times in five."""
        return self.centre_sg - Z80 * self.below_points / 1000.0

    @property
    def high_sg(self) -> float:
        """Upper end of that range."""
        return self.centre_sg + Z80 * self.above_points / 1000.0

    def log_density(self, points: ArrayLike, *, stem_points: float = 0.0) -> NDArray[np.float64]:
        """Logarithm of the density of a finish, in 1/points, for an array of any shape.

        The standard deviation of what the stem reads off widens both halves.
        """
        below = math.hypot(self.below_points, stem_points)
        above = math.hypot(self.above_points, stem_points)
        off = np.asarray(points, dtype=float) - self.centre_points
        height = math.log(2.0 / ((below + above) * math.sqrt(2.0 * math.pi)))
        return height - 0.5 * (off / np.where(off < 0.0, below, above)) ** 2

    def allows(self, sg: float) -> bool:
        """Whether a finish lies within the range, to half a point, as gravities are written."""
        return self.low_sg - HALF_A_POINT_SG <= sg <= self.high_sg + HALF_A_POINT_SG

    def narrowed(self, maker_sg: float, *, tested: bool = False) -> FinishDistribution:
        """Give the distribution once the maker has said where it ends.

        Parameters
        ----------
        maker_sg : float
            Gravity at which the maker says it ends.
        tested : bool
            A bottle of it kept two weeks at 25 C did not move: then the word counts outside the
            range too.

        Returns
        -------
        FinishDistribution
            Narrower, and no upper or lower end beyond those it had; as it was where the word lies
            outside them without a test: typed after the fact, it proves nothing.
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
        """Give the finish after sugar, all of which ferments; None where it was not weighed."""
        if g_per_litre is not None:
            return self.moved(-OVERFALL * g_per_litre / G_PER_POINT_LIFTED)
        below = math.hypot(self.below_points, UNKNOWN_FEED_POINTS)
        return replace(self.moved(-UNKNOWN_FEED_POINTS), below_points=below)

    def moved(self, points: float) -> FinishDistribution:
        """Give the same that many points higher."""
        return replace(self, centre_sg=self.centre_sg + points / 1000.0)

    def diluted(self, share: float) -> FinishDistribution:
        """Give the finish once such a share of the whole is water, of gravity 1.000."""
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
    """Where a wine should end, by physics and by what is usual of its style.

    Parameters
    ----------
    og_sg : float or None
        Original gravity, up to 1.17; None, or below 1.020, where it was not read.
    style : str or None
        The maker's words, as for `kind_of`.
    fed_g_per_litre : float
        Sugar weighed in since [g/L]: it ferments out, unless the yeast's limit comes first.
    limit_abv, limit_spread_abv : float
        Where the yeast gives up, and the standard deviation of that [% vol].

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
    """Finish of a style whose start was not read."""
    low, high = _START_UNKNOWN[family]
    half, middle_sg = (high - low) / 2.0 / Z80, 1.0 + (low + high) / 2000.0
    return FinishDistribution(centre_sg=middle_sg, below_points=half, above_points=half)


@lru_cache(maxsize=256)  # some 50 ms, and every evening of a jar asks for the same
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
        reached = strongest > limit - LIMIT_MARGIN_ABV  # else it is unchanged, and worked out
        stopped = expected_finish(strong_sg, family, limit_abv=limit) if reached else fed
        # what the limit leaves, on top of an end at which all the sugar fed is gone
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
