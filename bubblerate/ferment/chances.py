"""Turns weighted draws into medians, intervals, dates and chances."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["HORIZON_DAYS", "Crossing", "Span", "quantiles", "span_of"]

Floats = NDArray[np.float64]

HORIZON_DAYS: Final = 60.0  # no date is given beyond this
_FURTHEST_DAYS: Final = 10_000.0  # stands for "never", to keep sums finite
_KEPT: Final = 1000  # draws of a crossing: enough for a chance of one in a thousand


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A median, and an interval that should hold the truth four times out of five."""

    low80: float
    median: float
    high80: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Crossing:
    """When the rate falls below a threshold; a time more than `HORIZON_DAYS` ahead is None.

    Nothing is known before the first count of the tail: a time at that count means then or earlier.

    Attributes
    ----------
    threshold_per_min : float
        The rate asked about [bubbles/min].
    at : datetime
        The moment asked about.
    draws : ndarray, shape (d,)
        Days from `at` to the crossing, all equally likely, earliest first; negative if it is past.
    """

    threshold_per_min: float
    at: datetime
    draws: Floats = field(repr=False)

    def __eq__(self, other: object) -> bool:
        """Whether both are the same crossing, draw by draw."""
        if not isinstance(other, Crossing):
            return NotImplemented
        mine, theirs = (self.at, self.threshold_per_min), (other.at, other.threshold_per_min)
        return mine == theirs and np.array_equal(self.draws, other.draws)

    def __hash__(self) -> int:
        """Hash of the threshold and the moment; the draws are left out."""
        return hash((self.at, self.threshold_per_min))

    @classmethod
    def of(cls, ahead: Floats, weights: Floats, at: datetime, threshold_per_min: float) -> Crossing:
        """Make one from weighted draws of the days ahead, both of shape (m,)."""
        order = np.argsort(ahead)
        levels = (np.arange(_KEPT) + 0.5) / _KEPT
        i = np.searchsorted(np.cumsum(weights[order]), levels)
        draws = np.minimum(ahead[order][np.minimum(i, len(order) - 1)], _FURTHEST_DAYS)
        return cls(threshold_per_min=threshold_per_min, at=at, draws=draws)

    def cdf(self, when: datetime) -> float:
        """Chance that the rate is below the threshold by a moment, in [0, 1]."""
        ahead = (when - self.at) / timedelta(days=1)
        return float(np.searchsorted(self.draws, ahead, side="right") / len(self.draws))

    def ppf(self, chance: float) -> datetime | None:
        """Moment by which the rate is below the threshold with this chance.

        Parameters
        ----------
        chance : float
            In [0, 1].

        Returns
        -------
        datetime or None
            None if it is more than `HORIZON_DAYS` ahead.

        Raises
        ------
        ValueError
            If the chance lies outside 0 to 1.
        """
        if not 0.0 <= chance <= 1.0:
            raise ValueError(f"a chance in the range 0 to 1 is needed, got {chance}")
        place, last = len(self.draws) * chance - 0.5, len(self.draws) - 1
        below = min(max(math.floor(place), 0), last)  # each draw sits in the middle of its share
        low, high = self.draws[below], self.draws[min(below + 1, last)]
        ahead = float(low + (high - low) * min(max(place - below, 0.0), 1.0))
        return self.at + timedelta(days=ahead) if ahead <= HORIZON_DAYS else None

    def chance_by(self, when: datetime) -> float:
        """Chance that the rate is below the threshold by a moment: a plainer name for `cdf`."""
        return self.cdf(when)

    @property
    def low95(self) -> datetime | None:
        """Lower end of the 95 % interval."""
        return self.ppf(0.025)

    @property
    def low80(self) -> datetime | None:
        """Lower end of the 80 % interval."""
        return self.ppf(0.1)

    @property
    def median(self) -> datetime | None:
        """Moment that is as likely to be too early as too late."""
        return self.ppf(0.5)

    @property
    def high80(self) -> datetime | None:
        """Upper end of the 80 % interval."""
        return self.ppf(0.9)

    @property
    def high95(self) -> datetime | None:
        """Upper end of the 95 % interval."""
        return self.ppf(0.975)

    @property
    def p_already(self) -> float:
        """Chance that the rate is below the threshold at the moment asked about."""
        return self.cdf(self.at)

    @property
    def p_not_in_60_days(self) -> float:
        """Chance that it is not below it within `HORIZON_DAYS`."""
        return 1.0 - self.cdf(self.at + timedelta(days=HORIZON_DAYS))


def span_of(values: Floats, weights: Floats) -> Span:
    """Median and 80 % interval of weighted draws, both of shape (m,)."""
    low, median, high = quantiles(values, weights, [0.1, 0.5, 0.9])
    return Span(low80=float(low), median=float(median), high80=float(high))


def quantiles(values: Floats, weights: Floats, levels: ArrayLike) -> Floats:
    """Quantiles of weighted draws, each in the middle of its weight.

    Parameters
    ----------
    values, weights : ndarray, shape (m,)
        The weights add up to 1.
    levels : array_like, shape (q,)
        In (0, 1).

    Returns
    -------
    ndarray, shape (q,)
    """
    order = np.argsort(values)
    weight = weights[order]
    middle = np.cumsum(weight) - 0.5 * weight
    return np.asarray(np.interp(np.asarray(levels, float), middle, values[order]), float)
