"""How far each count lies from the fitted curve, as a score that needs no unit.

A residual is the rank of a count among those the fit predicts for that evening, turned into a
standard normal score. So counts of 2 and of 200 share one scale.
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
_SURELY = 1e-12  # keeps scores finite


class Part(StrEnum):
    """How a count of the tail is used."""

    FULL = "full"
    LITTLE = "little"
    SLIP = "slip"


def parts_of(tail: Tail, fit: Fit | None) -> list[Part]:
    """Say for each count of a tail how it is used.

    Parameters
    ----------
    tail : Tail
    fit : Fit or None
        Fit of this tail; without one no mistake can be found.

    Returns
    -------
    list of Part, length n
        A slip is more likely a count of another jar, or a typing mistake, than a count of this one.
        A count that the tail trusts little was made in the cold or soon after a disturbance.
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
        Limits of the score, since a count is a whole number; `score` is drawn at random between
        them.
    parts : list of Part
        How each count is used.
    """

    days: Floats
    score: Floats
    low: Floats
    high: Floats
    parts: list[Part]

    def those(self, part: Part) -> NDArray[np.bool_]:
        """Which counts are used in this way, shape (n,)."""
        return np.array([found is part for found in self.parts], bool)


def residuals(fit: Fit, *, rng: np.random.Generator) -> Residuals:
    """Compare each count with what the fit predicts for its evening.

    Parameters
    ----------
    fit : Fit
    rng : numpy.random.Generator
        For the draws between the limits.

    Returns
    -------
    Residuals

    Notes
    -----
    Randomised quantile residuals [1]_ of the posterior prediction, which is a mixture of negative
    binomials over the draws. With F the chance of at most n bubbles, the rank is drawn uniformly
    from F(n - 1) to F(n). The fit has seen the counts, so with few of them the scores are a little
    too small.

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
    # betainc is undefined at 0, where no smaller count exists
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
