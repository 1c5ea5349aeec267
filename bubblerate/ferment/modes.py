"""Finds the peaks of any probability density by climbing from many starts at once.

A density is given by its terms at many points: its logarithm, up to a constant, and the predictors
it is made of, each with the information that the data carry about it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Modes", "Slopes", "climb"]

Floats = NDArray[np.float64]

_MOST_STEPS = 100
_STEP = 1e-5  # step of the forward differences, in scales; predictors are nearly straight
_LONGEST = 2.0  # a step moves each parameter by at most this many scales
_DAMPED, _EASE, _TIGHTEN, _TIGHTEST = 1.0, 0.2, 8.0, 1e6  # damping of the curvature, in scales


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slopes:
    """A log density at m points, and the r predictors that it is made of."""

    log_density: Floats  # (m,), up to a constant
    predictors: Floats  # (m, r), nearly linear in the parameters
    information: Floats  # (m, r), Fisher information of each predictor


Terms = Callable[[Floats], Slopes]  # of points, (m, p)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Modes:
    """K places where a density is high, the highest first.

    Attributes
    ----------
    at : ndarray, shape (K, p)
    log_density : ndarray, shape (K,)
    covariance : ndarray, shape (K, p, p)
        Covariance of the normal density that approximates each peak.
    """

    at: Floats
    log_density: Floats
    covariance: Floats

    def __len__(self) -> int:
        """Count the places."""
        return len(self.at)

    def distinct(self, log_range: float, near: float) -> Modes:
        """Keep the peaks that matter and lie apart from each other.

        Parameters
        ----------
        log_range : float
            How much smaller than the largest a peak may be, in ln of its mass as a normal density.
        near : float
            Peaks closer than this to a higher one are the same peak, in standard deviations, root
            mean square over the directions.

        Returns
        -------
        Modes
        """
        log_whole = self.log_density + 0.5 * np.linalg.slogdet(self.covariance)[1]
        off = self.at[:, None] - self.at  # of each from each, by the spread of the other
        squares = np.sum(off @ np.linalg.inv(self.covariance) * off, axis=2)
        same = squares < near**2 * self.at.shape[1]
        kept: list[int] = []
        for k in np.flatnonzero(log_whole > log_whole.max() - log_range).tolist():
            if not same[k, kept].any():
                kept.append(k)
        return Modes(
            at=self.at[kept], log_density=self.log_density[kept], covariance=self.covariance[kept]
        )

    def and_these(self, others: Modes) -> Modes:
        """These and others, unsorted."""
        return Modes(
            at=np.concatenate([self.at, others.at]),
            log_density=np.concatenate([self.log_density, others.log_density]),
            covariance=np.concatenate([self.covariance, others.covariance]),
        )

    def and_around(self, centre: Floats, covariance: Floats) -> Modes:
        """The same, with one more place at the end, of negligible height."""
        place = Modes(at=centre[None], log_density=np.array([-np.inf]), covariance=covariance[None])
        return self.and_these(place)


def climb(
    terms: Terms,
    starts: Floats,
    *,
    scale: Floats,
    steps: int = 50,
    flat: float = 1e-12,
    prior: float = 0.0,
) -> Modes:
    """Climb from every start at once, by Fisher scoring.

    Parameters
    ----------
    terms : callable, (m, p) -> Slopes
        Evaluated at many points at once.
    starts : ndarray, shape (K, p)
        Where to begin.
    scale : ndarray, shape (p,)
        About how far each parameter may be off.
    steps : int
        Steps for all starts; after them only the highest climbs on, until it has settled.
    flat : float
        A start has settled once a step would gain less than this in log density.
    prior : float
        In [0, 1): how far the curvature at the end is replaced by that of a normal density as wide
        as `scale`, since far from a mode the density bends less.

    Returns
    -------
    Modes
        The highest first.

    Raises
    ------
    ArithmeticError
        If the density is not finite near a start.
    numpy.linalg.LinAlgError
        If the density is flat in some direction.

    Notes
    -----
    Value, slope and curvature of all starts come from one call: slopes by forward differences, the
    curvature from those of the predictors, :math:`J^T W J` with the Fisher information W. Damped
    after D. W. Marquardt, J. Soc. Ind. Appl. Math. 11 (1963) 431 (from memory).
    """
    at, damping = np.array(starts, float), np.full(len(starts), _DAMPED)
    value, slope, curvature = _bends(terms, at, scale)
    if not (np.all(np.isfinite(value)) and np.all(np.isfinite(curvature))):
        raise ArithmeticError("the density has no curvature here")
    identity = np.eye(at.shape[1])
    for step in range(_MOST_STEPS):
        damped = curvature + damping[:, None, None] * identity
        move = np.linalg.solve(damped, slope[:, :, None])[:, :, 0]
        settled = np.sum(move * slope, axis=1) < flat
        if np.all(settled) or (step >= steps and settled[np.argmax(value)]):
            break
        move /= np.maximum(np.abs(move).max(axis=1, keepdims=True) / _LONGEST, 1.0)
        there = at + move * scale
        found = _bends(terms, there, scale)
        better = found[0] > value
        damping = np.where(better, _EASE * damping, np.minimum(_TIGHTEN * damping, _TIGHTEST))
        at = np.where(better[:, None], there, at)
        value = np.where(better, found[0], value)
        slope = np.where(better[:, None], found[1], slope)
        curvature = np.where(better[:, None, None], found[2], curvature)
    order = np.argsort(-value, kind="stable")
    bent = (1.0 - prior) * curvature[order] + prior * identity
    covariance = np.linalg.inv(bent) * scale[:, None] * scale
    return Modes(at=at[order], log_density=value[order], covariance=covariance)


def _bends(terms: Terms, at: Floats, scale: Floats) -> tuple[Floats, Floats, Floats]:
    """Log density (K,), slope (K, p) and curvature (K, p, p) at K points, in units of `scale`."""
    k, p = at.shape
    rows = np.concatenate([at[:, None], at[:, None] + np.diag(_STEP * scale)], axis=1)
    found = terms(rows.reshape(-1, p))
    value = found.log_density.reshape(k, p + 1)
    predictors = found.predictors.reshape(k, p + 1, -1)
    information = found.information.reshape(k, p + 1, -1)[:, 0]
    with np.errstate(invalid="ignore"):  # infinite both before and after: no step
        slope = (value[:, 1:] - value[:, :1]) / _STEP
        jacobian = (predictors[:, 1:] - predictors[:, :1]) / _STEP
        curvature = (jacobian * information[:, None]) @ np.swapaxes(jacobian, 1, 2)
    # a forward difference gives the slope half a step ahead
    slope = slope + 0.5 * _STEP * np.diagonal(curvature, axis1=1, axis2=2)
    return value[:, 0], slope, curvature
