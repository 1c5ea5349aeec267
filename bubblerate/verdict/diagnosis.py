"""What the fit itself finds odd: slips, and what is only weather.

All of it is posterior prediction: how likely is what was written down, if the fitted curve, with
its own doubt, is true. Times in days, rates in bubbles a minute.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc, stdtr

from ..ferment.curve import thermal_days
from ..ferment.fit import slip_chance
from ..ferment.gravity import READING_SD_POINTS
from ..ferment.likelihood import GRAVITY_FREEDOM, expected_points
from ..physics.airlock import Air, weather_gas
from ..physics.gas import ATM_HPA
from ..text import format_day, format_rate, format_seconds
from . import sentences
from .limits import (
    HEADSPACE_SHARE,
    MISREAD_CHANCE,
    MISREAD_RISE_POINTS,
    ODD_CHANCE,
    OUTLIER_BUBBLES,
    OUTLIER_CHANCE,
    OUTLIER_FRESH_DAYS,
    ROOM_C,
    WEATHER_ABV_PCT,
    WEATHER_HOURS,
    WEATHER_SHARE,
    WEATHER_TEMPS_C,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from ..diary.visit import Visit
    from ..ferment.fit import Fit
    from .reasons import Reason

__all__ = ["findings", "reading_surprise"]

Floats = NDArray[np.float64]


def findings(fit: Fit, visits: Sequence[Visit]) -> tuple[Reason, ...]:
    """What is odd, each with the test that a person can make.

    Parameters
    ----------
    fit : Fit
    visits : sequence of Visit
        Live rows that its tail is of, oldest first.

    Returns
    -------
    tuple of Reason
        Codes ``weather`` and ``slip``; empty where nothing is odd.
    """
    return (*_weather(fit, visits), *_outlying_counts(fit), *_outlying_readings(fit))


def reading_surprise(fit: Fit) -> Floats:
    """Chance of a reading at least so far off, either way, for each in the tail; shape (k,)."""
    c = fit.curve
    expected = expected_points(c, _thermal_days(fit), fit.known)
    off = (fit.known.reading_points - expected) / READING_SD_POINTS
    below = fit.draws.weights @ stdtr(GRAVITY_FREEDOM, off)
    return np.asarray(2.0 * np.minimum(below, 1.0 - below), float)


def _thermal_days(fit: Fit) -> Floats:
    return thermal_days(fit.tail.days, fit.tail.warmth, fit.curve.q10)


def _outlying_counts(fit: Fit) -> Iterator[Reason]:
    """Counts that are most likely slips, the last of them."""
    tail = fit.tail
    recent = tail.days >= tail.days[-1] - OUTLIER_FRESH_DAYS
    odd = np.flatnonzero((slip_chance(fit) > OUTLIER_CHANCE) & recent & (tail.trust == 1.0))
    if not len(odd):
        return  # nearly always, and the curves of all draws are dear
    per_min = fit.draws.weights @ np.exp(fit.curve.log_per_min(_thermal_days(fit)))
    many = np.maximum(tail.bubbles, per_min * tail.seconds / 60.0) >= OUTLIER_BUBBLES
    odd = odd[many[odd]]
    # two in a row are no slip but a change that the curve cannot follow
    if len(odd) and not np.any(np.diff(odd) == 1):
        i = int(odd[-1])
        yield sentences.COUNT_OUTLIER.of(
            day=format_day(tail.moment(float(tail.days[i]))),
            count=f"{tail.bubbles[i]:.0f} in {format_seconds(float(tail.seconds[i]))}",
        )


def _outlying_readings(fit: Fit) -> Iterator[Reason]:
    """A reading far off, where others agree with the bubbles and the gravity rose to it or after.

    Readings that only fall are as gravity goes: there the airlock may be what misleads, and to
    strike the reading would hide a leak or sugar left.
    """
    odd = np.flatnonzero(reading_surprise(fit) < MISREAD_CHANCE)
    rises = np.diff(fit.known.reading_points) > MISREAD_RISE_POINTS
    if len(odd) == 1 and np.any(rises[max(int(odd[0]) - 1, 0) : int(odd[0]) + 1]):
        i = int(odd[0])
        yield sentences.READING_OUTLIER.of(
            day=format_day(fit.tail.moment(float(fit.known.reading_days[i]))),
            sg=1.0 + fit.known.reading_points[i] / 1000.0,
        )


def _weather(fit: Fit, visits: Sequence[Visit]) -> Iterator[Reason]:
    """The last count, where what is odd in it is what the air would do."""
    counted = [v for v in visits if v.bubbles is not None][-2:]
    if len(counted) < 2 or fit.tail.trust[-1] != 1.0:
        return
    made = _weather_per_min(fit, *counted)
    if made == 0.0:
        return
    expected = _expected_per_min(fit)
    per_min = 60.0 * float(fit.tail.bubbles[-1] / fit.tail.seconds[-1])
    odd = per_min - float(fit.draws.weights @ expected)
    if _chance_so_far_off(fit, expected) < ODD_CHANCE and made / odd > WEATHER_SHARE:
        way = "more" if odd > 0.0 else "fewer"
        yield sentences.WEATHER.of(rate=format_rate(abs(odd)), way=way)


def _expected_per_min(fit: Fit) -> Floats:
    """Rate at the last count by each draw, its warmth included; shape (m,) [bubbles/min]."""
    c = fit.curve
    warmer = fit.tail.warmth[-1] * np.log(c.q10)
    log_per_min = c.log_per_min(_thermal_days(fit)[:, -1:]) + warmer
    return np.asarray(np.exp(log_per_min[:, 0]), float)


def _chance_so_far_off(fit: Fit, expected: Floats) -> float:
    """Chance of a last count at least so far off, either way: negative binomial over the draws."""
    tail = fit.tail
    mean, size = expected * tail.seconds[-1] / 60.0, fit.curve.scatter[:, 0] ** -2.0
    n, p = float(tail.bubbles[-1]), size / (size + mean)
    no_more = float(fit.draws.weights @ betainc(size, n + 1.0, p))
    fewer = float(fit.draws.weights @ betainc(size, n, p)) if n > 0.0 else 0.0
    return 2.0 * min(no_more, 1.0 - fewer)


def _weather_per_min(fit: Fit, before: Visit, after: Visit) -> float:
    """Bubbles a minute that the air alone drives out between two visits; 0 where unknown."""
    litres, bubble = fit.known.litres, fit.known.bubble_ml
    hours = (after.when - before.when).total_seconds() / 3600.0
    if litres is None or bubble is None or not WEATHER_HOURS[0] <= hours <= WEATHER_HOURS[1]:
        return 0.0
    usual_c = fit.tail.usual_c if fit.tail.usual_c is not None else ROOM_C
    first, then = _airs(before, after, usual_c=usual_c)
    if not all(WEATHER_TEMPS_C[0] <= t <= WEATHER_TEMPS_C[1] for t in (first.temp_c, then.temp_c)):
        return 0.0
    headspace_litres = HEADSPACE_SHARE * litres
    gas = weather_gas(
        first, then, litres=litres, headspace_litres=headspace_litres, abv_pct=WEATHER_ABV_PCT
    )
    return gas.total_ml / bubble.ml / (60.0 * hours)


def _airs(before: Visit, after: Visit, *, usual_c: float) -> tuple[Air, Air]:
    """The air of two visits; what was not noted on both is taken as usual."""
    temps, pressures = (before.temp_c, after.temp_c), (before.pressure_hpa, after.pressure_hpa)
    temp_c = [usual_c if None in temps else float(t or 0.0) for t in temps]
    pressure_hpa = [ATM_HPA if None in pressures else float(p or 0.0) for p in pressures]
    first, then = (Air(temp_c=t, pressure_hpa=p) for t, p in zip(temp_c, pressure_hpa, strict=True))
    return first, then
