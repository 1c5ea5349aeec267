"""Speed for long tails: neighbouring counts are merged into lots that say nearly the same.

A density of lots is cheap to evaluate, but only proposes draws. `bubblerate.ferment.fit` weighs
every draw it keeps again, by all the counts.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from .priors import EVENING_SCATTER

if TYPE_CHECKING:
    from .evidence import Evidence

__all__ = ["LOTS", "Expected", "in_lots", "smoothed"]

Floats = NDArray[np.float64]

LOTS: Final = 20
_WILD_LN: Final = 1.4  # a count further off its neighbours says little before a fit
_WILD_SOUND: Final = 0.02
_LEAST_SOUND: Final = 1e-6  # so that each lot has a middle count


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Expected:
    """What a curve expects for n counts, each of shape (n,)."""

    bubbles: Floats  # above 0
    sound: Floats  # chance that each count is no outlier
    overdispersion: float


def smoothed(evidence: Evidence, lots: int = LOTS) -> Expected:
    """What the neighbours of each count expect of it, before a curve is known."""
    tail = evidence.tail
    log_per_s = np.log((tail.bubbles + 0.5) / tail.seconds)
    usual = np.concatenate(
        [np.full(len(some), np.median(log_per_s[some])) for some in _neighbours(evidence, lots)]
    )
    wild = np.abs(log_per_s - usual) > _WILD_LN
    return Expected(
        bubbles=np.exp(usual) * tail.seconds,
        sound=np.where(wild, _WILD_SOUND, 1.0),
        overdispersion=EVENING_SCATTER,
    )


def in_lots(evidence: Evidence, expected: Expected, lots: int = LOTS) -> Evidence:
    """Evidence with fewer counts, whose density has nearly the same slope and bend as with all.

    Parameters
    ----------
    evidence : Evidence
        Of n counts.
    expected : Expected
        What some curve expects of them.
    lots : int
        About how many; no lot spans two stretches.

    Returns
    -------
    Evidence
        Two counts for each lot, and one of no weight at each end of the tail, to keep its length.

    Notes
    -----
    The two counts of a lot share its moment. Together they have the same slope and Fisher
    information in the log of the rate as all counts of the lot, and the same mean square residual,
    which tells the scatter.
    """
    tail, size = evidence.tail, expected.overdispersion**-2.0
    mean, weight = expected.bubbles, evidence.weights * np.maximum(expected.sound, _LEAST_SOUND)
    weight = np.maximum(weight, _LEAST_SOUND * weight.max())
    columns: list[tuple[float, ...]] = []
    for some in _neighbours(evidence, lots):
        w = weight[some] / weight[some].sum()
        mu, n = mean[some], tail.bubbles[some]
        told = w * mu * size / (size + mu)  # information of each count, and of all together
        information = told.sum()
        middle = information * size / (size - information)
        off = w @ ((n - mu) * size / (size + mu)) * (size + middle) / size
        square = w @ ((n - mu) ** 2 / (mu + mu**2 / size)) * (middle + middle**2 / size)
        spread = max(float(square - off**2), 1e-12 * middle)
        centre = max(float(middle + off), 0.0)
        low = min(np.sqrt(spread), centre)  # a count is never below 0
        high = spread / low if low > 0.0 else 0.0
        share = high / (low + high) if low > 0.0 else 0.5
        told = told / information
        day, warm = told @ tail.days[some], told @ tail.temp_offset_10c[some]
        seconds = middle * np.exp(-told @ np.log(mu / tail.seconds[some]))
        every, total = (day, warm, seconds, tail.stretch[some[0]]), weight[some].sum()
        columns.append((*every, centre - low, share * total))
        columns.append((*every, centre + high, (1.0 - share) * total))
    return _of_columns(evidence, columns)


def _of_columns(evidence: Evidence, columns: list[tuple[float, ...]]) -> Evidence:
    """Evidence of these counts; the first and last count frame them with no weight."""
    tail = evidence.tail
    first, last = (
        (
            tail.days[i],
            tail.temp_offset_10c[i],
            tail.seconds[i],
            tail.stretch[i],
            tail.bubbles[i],
            0,
        )
        for i in (0, -1)
    )
    days, warm, seconds, stretch, bubbles, weights = np.array([first, *columns, last], float).T
    counts = replace(
        tail,
        days=days,
        temp_offset_10c=warm,
        seconds=seconds,
        stretch=stretch.astype(int),
        bubbles=bubbles,
        trust=np.ones(len(days)),
    )
    return replace(evidence, tail=counts, weights=weights)


def _neighbours(evidence: Evidence, lots: int) -> list[NDArray[np.intp]]:
    """Indices of the counts of each lot: consecutive counts of one stretch."""
    n = len(evidence.tail)
    lot = np.arange(n) * lots // n
    edges = np.flatnonzero((np.diff(lot) != 0) | (np.diff(evidence.tail.stretch) != 0)) + 1
    return np.split(np.arange(n), edges)
