"""What the fitted curve leaves over of each count, as it would be if the curve were true.

A residual is the place of a count among those the fit predicts for its evening, turned into a
standard normal score, so that counts of 2 and of 200 stand on one scale.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc, ndtri

from .likelihood import log_expected

if TYPE_CHECKING:
    from .fit import Fit
    from .tail import Tail

__all__ = ["Part", "Residuals", "parts_of", "residuals"]

Floats = NDArray[np.float64]

_LIKELY_OUTLIER = 0.5
_SURELY = 1e-12  # scores stay finite


class Part(StrEnum):
    """In what way a count of the tail takes part."""

    FULL = "counted"
    LITTLE = "cold or disturbed"
    SLIP = "likely a mistake"


def parts_of(tail: Tail, fit: Fit | None) -> list[Part]:
    """Say of each count of a tail how it takes part.

    Parameters
    ----------
    tail : Tail
    fit : Fit or None
        Of this tail; without one no slip is known.

    Returns
    -------
    list of Part, length n
        A slip is more likely another jar, or a digit too many, than a count of this one. One that
        the tail trusts little or not at all was made in the cold, or soon after a disturbance.
    """
    slips = [False] * len(tail) if fit is None else fit.outlier_chance > _LIKELY_OUTLIER
    return [
        Part.SLIP if slip else Part.FULL if trust == 1.0 else Part.LITTLE
        for slip, trust in zip(slips, tail.trust, strict=True)
    ]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Residuals:
    """Scores of the n counts of a tail, each array of shape (n,).

    Attributes
    ----------
    days : ndarray
        Time since the tail began [days].
    score : ndarray
        Standard normal where the fit is right; above 0 where more was counted.
    low, high : ndarray
        What the count leaves open, being a whole number: `score` is drawn at random between them.
    parts : list of Part
        In what way each count takes part.
    """

    days: Floats
    score: Floats
    low: Floats
    high: Floats
    parts: list[Part]

    def those(self, part: Part) -> NDArray[np.bool_]:
        """Which counts take part in one way, shape (n,)."""
        return np.array([found is part for found in self.parts], bool)


def residuals(fit: Fit, *, rng: np.random.Generator) -> Residuals:
    """Hold each count against what the fit predicts for its evening.

    Parameters
    ----------
    fit : Fit
    rng : numpy.random.Generator
        Source of the draws between.

    Returns
    -------
    Residuals

    Notes
    -----
    Randomised quantile residuals [1]_ of the posterior prediction, a mixture of negative binomials
    over the draws: with F the chance of at most n bubbles, the place is drawn evenly from F(n - 1)
    to F(n). The counts took part in the fit, so with few of them the scores are somewhat too small.

    References
    ----------
    .. [1] P. K. Dunn, G. K. Smyth, "Randomized quantile residuals", J. Comput. Graph. Stat. 5
       (1996) 236 (from memory).
    """
    curve, tail = fit.curve, fit.tail
    mean, size = (
        np.exp(log_expected(curve, fit.thermal, fit.evidence)),
        curve.overdispersion**-2.0,
    )  # (m, n), (m, 1)
    p = size / (size + mean)
    at_most = fit.draws.weights @ betainc(size, tail.bubbles + 1.0, p)  # (n,)
    # betainc has no value at 0, where fewer cannot be
    fewer = fit.draws.weights @ betainc(size, np.maximum(tail.bubbles, 1.0), p)
    fewer = np.where(tail.bubbles > 0.0, fewer, 0.0)
    low, score, high = (
        ndtri(np.clip(fewer + share * (at_most - fewer), _SURELY, 1.0 - _SURELY))
        for share in (0.0, rng.uniform(size=len(tail)), 1.0)
    )
    return Residuals(
        days=tail.days,
        score=score,
        low=low,
        high=high,
        parts=parts_of(tail, fit),
    )
