"""Many decay curves at once, in the parameters the fit uses; and thermal time, as yeast feels it.

A point in parameter space is one row of `theta`, shape (m, p); each column has a name. All are
natural logarithms, except `end`, in points above 1.000, and `share`, a log odds. So every real
vector is a possible ferment. What counts tell best, the rate and the fall of both sugars at the
start, are columns of their own, so that the density is as round as it can be. Times are days since
the start of the tail, on the last axis.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .decay import log_gas_per_day, points_left, points_never

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["Curve", "as_curve", "thermal_days", "thermal_days_at"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Curve:
    """Parameters of m decay curves in natural units, each of shape (m, 1); q10 may be (1, 1)."""

    rate: Floats  # bubbles/min at the start, at the usual temperature, today's bubble size
    fall: Floats  # fall of the gravity at the start
    sugar: Floats
    half_saturation: Floats
    inactivation_per_day: Floats
    second: Floats
    pace: Floats
    overdispersion: Floats
    q10: Floats
    finish: Floats  # points above 1.000
    log_per_point: Floats  # ln of bubbles/min from a fall of one point a day, today's bubble
    log_bubbles: Floats  # (m, j), ln of bubbles for the same gas in each earlier stretch

    @property
    def ferment(self) -> dict[str, Floats]:
        """The first sugar and the yeast, as arguments for the functions of `decay`."""
        return {
            "max_uptake": self.fall * (1.0 + self.half_saturation / self.sugar),
            "sugar": self.sugar,
            "half_saturation": self.half_saturation,
            "inactivation_per_day": self.inactivation_per_day,
        }

    @property
    def gas(self) -> dict[str, Floats]:
        """The same, with the second sugar."""
        return {**self.ferment, "second": self.second, "pace": self.pace}

    def points_left(self, days: ArrayLike) -> Floats:
        """Sugar left at thermal `days` [points], first and second together; shape (m, n)."""
        second = self.second * np.exp(-self.pace * np.asarray(days, float))
        return np.asarray(points_left(days, **self.ferment) + second, float)

    @property
    def points_never(self) -> Floats:
        """Sugar that dying yeast leaves for good [points]."""
        return points_never(**self.ferment)

    def log_per_min(self, days: ArrayLike) -> Floats:
        """Ln of the rate [bubbles/min] at thermal `days`, usual temperature, today's bubble."""
        return np.asarray(self.log_per_point + log_gas_per_day(days, **self.gas), float)


def as_curve(theta: Floats, names: Sequence[str]) -> Curve:
    """Turn rows of parameters into named columns in natural units.

    Parameters
    ----------
    theta : ndarray, shape (m, p)
    names : sequence of str
        Names of the p columns: those of `Curve`, with `start` for the fall of both sugars together,
        `lasts` for the days the first would last at its own, `share` for the log odds of the
        second, and `end` for the finish plus what dying yeast leaves. There may be no `q10`, no
        `end`, and no bubbles of earlier stretches, named ``bubbles 0``, ``bubbles 1`` and so on.

    Returns
    -------
    Curve
        Without their columns, q10 is 1 and the finish is 1.000.
    """
    columns = dict(zip(names, np.ascontiguousarray(theta.T)[:, :, None], strict=True))
    end = columns.pop("end", None)
    stretches = [columns.pop(name) for name in names if name.startswith("bubbles ")]
    start, odds = columns.pop("start"), columns.pop("share")
    columns["fall"] = start - np.logaddexp(0.0, odds)
    columns["sugar"] = columns["fall"] + columns.pop("lasts")
    columns["second"] = columns["fall"] + odds - columns["pace"]
    natural = {name: np.exp(column) for name, column in columns.items()}
    natural.setdefault("q10", np.ones((1, 1)))
    bubbles = np.concatenate([np.empty((len(theta), 0)), *stretches], axis=-1)
    per_point = columns["rate"] - start
    curve = Curve(
        **natural,
        finish=np.zeros((len(theta), 1)),
        log_per_point=per_point,
        log_bubbles=bubbles,
    )
    return curve if end is None else replace(curve, finish=end - curve.points_never)


def thermal_days(days: Floats, temp_offset_10c: Floats, q10: Floats) -> Floats:
    """Thermal time: the days at the usual temperature in which the yeast does as much.

    Parameters
    ----------
    days : ndarray, shape (n,)
        Calendar time [days], rising from the start of the tail.
    temp_offset_10c : ndarray, shape (n,)
        (temperature - usual) / 10 C at these times; in between, the speed changes in a straight
        line.
    q10 : ndarray, shape (m, 1)
        Factor by which 10 C speeds the yeast up; a single one if no warmth is known.

    Returns
    -------
    ndarray, shape (m, n)
        Thermal time [days], 0 at the first; m as in `q10`.

    Notes
    -----
    The speed follows Q10, :math:`Q_{10}^{(T - T_{usual})/10}` (common practice, no source), summed
    by the trapezoidal rule.
    """
    speed = np.exp(np.log(q10) * temp_offset_10c)  # (m, n)
    steps = 0.5 * (speed[:, 1:] + speed[:, :-1]) * np.diff(days)
    lived = np.zeros(speed.shape)
    np.cumsum(steps, axis=-1, out=lived[:, 1:])
    return lived


def thermal_days_at(days: Floats, thermal_at_counts: Floats, count_days: Floats) -> Floats:
    """Thermal time at any calendar days, given that at the counts.

    Parameters
    ----------
    days : ndarray, shape (k,)
        Calendar time since the start of the tail, at least 0 [days].
    thermal_at_counts : ndarray, shape (m, n)
        From `thermal_days`.
    count_days : ndarray, shape (n,)
        When they were made.

    Returns
    -------
    ndarray, shape (m, k)
        Interpolated between counts; after the last one at the usual temperature.
    """
    if len(count_days) == 1:
        return np.asarray(thermal_at_counts + days - count_days[0], float)
    i = np.clip(np.searchsorted(count_days, days, side="right"), 1, len(count_days) - 1)
    gap = count_days[i] - count_days[i - 1]
    within = np.minimum(days, count_days[-1])
    share = np.where(gap > 0.0, (within - count_days[i - 1]) / np.where(gap > 0.0, gap, 1.0), 1.0)
    before, after = thermal_at_counts[:, i - 1], thermal_at_counts[:, i]
    thermal = (1.0 - share) * before + share * after
    return np.asarray(thermal + np.maximum(days - count_days[-1], 0.0), float)
