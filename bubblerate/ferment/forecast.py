"""Forecasts when the bubbling falls below a threshold, and how far gravity still has to fall.

It has two sources: the draws of a `Fit` of the tail, and whole ferments of the atlas that are like
the jar. The more curves of the atlas are like it, the more the whole ferments weigh: at most two
thirds with a gravity reading since the peak, and a quarter without one. Without a fit they answer
alone. No clock is read, only the moment asked about. The future is taken to be at the vessel's
usual temperature.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..physics.constants import MINUTES_PER_DAY
from ..physics.scales import sg_at
from .chances import Crossing, Span, span_of
from .curve import thermal_days_at
from .priors import ML_GAS_PER_POINT_LITRE

if TYPE_CHECKING:
    from datetime import datetime

    from .fit import Fit
    from .whole import Whole

__all__ = ["Basis", "Forecast", "forecast", "pool_weights", "whole_share"]

Floats = NDArray[np.float64]

# The most that whole ferments can weigh: bubbles alone do not tell them apart well. Our choice, by
# the scores of tests/bench/ferment/calibration.py and open_set.py.
_MOST_READ, _MOST_UNREAD = 2.0 / 3.0, 1.0 / 4.0
_FEW_CURVES = 4.0  # with this many curves like the jar they weigh half of that
_CLOCK_DAYS = 1e-9  # rounding error of sums of dates


class Basis(StrEnum):
    """What a forecast is based on."""

    TAIL = "tail"
    BOTH = "tail and whole ferments"
    WHOLE = "whole ferments"


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """The forecast from counts and gravity, as of one moment.

    Attributes
    ----------
    at : datetime
        The moment asked about.
    basis : Basis
        What it is based on; with whole ferments alone it is a range, not a curve of this jar.
    per_min : Span
        Rate at that moment, at the usual temperature [bubbles/min].
    crossing : Crossing
        When it falls below the threshold.
    threshold_points_per_day : Span or None
        What the threshold means as a fall of gravity [points/day]; None without litres.
    points_to_fall : Span or None
        How far the gravity still has to fall [points]; None if neither litres nor gravity is known.
    finish_sg : Span or None
        Gravity at which it will end [SG]; None if no gravity was used.
    bubble_ml : Span or None
        Gas that leaves for each bubble counted [mL]; None without litres, gravity and a fit.
    distrust : str
        Why the spread should not be trusted; empty if it can be.
    """

    at: datetime
    basis: Basis
    per_min: Span
    crossing: Crossing
    threshold_points_per_day: Span | None
    points_to_fall: Span | None
    finish_sg: Span | None
    bubble_ml: Span | None
    distrust: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Draws:
    """Weighted draws of the future, each of shape (m,); the weights add up to 1."""

    weights: Floats
    ahead: Floats  # days to the crossing
    per_min: Floats
    per_min_a_point: Floats  # bubbles a minute from a fall of one point a day
    points_to_fall: Floats
    finish_points: Floats


def forecast(
    fit: Fit | None, whole: Whole | None = None, *, at: datetime, threshold_per_min: float
) -> Forecast | None:
    """Forecast when the rate falls below a threshold, and what goes with it.

    Parameters
    ----------
    fit : Fit or None
        Fit of counts made no later than `at`.
    whole : Whole or None
        The ferment since pitching, if it can be compared with the atlas.
    at : datetime
        The moment asked about, aware.
    threshold_per_min : float
        Rate to fall below [bubbles/min], above 0.

    Returns
    -------
    Forecast or None
        None if neither source can tell.

    Raises
    ------
    ValueError
        If the threshold is not above 0, or the last count is later than `at`.

    Notes
    -----
    Each draw of the fit has its own crossing (`bubblerate.ferment.crossing`), in thermal days,
    turned into calendar days; so does each whole ferment. The two sets of draws are pooled
    linearly: T. Gneiting and R. Ranjan, Electron. J. Stat. 7 (2013) 1747 (from memory). A product
    of the two was too sure. A third source, one curve sampled from pitching on, gained 1.5 % of the
    CRPS and took twice the time.
    """
    if not threshold_per_min > 0.0:
        raise ValueError(f"threshold_per_min must be above 0, got {threshold_per_min}")
    parts = [] if fit is None else [_of_fit(fit, at, threshold_per_min)]
    parts += [] if whole is None else [_of_whole(whole, at, threshold_per_min)]
    if not parts:
        return None
    draws = _pooled(parts, whole_share(fit, whole))
    litres = fit.evidence.litres if fit is not None else None
    gravity = _read(fit)
    if whole is not None and fit is None:
        litres, gravity = whole.litres, whole.gravity_known

    def span(values: Floats, told: object = True) -> Span | None:
        return span_of(values, draws.weights) if told else None

    return Forecast(
        at=at,
        basis=Basis.WHOLE if fit is None else Basis.TAIL if whole is None else Basis.BOTH,
        per_min=span_of(draws.per_min, draws.weights),
        crossing=Crossing.of(
            draws.ahead, draws.weights, at=at, threshold_per_min=threshold_per_min
        ),
        threshold_points_per_day=span(threshold_per_min / draws.per_min_a_point, litres),
        points_to_fall=span(draws.points_to_fall, litres or gravity),
        finish_sg=span(sg_at(draws.finish_points), gravity),
        bubble_ml=None if fit is None else _bubble_ml(fit),
        distrust="" if fit is None else fit.distrust,
    )


def whole_share(fit: Fit | None, whole: Whole | None) -> float:
    """Share of the weight that whole ferments have beside a fit.

    Parameters
    ----------
    fit : Fit or None
    whole : Whole or None

    Returns
    -------
    float
        In [0, 1]. It depends neither on the moment asked about nor on the threshold.
    """
    if whole is None or fit is None:
        return 0.0 if whole is None else 1.0
    curves = whole.likeness.effective_curves
    return (_MOST_READ if _read(fit) else _MOST_UNREAD) * curves / (curves + _FEW_CURVES)


def _read(fit: Fit | None) -> bool:
    """Whether a reading was made since the peak."""
    return fit is not None and len(fit.evidence.reading_days) > 0


def _of_fit(fit: Fit, at: datetime, threshold_per_min: float) -> _Draws:
    """The future by the draws of a fit."""
    tail, curve = fit.tail, fit.curve
    now = tail.day_of(at)
    if now < tail.days[-1] - _CLOCK_DAYS:
        raise ValueError(f"the last count is later than the moment asked about, {at}")
    now = max(now, float(tail.days[-1]))
    curve = fit.curve
    thermal_now = thermal_days_at(np.array([now]), fit.thermal, tail.days)
    per_min_a_point = np.exp(curve.log_per_point)
    days = _calendar_days(fit.crossing_days(threshold_per_min), fit.thermal, tail.days)
    return _Draws(
        weights=fit.draws.weights,
        ahead=days - now,
        per_min=np.exp(curve.log_per_min(thermal_now))[:, 0],
        per_min_a_point=per_min_a_point[:, 0],
        points_to_fall=(curve.points_left(thermal_now) - curve.points_never)[:, 0],
        finish_points=(curve.finish + curve.points_never)[:, 0],
    )


def _of_whole(whole: Whole, at: datetime, threshold_per_min: float) -> _Draws:
    """The future by the whole ferments like it."""
    like, now = whole.likeness, whole.day_of(at)
    return _Draws(
        weights=like.weights,
        ahead=whole.days_ahead(like.crossing_days(threshold_per_min), at),
        per_min=np.exp(like.log_per_min(np.array([now])))[:, 0],
        per_min_a_point=like.per_min_a_point,
        points_to_fall=like.points_to_fall(now),
        finish_points=like.like.finish,
    )


def _pooled(parts: list[_Draws], share: float) -> _Draws:
    """Pool both sets of draws."""
    columns = {
        one.name: np.concatenate([getattr(part, one.name) for part in parts])
        for one in fields(_Draws)
    }
    return _Draws(**columns | {"weights": pool_weights([part.weights for part in parts], share)})


def pool_weights(weights: list[Floats], share: float) -> Floats:
    """Weights of pooled draws: of a fit, of whole ferments, or of both.

    Parameters
    ----------
    weights : list of ndarray
        Each adds up to 1, the fit's first.
    share : float
        Share of the whole ferments.

    Returns
    -------
    ndarray
        Weights of all draws, which add up to 1.
    """
    if len(weights) == 1:
        return weights[0]
    of_fit, of_whole = weights
    return np.concatenate([(1.0 - share) * of_fit, share * of_whole])


def _bubble_ml(fit: Fit) -> Span | None:
    """Gas that leaves per bubble, if readings and litres tell it."""
    if not fit.evidence.tells_bubble:
        return None
    ml = ML_GAS_PER_POINT_LITRE * (fit.evidence.litres or 0.0) / MINUTES_PER_DAY
    return span_of(ml / np.exp(fit.curve.log_per_point[:, 0]), fit.draws.weights)


def _calendar_days(thermal: Floats, thermal_at_counts: Floats, count_days: Floats) -> Floats:
    """Calendar days since the start of the tail when each draw reaches so many thermal days.

    Shapes (m,), (m, n), (n,); interpolated between counts, and running on after the last.
    """
    if len(count_days) == 1:
        return np.asarray(thermal + count_days[0], float)
    i = np.clip(np.sum(thermal_at_counts <= thermal[:, None], axis=-1), 1, len(count_days) - 1)
    rows = np.arange(len(thermal))
    before, after = thermal_at_counts[rows, i - 1], thermal_at_counts[rows, i]
    gap = after - before
    share = (thermal - before) / np.where(gap > 0.0, gap, 1.0)  # counts may share a moment
    within = count_days[i - 1] + share * (count_days[i] - count_days[i - 1])
    beyond = thermal - thermal_at_counts[:, -1]
    return np.asarray(np.where(beyond > 0.0, count_days[-1] + beyond, within), float)
