r"""The decay curve: how a dying yeast takes up the last of the sugar, in closed form.

Sugar is counted in points of gravity still to fall (1 point = 0.001 SG), time in days, rates in
points a day. Every function takes floats or arrays that broadcast together.

Yeast takes up sugar by a saturating law while its own activity dies away,

.. math:: \frac{dS}{dt} = -B\, e^{-d t}\, \frac{S}{K + S}                              \qquad (1)

with `max_uptake` B, `inactivation_per_day` d, `half_saturation` K and `sugar` S0 = S(0). With the
activity spent so far, tau = B (1 - exp(-d t)) / d, the solution uses the Wright omega function w,
w + ln w = x:

.. math:: S(t) = K\, w(x), \quad x = \ln\frac{S_0}{K} + \frac{S_0 - \tau}{K}            \qquad (2)

.. math:: -\frac{dS}{dt} = B\, e^{-d t}\, \frac{w}{1 + w}                              \qquad (3)

Beside it goes a `second` sugar, taken up more slowly and in proportion to what is left: G points of
it at the start, at the `pace` k,

.. math:: G\, k\, e^{-k t}                                                               \qquad (4)

Gas that was held in solution and is let go late looks the same from outside.

References
----------
Integrated Michaelis-Menten law: S. Schnell and C. Mendoza, J. Theor. Biol. 187 (1997) 207.
With a dying catalyst: R. G. Duggleby, J. Theor. Biol. 123 (1986) 67. Both cited from memory.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import exprel, wrightomega

__all__ = ["crossing_days", "log_fall_per_day", "log_gas_per_day", "points_left", "points_never"]

Floats = NDArray[np.float64]

_CLOSE = 1e-9  # of a day and of the time itself
_MOST_STEPS = 200  # bisection alone needs about 60; a guard against an endless loop


def points_left(
    days: ArrayLike,
    *,
    max_uptake: ArrayLike,
    sugar: ArrayLike,
    half_saturation: ArrayLike,
    inactivation_per_day: ArrayLike,
) -> Floats:
    """Sugar left at `days`, including any that a dying yeast will never reach.

    Parameters
    ----------
    days : array_like
        Time since the start of the curve [days].
    max_uptake : array_like
        Fastest fall, with sugar in plenty and the yeast fresh [points/day].
    sugar : array_like
        Sugar left at the start [points].
    half_saturation : array_like
        Sugar at which the uptake is half its fastest [points].
    inactivation_per_day : array_like
        Rate at which the yeast's activity dies away [1/day]; 0 for a yeast that does not tire.

    Returns
    -------
    ndarray
        Sugar left [points], of the broadcast shape.

    Notes
    -----
    Equation 2 of this module.

    Examples
    --------
    >>> curve = {"max_uptake": 2.0, "sugar": 30.0, "half_saturation": 4.5}
    >>> points_left([0.0, 20.0], **curve, inactivation_per_day=0.0).round(2)
    array([30.  ,  2.06])
    """
    _, omega = _omega(days, max_uptake, sugar, half_saturation, inactivation_per_day)
    return np.asarray(np.asarray(half_saturation, float) * omega, float)


def points_never(
    *,
    max_uptake: ArrayLike,
    sugar: ArrayLike,
    half_saturation: ArrayLike,
    inactivation_per_day: ArrayLike,
) -> Floats:
    """Sugar still there when the yeast has died: the limit of `points_left` at late times.

    Parameters
    ----------
    max_uptake, sugar, half_saturation, inactivation_per_day : array_like
        As in `points_left`.

    Returns
    -------
    ndarray
        Sugar never taken up [points]; 0 where `inactivation_per_day` is 0.

    Examples
    --------
    >>> curve = {"max_uptake": 1.0, "half_saturation": 4.5, "inactivation_per_day": 0.1}
    >>> points_never(sugar=[5.0, 30.0], **curve).round(1)
    array([ 1.2, 21.5])
    """
    max_uptake, sugar, half_saturation, inactivation_per_day = (
        np.asarray(v, float) for v in (max_uptake, sugar, half_saturation, inactivation_per_day)
    )
    with np.errstate(divide="ignore"):
        spent = max_uptake / inactivation_per_day
    return np.asarray(
        half_saturation
        * wrightomega(np.log(sugar / half_saturation) + (sugar - spent) / half_saturation),
        float,
    )


def log_fall_per_day(
    days: ArrayLike,
    *,
    max_uptake: ArrayLike,
    sugar: ArrayLike,
    half_saturation: ArrayLike,
    inactivation_per_day: ArrayLike,
) -> Floats:
    """Natural logarithm of the rate at which the gravity falls.

    Parameters
    ----------
    days, max_uptake, sugar, half_saturation, inactivation_per_day : array_like
        As in `points_left`.

    Returns
    -------
    ndarray
        ln of the fall [ln(points/day)]; finite even where the fall itself would underflow.

    Notes
    -----
    Equation 3, with ln w taken as x - w so that nothing underflows.

    Examples
    --------
    >>> curve = {"max_uptake": 2.0, "sugar": 30.0, "half_saturation": 4.5}
    >>> fall = log_fall_per_day([0.0, 20.0], **curve, inactivation_per_day=0.0)
    >>> np.exp(fall).round(3)
    array([1.739, 0.628])
    """
    x, omega = _omega(days, max_uptake, sugar, half_saturation, inactivation_per_day)
    t, b, d = (np.asarray(v, float) for v in (days, max_uptake, inactivation_per_day))
    return np.asarray(np.log(b) - d * t + (x - omega) - np.log1p(omega), float)


def log_gas_per_day(
    days: ArrayLike,
    *,
    max_uptake: ArrayLike,
    sugar: ArrayLike,
    half_saturation: ArrayLike,
    inactivation_per_day: ArrayLike,
    second: ArrayLike,
    pace: ArrayLike,
) -> Floats:
    """Natural logarithm of the rate at which gas leaves, in points of gravity that would make it.

    Parameters
    ----------
    days, max_uptake, sugar, half_saturation, inactivation_per_day : array_like
        As in `points_left`.
    second : array_like
        Second sugar at the start [points], above 0.
    pace : array_like
        Share of it taken up in a day [1/day], above 0.

    Returns
    -------
    ndarray
        ln of the gas [ln(points/day)].

    Notes
    -----
    The sum of equations 3 and 4.

    Examples
    --------
    >>> curve = {"max_uptake": 2.0, "sugar": 30.0, "half_saturation": 4.5}
    >>> curve |= {"inactivation_per_day": 0.0, "second": 2.0, "pace": 0.1}
    >>> gas = log_gas_per_day([0.0, 20.0], **curve)
    >>> np.exp(gas).round(3)
    array([1.939, 0.655])
    """
    fermented = log_fall_per_day(
        days,
        max_uptake=max_uptake,
        sugar=sugar,
        half_saturation=half_saturation,
        inactivation_per_day=inactivation_per_day,
    )
    t, g, k = (np.asarray(v, float) for v in (days, second, pace))
    return np.asarray(np.logaddexp(fermented, np.log(g * k) - k * t), float)


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
        The rate looked for [points/day], above 0.
    max_uptake, sugar, half_saturation, inactivation_per_day, second, pace : array_like
        As in `log_gas_per_day`.

    Returns
    -------
    ndarray
        Days since the start of the curve; 0 where the gas starts at or below the rate.

    Raises
    ------
    ValueError
        If `gas_per_day` is not above 0.

    Notes
    -----
    The rate falls monotonically, so there is one root. Each of the two terms is below half the
    rate by a time in closed form, and the later of these bounds the root. Newton steps that leave
    the bracket, or do not halve, are bisections.

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
    arrays = (
        np.asarray(v, float)
        for v in (max_uptake, sugar, half_saturation, inactivation_per_day, second, pace)
    )
    b, s0, k, d, held, leave, target = np.broadcast_arrays(*arrays, target)
    log_target, log_held = np.log(target), np.log(held * leave)

    def excess(t: Floats) -> tuple[Floats, Floats]:
        """Log rate above the target and its slope in t."""
        x, omega = _omega(t, b, s0, k, d)
        fermented = np.log(b) - d * t + (x - omega) - np.log1p(omega)
        total = np.logaddexp(fermented, log_held - leave * t)
        share = np.exp(fermented - total)
        slope = share * (-d - b * np.exp(-d * t) / k / (1.0 + omega) ** 2) - (1.0 - share) * leave
        return np.asarray(total - log_target, float), np.asarray(slope, float)

    low = np.zeros(b.shape)
    fermented_by = _latest_crossing(0.5 * target, b, s0, k, d)
    seeped_by = np.maximum((log_held - np.log(0.5 * target)) / leave, 0.0)
    high = np.where(excess(low)[0] > 0.0, np.maximum(fermented_by, seeped_by), 0.0)
    t, last = 0.5 * high, high
    for _ in range(_MOST_STEPS):
        value, slope = excess(t)
        low, high = np.where(value > 0.0, t, low), np.where(value > 0.0, high, t)
        move = -value / slope
        # a move that is not half the last one is a bisection: Newton may circle between two slopes
        inside = (t + move > low) & (t + move < high) & (np.abs(move) <= 0.5 * last)
        near = _CLOSE * (1.0 + t)
        step = np.where(inside, t + move, 0.5 * (low + high))
        # the one or the other, as rounding may hide the slope or the sign
        arrived = (np.abs(move) <= near) | (high - low <= near)
        step = np.where(arrived, np.clip(t + move, low, high), step)
        last = np.abs(step - t)
        t = step
        if np.all(arrived):
            return np.asarray(t, float)
    raise ArithmeticError("no crossing found within the bracket")  # a bug, not a user's mistake


def _omega(
    days: ArrayLike,
    max_uptake: ArrayLike,
    sugar: ArrayLike,
    half_saturation: ArrayLike,
    inactivation_per_day: ArrayLike,
) -> tuple[Floats, Floats]:
    """Argument x of equation 2 and w(x)."""
    t, b, s0, k, d = (
        np.asarray(v, float)
        for v in (days, max_uptake, sugar, half_saturation, inactivation_per_day)
    )
    spent = b * t * exprel(-d * t)  # tau; exprel is exact at d = 0
    x = np.log(s0 / k) + (s0 - spent) / k
    return np.asarray(x, float), np.asarray(wrightomega(x), float)


def _latest_crossing(target: Floats, b: Floats, s0: Floats, k: Floats, d: Floats) -> Floats:
    """Time by which the fall is surely below `target`; 0 for curves that start below it."""
    share = np.minimum(target / b, 1.0)  # w / (1 + w) at the crossing of a yeast that does not die
    with np.errstate(divide="ignore", invalid="ignore"):
        sugar_then = k * share / (1.0 - share)
        undying = (s0 - sugar_then + k * np.log(s0 / sugar_then)) / b
        stretched = np.where(d * undying < 1.0, -np.log1p(-d * undying) / d, np.inf)
        stretched = np.where(d > 0.0, stretched, undying)
        by_dying = np.where(d > 0.0, -np.log(share) / d, np.inf)
    latest = np.fmax(np.fmin(stretched, by_dying), 0.0)
    return np.asarray(latest, float) * (1.0 + 1e-9) + 1e-9
