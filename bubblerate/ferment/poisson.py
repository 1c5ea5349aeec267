"""Exact lower and upper limits on a rate, from ``n`` bubbles counted in some minutes (Poisson).

Times are in minutes, rates in bubbles per minute.
"""

from __future__ import annotations

from scipy.special import gammaincinv

__all__ = ["at_least_per_min", "at_most_per_min"]


def at_least_per_min(bubbles: float, minutes: float, *, sure: float = 0.90) -> float:
    r"""Lower limit of the true rate, as sure as asked for.

    Parameters
    ----------
    bubbles : float
        Counted in all.
    minutes : float
        Counted for, above 0 [min].
    sure : float
        Probability that the true rate is no lower, in (0, 1).

    Returns
    -------
    float
        [bubbles/min]; 0 if nothing was counted.

    Raises
    ------
    ValueError
        If `minutes` is not above 0, `bubbles` is below 0 or `sure` is not within (0, 1).

    Notes
    -----
    With :math:`P^{-1}` the inverse regularised incomplete gamma function,
    :math:`T\lambda = P^{-1}(n, 1 - p)` [1]_, the same as half the chi-square quantile of 2n degrees
    of freedom. It is exact even for one bubble, where a normal approximation is useless.

    References
    ----------
    .. [1] F. Garwood, "Fiducial limits for the Poisson distribution", Biometrika 28 (1936) 437.

    Examples
    --------
    >>> round(at_least_per_min(1, 5 / 60), 2)  # one bubble in 5 s
    1.26
    """
    _refuse(bubbles, minutes, sure)
    return float(gammaincinv(bubbles, 1.0 - sure)) / minutes if bubbles > 0 else 0.0


def at_most_per_min(bubbles: float, minutes: float, *, sure: float = 0.90) -> float:
    r"""Upper limit of the true rate, as sure as asked for.

    Parameters
    ----------
    bubbles : float
        Counted in all.
    minutes : float
        Counted for, above 0 [min].
    sure : float
        Probability that the true rate is no higher, in (0, 1).

    Returns
    -------
    float
        [bubbles/min]

    Raises
    ------
    ValueError
        If `minutes` is not above 0, `bubbles` is below 0 or `sure` is not within (0, 1).

    Notes
    -----
    :math:`T\lambda = P^{-1}(n + 1, p)`, from the same source as `at_least_per_min`.

    Examples
    --------
    >>> round(at_most_per_min(0, 5.0), 2)  # silence for five minutes
    0.46
    """
    _refuse(bubbles, minutes, sure)
    return float(gammaincinv(bubbles + 1.0, sure)) / minutes


def _refuse(bubbles: float, minutes: float, sure: float) -> None:
    if not (bubbles >= 0.0 and minutes > 0.0):  # written this way to refuse nan too
        raise ValueError(f"no such count: {bubbles} bubbles in {minutes} minutes")
    if not 0.0 < sure < 1.0:
        raise ValueError(f"sure must lie strictly between 0 and 1, got {sure}")
