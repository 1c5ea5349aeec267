"""Draws the counts that a fit expects on coming evenings: posterior prediction."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from .curve import thermal_days_at
from .draws_table import equal_rows

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from .fit import Fit

__all__ = ["predict_counts"]


def predict_counts(
    fit: Fit, when: Sequence[datetime], *, seconds: float = 60.0, draws: int = 1000, seed: int = 1
) -> pd.DataFrame:
    """Draw what might be counted on some evenings, if the fitted curve is true.

    Parameters
    ----------
    fit : Fit
        From `Judgement.fit`.
    when : sequence of datetime, length k
        With UTC offset, none before the first count of the tail.
    seconds : float
        Length of each count [s], above 0.
    draws : int
        How many, at least 1.
    seed : int
        The same seed gives the same counts.

    Returns
    -------
    DataFrame, `draws` rows and k columns
        Bubbles at the usual temperature, int64, one column per moment; a row is one curve.

    Raises
    ------
    ValueError
        If a moment lies before the tail or has no UTC offset, or a number is out of range.

    Notes
    -----
    First a curve is drawn by its weight, then each count: negative binomial around the curve, with
    the scatter of that draw. Neighbouring evenings share only their curve.

    Examples
    --------
    >>> from datetime import timedelta
    >>> import bubblerate
    >>> judged = bubblerate.judge(bubblerate.read("examples/quince.csv"))
    >>> later = [judged.verdict.asked_at + timedelta(days=n) for n in (1, 8)]
    >>> found = bubblerate.predict_counts(judged.fit, later, seconds=300, draws=500)
    >>> found.shape, bool(found.iloc[:, 0].mean() >= found.iloc[:, 1].mean())
    ((500, 2), True)
    """
    if not 0.0 < seconds < np.inf:
        raise ValueError(f"seconds is {seconds}; a count takes more than 0 s")
    if any(moment.utcoffset() is None for moment in when):
        raise ValueError("a moment needs its UTC offset")
    days = np.array([fit.tail.day_of(moment) for moment in when], float)
    if np.any(days < 0.0):
        raise ValueError(f"nothing is known before the first count, {fit.tail.moment(0.0)}")
    rows = equal_rows(fit.draws.weights, draws, seed)
    thermal = thermal_days_at(days, fit.thermal, fit.tail.days)
    mean = np.exp(fit.curve.log_per_min(thermal))[rows] * seconds / 60.0
    shape = fit.curve.overdispersion[rows] ** -2.0
    rng = np.random.default_rng([seed, 1])
    counts = rng.poisson(mean * rng.gamma(shape, 1.0 / shape, size=mean.shape))
    return pd.DataFrame(counts, columns=pd.Index([*when], name="when"))
