"""How heavy the tail of importance weights is, which tells whether their sum can be trusted.

A. Vehtari, D. Simpson, A. Gelman, Y. Yao and J. Gabry, "Pareto smoothed importance sampling",
J. Mach. Learn. Res. 25 (2024) 72; cited from memory.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["tail_shape"]

Floats = NDArray[np.float64]

_FEWEST = 5  # least number of weights in a tail
_PRIOR_WORTH, _PRIOR_SHAPE = 10.0, 0.5  # prior of the shape: worth so many draws, and its value


def tail_shape(weights: Floats) -> float:
    """Shape k of the generalised Pareto law of the largest weights.

    Parameters
    ----------
    weights : ndarray, shape (m,)
        At least 0, on any scale.

    Returns
    -------
    float
        Below 0.5 the weights have a variance; above 0.7 their sum settles too slowly to be
        trusted. Infinite if fewer than five are above all others.

    Notes
    -----
    The tail is the largest 3 sqrt(m) weights, at most a fifth of them. The shape is estimated by
    the method of J. Zhang and M. A. Stephens, Technometrics 51 (2009) 316 (from memory), and pulled
    a little towards a half, as Vehtari and others do.
    """
    count = int(np.ceil(min(0.2 * len(weights), 3.0 * np.sqrt(len(weights)))))
    ordered = np.sort(weights)
    if len(weights) <= count or count < _FEWEST:
        return float("inf")
    above = ordered[-count:] - ordered[-count - 1]
    if not above[0] > 0.0:
        above = above[above > 0.0]
    if len(above) < _FEWEST:
        return float("inf")
    shape = _generalised_pareto_shape(above)
    worth = len(above)
    return float((worth * shape + _PRIOR_WORTH * _PRIOR_SHAPE) / (worth + _PRIOR_WORTH))


def _generalised_pareto_shape(above: Floats) -> float:
    """Shape for rising numbers above 0, by an average over a profile likelihood."""
    n = len(above)
    grid = 30 + int(np.sqrt(n))
    j = np.arange(1, grid + 1) - 0.5
    b = 1.0 / above[-1] + (1.0 - np.sqrt(grid / j)) / (3.0 * above[int(n / 4.0 + 0.5) - 1])
    k = np.mean(np.log1p(-b[:, None] * above), axis=1)
    log_likelihood = n * (np.log(-b / k) - k - 1.0)
    weights = 1.0 / np.sum(np.exp(log_likelihood - log_likelihood[:, None]), axis=1)
    weights /= weights.sum()
    return float(np.mean(np.log1p(-float(weights @ b) * above)))
