"""Wine as litres, strength, gravity and doses, in many draws: what each pouring and reading does.

Arrays have the shape (n,), one entry a draw; the first is the run without any error, taken for the
middle. Litres, % vol, SG, mg/L.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from ..physics.alcohol import OG_HIGH, abv_from_sg, driest_sg
from ..physics.constants import SO2_SHARE_OF_POWDER, SORBIC_SHARE_OF_SORBATE, SUCROSE_LITRES_PER_G
from ..physics.doses import lifted_sg
from ..physics.extract import must_sg

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["DRAWS", "Draws", "Wine"]

DRAWS: Final = 401
_MOST_ABV: Final = 24.9  # % vol, beyond any yeast and inside the tables
_LITRES_SHARE: Final = 0.03  # by a mark on the jar; common practice, no source
_SUGAR_SHARE: Final = 0.02  # kitchen scales; common practice, no source
_DOSE_SHARE: Final = 0.1  # a broken tablet, a pinch on kitchen scales; common practice, no source


class Draws:
    """Errors of readings, scales and jugs, in draws of which the first has none.

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
        """Draws between two ends, all alike."""
        drawn = self._rng.uniform(low, high, DRAWS)
        drawn[0] = (low + high) / 2.0
        return drawn

    def times(self, middle: float, share: float) -> Floats:
        """Draws around a middle above 0, by a relative error."""
        return middle * np.exp(self.normal(0.0, share))

    def litres(self, middle: float) -> Floats:
        """A volume as it is measured."""
        return self.times(middle, _LITRES_SHARE)

    def grams(self, middle: float) -> Floats:
        """Sugar as it is weighed."""
        return self.times(middle, _SUGAR_SHARE)

    def dose(self, middle: float) -> Floats:
        """Grams of sulphite or sorbate as they are weighed, or counted in tablets."""
        return self.times(middle, _DOSE_SHARE)


def _none() -> Floats:
    return np.zeros(DRAWS)


@dataclass(frozen=True, slots=True, eq=False)
class Wine:
    """Wine in a jar at one moment.

    Attributes
    ----------
    litres, abv_pct, sg : ndarray, shape (n,)
    so2_mg_per_litre, sorbic_mg_per_litre : ndarray, shape (n,)
        Sulphur dioxide and sorbic acid put in so far, whatever became of them.
    """

    litres: Floats
    abv_pct: Floats
    sg: Floats
    so2_mg_per_litre: Floats = field(default_factory=_none)
    sorbic_mg_per_litre: Floats = field(default_factory=_none)

    def fermented_to(self, sg: Floats) -> Wine:
        """The same wine once its gravity has fallen; one that reads higher has not."""
        og = self.must
        low = np.where(og > 1.0, driest_sg(og), 1.0)
        settled = np.clip(sg, np.minimum(low + 1e-6, og), np.maximum(og, 1.0))
        abv = np.where(og > 1.0005, abv_from_sg(og, np.minimum(settled, og)), self.abv_pct)
        return replace(self, abv_pct=np.minimum(abv, _MOST_ABV), sg=settled)

    @property
    def must(self) -> Floats:
        """Gravity of the must that would have become it."""
        return np.clip(must_sg(np.clip(self.abv_pct, 0.0, _MOST_ABV), self.sg), 1.0, OG_HIGH)

    def with_wine(self, other: Wine) -> Wine:
        """Poured together, by volume."""
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
        """With sugar stirred in, which fills a volume of its own."""
        per_litre = np.clip(grams / self.litres, 0.0, 500.0)
        wider = 1.0 + per_litre * SUCROSE_LITRES_PER_G
        return Wine(
            litres=self.litres * wider,
            abv_pct=self.abv_pct / wider,
            sg=lifted_sg(self.sg, g_per_litre=per_litre),
            so2_mg_per_litre=self.so2_mg_per_litre / wider,
            sorbic_mg_per_litre=self.sorbic_mg_per_litre / wider,
        )

    def dosed(self, *, sulphite_g: Floats, sorbate_g: Floats) -> Wine:
        """With potassium metabisulphite and potassium sorbate stirred in."""
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
        """With sugar that was not weighed, by the gravity read after it."""
        return replace(self, sg=np.maximum(sg, self.sg))

    def left(self, litres: Floats) -> Wine:
        """So much of it."""
        return replace(self, litres=litres)
