"""Wine as litres, strength, gravity and doses, and what each pouring and reading does to it.

Arrays have shape (n,), one entry per draw. The first draw has no error and is the middle value.
Litres, % vol, SG, mg/L.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from ..physics.alcohol import OG_HIGH, abv_from_sg, driest_sg
from ..physics.constants import SO2_SHARE_OF_POWDER, SORBIC_SHARE_OF_SORBATE, SUCROSE_LITRES_PER_G
from ..physics.doses import lifted_sg
from ..physics.extract import must_sg
from ..physics.limits import SG_HIGH, SG_LOW

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["DRAWS", "Draws", "Wine", "readable"]

DRAWS: Final = 401
_MOST_ABV: Final = 24.9  # % vol, more than any yeast makes, and within the tables
_LITRES_SHARE: Final = 0.03  # by a mark on the jar; common practice, no source
_SUGAR_SHARE: Final = 0.02  # kitchen scales; common practice, no source
_DOSE_SHARE: Final = 0.1  # a broken tablet, a pinch on kitchen scales; common practice, no source


class Draws:
    """Errors of readings, scales and jugs, as draws; the first draw has no error.

    Parameters
    ----------
    rng : numpy.random.Generator
    """

    def __init__(self, rng: np.random.Generator) -> None:
        self._rng = rng

    def normal(self, middle: float, spread: float) -> Floats:
        """Draws around a middle."""
        drawn = self._rng.normal(middle, spread, DRAWS)
        drawn[0] = middle
        return drawn

    def between(self, low: float, high: float) -> Floats:
        """Uniform draws between two ends."""
        drawn = self._rng.uniform(low, high, DRAWS)
        drawn[0] = (low + high) / 2.0
        return drawn

    def times(self, middle: float, share: float) -> Floats:
        """Draws around a middle above 0, with a relative error."""
        return middle * np.exp(self.normal(0.0, share))

    def gravity(self, middle: float, spread: float) -> Floats:
        """Draws of a gravity as read, within what a hydrometer shows."""
        return readable(self.normal(middle, spread))

    def litres(self, middle: float) -> Floats:
        """Draws of a volume as measured."""
        return self.times(middle, _LITRES_SHARE)

    def grams(self, middle: float) -> Floats:
        """Draws of sugar as weighed."""
        return self.times(middle, _SUGAR_SHARE)

    def dose(self, middle: float) -> Floats:
        """Draws of grams of sulphite or sorbate, as weighed or counted in tablets."""
        return self.times(middle, _DOSE_SHARE)


def readable(sg: Floats) -> Floats:
    """Keep gravities within what a hydrometer shows, rounding apart."""
    return np.clip(sg, SG_LOW + 1e-6, SG_HIGH - 1e-6)


def _none() -> Floats:
    return np.zeros(DRAWS)


@dataclass(frozen=True, slots=True, eq=False)
class Wine:
    """Wine in a jar at one moment.

    Attributes
    ----------
    litres, abv_pct, sg : ndarray, shape (n,)
    so2_mg_per_litre, sorbic_mg_per_litre : ndarray, shape (n,)
        Sulphur dioxide and sorbic acid put in so far, even if bound or faded.
    """

    litres: Floats
    abv_pct: Floats
    sg: Floats
    so2_mg_per_litre: Floats = field(default_factory=_none)
    sorbic_mg_per_litre: Floats = field(default_factory=_none)

    def fermented_to(self, sg: Floats) -> Wine:
        """The same wine at another gravity on the way of its must; no higher than that."""
        og = self.must
        low = np.minimum(driest_sg(og) + 1e-6, og)
        own, settled = (np.clip(one, low, og) for one in (self.sg, sg))
        # what the fall makes, so that a must beyond the tables takes nothing from what was there
        abv = self.abv_pct + abv_from_sg(og, settled) - abv_from_sg(og, own)
        return replace(self, abv_pct=np.clip(abv, 0.0, _MOST_ABV), sg=settled)

    @property
    def must(self) -> Floats:
        """Gravity of the must that would have become this wine."""
        return np.clip(must_sg(np.clip(self.abv_pct, 0.0, _MOST_ABV), self.sg), 1.0, OG_HIGH)

    def with_wine(self, other: Wine) -> Wine:
        """Pour two wines together, by volume."""
        total = self.litres + other.litres
        share = other.litres / total

        def both(own: Floats, theirs: Floats) -> Floats:
            return (1.0 - share) * own + share * theirs

        return Wine(
            litres=total,
            abv_pct=both(self.abv_pct, other.abv_pct),
            sg=both(self.sg, other.sg),
            so2_mg_per_litre=both(self.so2_mg_per_litre, other.so2_mg_per_litre),
            sorbic_mg_per_litre=both(self.sorbic_mg_per_litre, other.sorbic_mg_per_litre),
        )

    def with_sugar(self, grams: Floats) -> Wine:
        """Stir sugar in, which adds to the volume."""
        per_litre = np.clip(grams / self.litres, 0.0, 500.0)
        wider = 1.0 + per_litre * SUCROSE_LITRES_PER_G
        return Wine(
            litres=self.litres * wider,
            abv_pct=self.abv_pct / wider,
            sg=lifted_sg(np.minimum(self.sg, OG_HIGH), g_per_litre=per_litre),
            so2_mg_per_litre=self.so2_mg_per_litre / wider,
            sorbic_mg_per_litre=self.sorbic_mg_per_litre / wider,
        )

    def dosed(self, *, sulphite_g: Floats, sorbate_g: Floats) -> Wine:
        """Stir in potassium metabisulphite and potassium sorbate."""
        so2, sorbic = (
            1000.0 * share * grams / self.litres
            for share, grams in (
                (SO2_SHARE_OF_POWDER, sulphite_g),
                (SORBIC_SHARE_OF_SORBATE, sorbate_g),
            )
        )
        return replace(
            self,
            so2_mg_per_litre=self.so2_mg_per_litre + so2,
            sorbic_mg_per_litre=self.sorbic_mg_per_litre + sorbic,
        )

    def sugared_to(self, sg: Floats) -> Wine:
        """Stir in sugar that was not weighed, given the gravity read after it."""
        return replace(self, sg=np.maximum(sg, self.sg))

    def left(self, litres: Floats) -> Wine:
        """Keep this volume of it."""
        return replace(self, litres=litres)
