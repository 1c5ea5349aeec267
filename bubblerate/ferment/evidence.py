"""Gathers what a fit uses, on one clock: the counts of a tail, and the gravity read around it.

Times are days since the tail began; gravity is in points above 1.000.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..physics.scales import fall_points, points
from .bubble_totals import points_per_ml
from .finish import likely_finish
from .priors import (
    BUBBLE_ML,
    BUBBLE_ML_SPREAD,
    COUNTING_SD,
    EVENING_CORRELATION,
    EVENING_SCATTER,
    READING_SD_POINTS,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..diary.visit import Visit
    from .finish import FinishDistribution
    from .gravity import Reading
    from .tail import Tail

__all__ = ["Bubble", "Evidence", "evening_weights", "gather_evidence"]

Floats = NDArray[np.float64]

_PAIRS = 40  # latest readings used to learn the size of a bubble


@dataclass(frozen=True, slots=True, kw_only=True)
class Bubble:
    """Gas that leaves per bubble counted, leaks included; log-normal."""

    ml: float
    spread: float  # natural logarithm
    learnt: bool  # learnt from readings with counts between them


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Evidence:
    """Counts and gravity of one ferment.

    Attributes
    ----------
    tail : Tail
        The n counts.
    weights : ndarray, shape (n,)
        How far each count is independent of its neighbours.
    reading_days, reading_points : ndarray, shape (k,)
        Time of each gravity reading since the tail began, and its points above 1.000.
    litres : float or None
        Wine in the vessel [L].
    finish : float or None
        Gravity at which the maker expects it to end, points above 1.000.
    likely_finish : float
        Gravity at which physics expects it to end, points above 1.000.
    bubble_ml : Bubble or None
        Gas per bubble counted, as known before the tail; None without litres.
    """

    tail: Tail
    weights: Floats
    reading_days: Floats
    reading_points: Floats
    litres: float | None
    finish: float | None
    likely_finish: float
    bubble_ml: Bubble | None

    @property
    def tells_bubble(self) -> bool:
        """Whether gravity can tell something about the size of a bubble."""
        return self.bubble_ml is not None and (self.bubble_ml.learnt or len(self.reading_days) > 0)


def gather_evidence(
    tail: Tail,
    visits: Sequence[Visit],
    readings: Sequence[Reading],
    *,
    litres: float | None,
    finish_sg: float | None,
    likely: FinishDistribution | None = None,
) -> Evidence:
    """Gather what a fit uses.

    Parameters
    ----------
    tail : Tail
    visits : sequence of Visit
        Live rows that the tail was found in, oldest first.
    readings : sequence of Reading
        Gravity since sugar was last added, corrected, oldest first. Readings before the tail are
        used only for the size of a bubble: they would tie the end of the curve to its start, and
        that differs too much from one ferment to the next.
    litres : float or None
        Wine in the vessel [L].
    finish_sg : float or None
        Gravity at which the maker expects it to end.
    likely : FinishDistribution, optional
        Where physics expects it to end; by default where most wines end.

    Returns
    -------
    Evidence

    Raises
    ------
    ValueError
        If `litres` is not above 0.
    """
    if litres is not None and not litres > 0.0:
        raise ValueError(f"litres must be above 0, got {litres}")
    days = np.array([tail.day_of(r.when) for r in readings])
    read_points = np.array([points(r.sg) for r in readings])
    during = days >= 0.0
    return Evidence(
        tail=tail,
        weights=evening_weights(tail),
        reading_days=days[during],
        reading_points=read_points[during],
        litres=litres,
        finish=None if finish_sg is None else points(finish_sg),
        likely_finish=(likely or likely_finish(None)).centre_points,
        bubble_ml=None
        if litres is None
        else _bubble([r for r in readings if r.when < tail.start], visits, litres),
    )


def _bubble(readings: Sequence[Reading], visits: Sequence[Visit], litres: float) -> Bubble:
    """Gas per bubble from pairs of readings with counts between them, by Bayes' rule on a grid.

    The grid is of the log of the gas. A fall is normal around what the bubbles explain, with the
    error of two readings and of the sum. The prior is log-normal, and so, nearly, is the answer.
    """
    log_ml = np.linspace(np.log(0.05), np.log(50.0), 1201)
    log_p = -0.5 * ((log_ml - np.log(BUBBLE_ML)) / BUBBLE_ML_SPREAD) ** 2
    learnt = False
    for before, after in pairwise(readings[-_PAIRS:]):
        per_ml = points_per_ml(visits, before.when, after.when, litres)
        if per_ml is None:
            continue
        learnt = True
        expected = per_ml * np.exp(log_ml)
        sd = np.hypot(np.sqrt(2.0) * READING_SD_POINTS, COUNTING_SD * expected)
        fall = fall_points(before.sg, after.sg)
        log_p += -0.5 * ((fall - expected) / sd) ** 2 - np.log(sd)
    p = np.exp(log_p - log_p.max())
    p /= p.sum()
    mean = float(p @ log_ml)
    spread = float(np.sqrt(p @ (log_ml - mean) ** 2))
    return Bubble(ml=float(np.exp(mean)), spread=spread, learnt=learnt)


def evening_weights(tail: Tail) -> Floats:
    r"""How far each count is independent, since neighbouring evenings share their scatter.

    Parameters
    ----------
    tail : Tail
        The n counts.

    Returns
    -------
    ndarray, shape (n,)
        In [0, 1]; nearly 1 if few bubbles were counted, since chance is not shared; 0 if the tail
        does not trust the count.

    Notes
    -----
    With a correlation :math:`\rho^{|t_i - t_j|}` between evenings, the scatter :math:`\phi^2` of
    count i is in effect shared by :math:`\sum_j \rho^{|t_i - t_j|}` counts. Its counting error
    :math:`1/n` is shared by none. The weight is the ratio of the two variances, worked out once
    from the counts, so that it does not move with the parameters. Counting twice as often never
    weighs less. A composite likelihood of our own; scatter and correlation are those of
    `bubblerate.ferment.priors`.
    """
    shared = EVENING_CORRELATION ** np.diff(tail.days)  # correlation with the count before
    before, after = np.zeros(len(tail)), np.zeros(len(tail))
    for i in range(1, len(tail)):  # sums over all earlier and all later counts, in two passes
        before[i] = shared[i - 1] * (1.0 + before[i - 1])
        after[-1 - i] = shared[-i] * (1.0 + after[-i])
    chance, scatter = 1.0 / (tail.bubbles + 1.0), EVENING_SCATTER**2
    own = (chance + scatter) / (chance + scatter * (1.0 + before + after))
    return np.asarray(own * tail.trust, float)
