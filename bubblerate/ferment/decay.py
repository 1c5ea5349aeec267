r"""The decay curve: how a dying yeast uses up the last of the sugar, in closed form.

Sugar is given in points of gravity still to fall (1 point = 0.001 SG), time in days, rates in
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

__all__ = [
    "floats",
    "log_fall",
    "log_fall_per_day",
    "log_gas_per_day",
    "log_sum",
    "omega",
    "points_left",
    "points_never",
    "softplus",
    "wright_omega",
]

Floats = NDArray[np.float64]

_LEAST_X = -600.0  # x in w + ln w = x; below it w is negligible, and its logarithm is x
_GUESS = (0.74299, -0.68775, 0.12359)  # fitted by us for the least largest error
_LEAST_PACE = 1e-200  # 1/day, used instead of 0: the sums are the same to the last digit


def points_left(
    days: ArrayLike,
    *,
    max_uptake: ArrayLike,
    sugar: ArrayLike,
    half_saturation: ArrayLike,
    inactivation_per_day: ArrayLike,
) -> Floats:
    """Sugar left at `days`, including any that a dying yeast will never use.

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
    t, b, s0, k, d = floats(days, max_uptake, sugar, half_saturation, inactivation_per_day)
    return k * omega(t, b, s0, k, d)[1]


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
        Sugar never taken up [points]; 0 if `inactivation_per_day` is 0.

    Notes
    -----
    Equation 2, where tau has come to B / d.

    Examples
    --------
    >>> curve = {"max_uptake": 1.0, "half_saturation": 4.5, "inactivation_per_day": 0.1}
    >>> points_never(sugar=[5.0, 30.0], **curve).round(1)
    array([ 1.2, 21.5])
    """
    b, s0, k, d = floats(max_uptake, sugar, half_saturation, inactivation_per_day)
    with np.errstate(divide="ignore"):
        spent = b / d
    x = np.log(s0 / k) + (s0 - spent) / k
    return np.where(x > _LEAST_X, k * wright_omega(x), 0.0)


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
    Equation 3 of this module.

    Examples
    --------
    >>> curve = {"max_uptake": 2.0, "sugar": 30.0, "half_saturation": 4.5}
    >>> fall = log_fall_per_day([0.0, 20.0], **curve, inactivation_per_day=0.0)
    >>> np.exp(fall).round(3)
    array([1.739, 0.628])
    """
    t, b, s0, k, d = floats(days, max_uptake, sugar, half_saturation, inactivation_per_day)
    return log_fall(t, b, d, *omega(t, b, s0, k, d))


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
    """Natural logarithm of the rate at which gas leaves, as the fall of gravity that makes it.

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
    t, b, s0, k, d = floats(days, max_uptake, sugar, half_saturation, inactivation_per_day)
    held, leave = floats(second, pace)
    fermented = log_fall(t, b, d, *omega(t, b, s0, k, d))
    return log_sum(fermented, np.log(held * leave) - leave * t)


def omega(t: Floats, b: Floats, s0: Floats, k: Floats, d: Floats) -> tuple[Floats, Floats]:
    """Argument x of equation 2, and w(x); letters as at the top of this module."""
    d = np.maximum(d, _LEAST_PACE)
    # tau / k is -(b / k) expm1(-d t) / d, which is exact even for a small d
    x = np.log(s0 / k) + s0 / k + np.expm1(-d * t) / d * (b / k)
    return x, wright_omega(x)


def wright_omega(x: Floats) -> Floats:
    """W of w + ln w = x, to 13 digits; 0, nearly, below x = -600.

    Parameters
    ----------
    x : ndarray

    Returns
    -------
    ndarray
        Same shape.

    Notes
    -----
    A closed guess [1]_, right to 0.1 % with three fitted numbers, then a step of the fourth order
    [2]_: about twenty simple operations on whole arrays instead of a loop with branches.

    References
    ----------
    .. [1] S. Winitzki, "Uniform approximations for transcendental functions", Lect. Notes Comput.
       Sci. 2667 (2003) 780. Cited from memory.
    .. [2] F. N. Fritsch, R. E. Shafer and W. P. Crowley, "Algorithm 443: Solution of the
       transcendental equation w e^w = x", Commun. ACM 16 (1973) 123. Cited from memory.

    Examples
    --------
    >>> wright_omega(np.array([1.0, 1.0 + np.e])).round(9)  # 1 + ln 1, and e + ln e
    array([1.        , 2.71828183])
    """
    x = np.maximum(x, _LEAST_X)
    grown = softplus(x)
    log = np.log1p(grown)
    a, b, c = _GUESS
    w = grown - grown * log / (grown + 2.0 + log * (a + log * (b + log * c)))
    off, one = x - w - np.log(w), 1.0 + w
    steep = 2.0 * one * (one + off * (2.0 / 3.0))
    return np.asarray(w * (1.0 + off / one * (steep - off) / (steep - 2.0 * off)), float)


def log_sum(one: Floats, other: Floats) -> Floats:
    """Ln of the sum of two numbers, given by their finite logarithms."""
    return np.asarray(one + softplus(other - one), float)


def softplus(x: Floats) -> Floats:
    """Ln(1 + e^x) of any x: beyond 40 it is x to the last digit."""
    return np.asarray(np.maximum(np.log1p(np.exp(np.minimum(x, 40.0))), x), float)


def log_fall(t: Floats, b: Floats, d: Floats, x: Floats, w: Floats) -> Floats:
    """Ln of equation 3, with ln w taken as x - w so that nothing underflows."""
    return np.asarray(np.log(b) - d * t + (x - w) - np.log1p(w), float)


def floats(*values: ArrayLike) -> list[Floats]:
    """Each of the values as an array of floats."""
    return [np.asarray(value, float) for value in values]
