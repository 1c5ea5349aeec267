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
from ..ferment.fit import outlier_chance
from ..ferment.likelihood import expected_points
from ..ferment.priors import GRAVITY_FREEDOM, READING_SD_POINTS
from ..physics.airlock import Air, weather_gas
from ..physics.constants import ATM_HPA
from ..text import format_day, format_rate, format_seconds
from .case import Reason

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from ..diary.visit import Visit
    from ..ferment.fit import Fit

__all__ = ["findings", "reading_surprise"]

Floats = NDArray[np.float64]

_SURELY_SLIP = 0.9
_SURPRISE = 0.03  # predictive tail probability, both sides
_RISE_POINTS = 2.0  # more than two readings of one wine by one hand differ
_WEATHER_SHARE = 0.5  # of what is odd in a count, explained by the air
_ODD = 0.2  # predictive tail probability, both sides, of a count worth a word
_WEATHER_HOURS = 60.0  # between the two visits that it lies between
_HEADSPACE_SHARE = 0.07  # of the wine: some 4 cm in the neck of a jar; common practice, no source
_ABV_PCT = 12.0  # of the wine that lets go of gas; a weaker one holds 8 % more
_ROOM_C = 18.0
_FEWEST_BUBBLES = 5.0  # counted or expected: a bubble or two may be gas, but no other jar
_FRESH_DAYS = 21.0  # a slip longer ago is old news


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
    return (*_weather(fit, visits), *_slipped_counts(fit), *_slipped_readings(fit))


def reading_surprise(fit: Fit) -> Floats:
    """Chance of a reading at least so far off, either way, for each in the tail; shape (k,)."""
    c = fit.curve
    off = (
        fit.evidence.reading_points - expected_points(c, _felt(fit), fit.evidence)
    ) / READING_SD_POINTS
    below = fit.draws.weights @ stdtr(GRAVITY_FREEDOM, off)
    return np.asarray(2.0 * np.minimum(below, 1.0 - below), float)


def _felt(fit: Fit) -> Floats:
    return thermal_days(fit.tail.days, fit.tail.temp_offset_10c, fit.curve.q10)


def _slipped_counts(fit: Fit) -> Iterator[Reason]:
    """Counts that are most likely slips, the last of them."""
    tail = fit.tail
    recent = tail.days >= tail.days[-1] - _FRESH_DAYS
    odd = np.flatnonzero((outlier_chance(fit) > _SURELY_SLIP) & recent & (tail.trust == 1.0))
    if not len(odd):
        return  # nearly always, and the curves of all draws are dear
    per_min = fit.draws.weights @ np.exp(fit.curve.log_per_min(_felt(fit)))
    many = np.maximum(tail.bubbles, per_min * tail.seconds / 60.0) >= _FEWEST_BUBBLES
    odd = odd[many[odd]]
    # two in a row are no slip but a change that the curve cannot follow
    if len(odd) and not np.any(np.diff(odd) == 1):
        i = int(odd[-1])
        count = f"{tail.bubbles[i]:.0f} in {format_seconds(float(tail.seconds[i]))}"
        day = format_day(tail.moment(float(tail.days[i])))
        text = (
            f"The count of {day}, {count}, fits no other evening: another jar, or a digit too "
            "many? Strike it if so; it hardly weighs as it is."
        )
        yield Reason("slip", text)


def _slipped_readings(fit: Fit) -> Iterator[Reason]:
    """A reading far off, where others agree with the bubbles and the gravity rose to it or after.

    Readings that only fall are as gravity goes: there the airlock may be what misleads, and to
    strike the reading would hide a leak or sugar left.
    """
    odd = np.flatnonzero(reading_surprise(fit) < _SURPRISE)
    rises = np.diff(fit.evidence.reading_points) > _RISE_POINTS
    if len(odd) == 1 and np.any(rises[max(int(odd[0]) - 1, 0) : int(odd[0]) + 1]):
        i = int(odd[0])
        sg = 1.0 + fit.evidence.reading_points[i] / 1000.0
        day = format_day(fit.tail.moment(float(fit.evidence.reading_days[i])))
        text = (
            f"The gravity of {day}, {sg:.3f}, fits neither the bubbles nor the other readings: "
            "misread? Strike it if so."
        )
        yield Reason("slip", text)


def _weather(fit: Fit, visits: Sequence[Visit]) -> Iterator[Reason]:
    """The last count, where what is odd in it is what the air would do."""
    told, tail = [v for v in visits if v.bubbles is not None][-2:], fit.tail
    made = _weather_per_min(fit, *told) if len(told) == 2 and tail.trust[-1] == 1.0 else 0.0
    if made == 0.0:
        return
    c = fit.curve
    log_expected = c.log_per_min(_felt(fit)[:, -1:]) + tail.temp_offset_10c[-1] * np.log(c.q10)
    expected = np.exp(log_expected[:, 0])
    odd = 60.0 * float(tail.bubbles[-1] / tail.seconds[-1]) - float(fit.draws.weights @ expected)
    mean, size = expected * tail.seconds[-1] / 60.0, c.overdispersion[:, 0] ** -2.0
    n, p = float(tail.bubbles[-1]), size / (size + mean)
    no_more = float(fit.draws.weights @ betainc(size, n + 1.0, p))
    fewer = float(fit.draws.weights @ betainc(size, n, p)) if n > 0.0 else 0.0
    if 2.0 * min(no_more, 1.0 - fewer) < _ODD and made / odd > _WEATHER_SHARE:
        way = "more" if odd > 0.0 else "fewer"
        text = (
            f"The last count is {format_rate(abs(odd))} {way} than its curve, and the air since "
            "the one before explains that much: count again on a steady evening."
        )
        yield Reason("weather", text)


def _weather_per_min(fit: Fit, before: Visit, after: Visit) -> float:
    """Bubbles a minute that the air alone drives out between two visits; 0 where unknown."""
    litres, bubble = fit.evidence.litres, fit.evidence.bubble_ml
    hours = (after.when - before.when).total_seconds() / 3600.0
    if litres is None or bubble is None or not 1.0 <= hours <= _WEATHER_HOURS:
        return 0.0
    temps, pressures = (before.temp_c, after.temp_c), (before.pressure_hpa, after.pressure_hpa)
    usual = fit.tail.usual_c if fit.tail.usual_c is not None else _ROOM_C
    temp_c = [usual if None in temps else float(t or 0.0) for t in temps]
    pressure_hpa = [ATM_HPA if None in pressures else float(p or 0.0) for p in pressures]
    if not all(0.0 <= t <= 40.0 for t in temp_c):
        return 0.0
    first, then = (Air(temp_c=t, pressure_hpa=p) for t, p in zip(temp_c, pressure_hpa, strict=True))
    gas = weather_gas(
        first, then, litres=litres, headspace_litres=_HEADSPACE_SHARE * litres, abv_pct=_ABV_PCT
    )
    return gas.total_ml / bubble.ml / (60.0 * hours)
