"""Finds when a decay curve drops to a given rate: one root, bracketed in closed form.

Letters and units are those of `bubblerate.ferment.decay`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .decay import floats, log_fall, log_sum, omega

__all__ = ["crossing_days"]

Floats = NDArray[np.float64]

_CLOSE = 1e-9  # of a day, and relative to the time
_MOST_STEPS = 200  # bisection alone needs about 60; a guard against an endless loop


def crossing_days(
    gas_per_day: ArrayLike,
    *,
    max_uptake: ArrayLike,
    sugar: ArrayLike,
    half_saturation: ArrayLike,
    inactivation_per_day: ArrayLike,
    second: ArrayLike,
    pace: ArrayLike,
) -> Floats:
    """Time at which the gas that leaves drops to a given rate.

    Parameters
    ----------
    gas_per_day : array_like
        The rate to find [points/day], above 0.
    max_uptake, sugar, half_saturation, inactivation_per_day, second, pace : array_like
        As in `bubblerate.ferment.decay.log_gas_per_day`.

    Returns
    -------
    ndarray
        Days since the start of the curve; 0 if the gas starts at or below the rate.

    Raises
    ------
    ValueError
        If `gas_per_day` is not above 0.
    ArithmeticError
        If no root is found, which cannot happen with positive parameters.

    Notes
    -----
    The rate only falls, so there is one root. For each of the two terms a closed form gives a time
    by which it is below half the rate. The later of these bounds the root. Newton's steps find it
    within 1e-9, of a day and relative; where they fail, bisection does.

    Examples
    --------
    >>> curve = {"max_uptake": 2.0, "sugar": 30.0, "half_saturation": 4.5}
    >>> curve |= {"inactivation_per_day": 0.0, "second": 2.0, "pace": 0.1}
    >>> crossing_days([1.0, 0.655], **curve).round(1)
    array([17.3, 20. ])
    """
    target = np.asarray(gas_per_day, float)
    if not np.all(target > 0.0):
        raise ValueError(f"gas_per_day must be above 0 points/day, got {target}")
    curve = floats(max_uptake, sugar, half_saturation, inactivation_per_day, second, pace)
    every = np.broadcast_arrays(*curve, target)
    flat = np.array([one.ravel() for one in every])  # (7, m)
    days = np.zeros(flat.shape[1])
    above = _excess(flat, days)[0] > 0.0
    days[above] = _roots(flat[:, above])
    return np.asarray(days.reshape(every[0].shape), float)


def _excess(curves: Floats, t: Floats) -> tuple[Floats, Floats]:
    """Log rate above the target of each of m curves, (7, m), and its slope in t, (m,)."""
    b, s0, k, d, held, leave, target = curves
    x, w = omega(t, b, s0, k, d)
    fermented = log_fall(t, b, d, x, w)
    total = log_sum(fermented, np.log(held * leave) - leave * t)
    share = np.exp(fermented - total)
    slope = share * (-d - b * np.exp(-d * t) / k / (1.0 + w) ** 2) - (1.0 - share) * leave
    return np.asarray(total - np.log(target), float), np.asarray(slope, float)


def _latest(curves: Floats) -> Floats:
    """Time by which each rate is surely below its target, as both terms are below half of it."""
    b, s0, k, d, held, leave, target = curves
    second_by = np.maximum(np.log(held * leave / (0.5 * target)) / leave, 0.0)
    latest = np.maximum(_latest_crossing(0.5 * target, b, s0, k, d), second_by)
    return np.asarray(latest, float)


def _latest_crossing(target: Floats, b: Floats, s0: Floats, k: Floats, d: Floats) -> Floats:
    """Time by which the fall is surely below `target`; 0 for a curve that starts below it."""
    share = np.minimum(target / b, 1.0)  # w / (1 + w) at the crossing, if the yeast does not die
    with np.errstate(divide="ignore", invalid="ignore"):
        sugar_then = k * share / (1.0 - share)
        undying = (s0 - sugar_then + k * np.log(s0 / sugar_then)) / b
        stretched = np.where(d * undying < 1.0, -np.log1p(-d * undying) / d, np.inf)
        stretched = np.where(d > 0.0, stretched, undying)
        by_dying = np.where(d > 0.0, -np.log(share) / d, np.inf)
    latest = np.fmax(np.fmin(stretched, by_dying), 0.0)
    return np.asarray(latest, float) * (1.0 + 1e-9) + 1e-9


def _roots(curves: Floats) -> Floats:
    """Times at which rates that start above their target come down to it.

    A Newton step that leaves the bracket, or does not halve, is replaced by a bisection. Curves
    whose root is found are left out of further steps.
    """
    found, going = np.empty(curves.shape[1]), np.arange(curves.shape[1])
    high = _latest(curves)
    low, t, last = np.zeros(high.shape), 0.5 * high, high
    for _ in range(_MOST_STEPS):
        value, slope = _excess(curves, t)
        low, high = np.where(value > 0.0, t, low), np.where(value > 0.0, high, t)
        move = -value / slope
        # bisect if a move is more than half the last one: Newton may circle between two slopes
        inside = (t + move > low) & (t + move < high) & (np.abs(move) <= 0.5 * last)
        near = _CLOSE * (1.0 + t)
        # either test, as rounding may hide the slope or the sign
        arrived = (np.abs(move) <= near) | (high - low <= near)
        found[going[arrived]] = np.clip(t + move, low, high)[arrived]
        on = ~arrived
        if not np.any(on):
            return found
        step = np.where(inside, t + move, 0.5 * (low + high))
        going, curves, low, high = going[on], curves[:, on], low[on], high[on]
        t, last = step[on], np.abs(step - t)[on]
    raise ArithmeticError("no crossing found within the bracket")  # a bug, not a user's mistake
