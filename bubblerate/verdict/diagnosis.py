"""What the fit itself finds odd: slips, and what is only weather.

All of it is posterior prediction: how likely is what was written down, if the fitted curve, with
its own doubt, is true. Times in days, rates in bubbles a minute.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..ferment.checks import (
    expected_per_min,
    last_count_surprise,
    reading_surprise,
    weather_per_min,
)
from ..physics.scales import sg_at
from ..text import format_day, format_rate, format_seconds
from .case import Reason

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from ..diary.visit import Visit
    from ..ferment.fit import Fit

__all__ = ["findings"]

_SURELY_SLIP = 0.9
_SURPRISE = 0.03  # predictive tail probability, both sides
_RISE_POINTS = 2.0  # more than two readings of one wine by one hand differ
_WEATHER_SHARE = 0.5  # of what is odd in a count, explained by the air
_ODD = 0.2  # predictive tail probability, both sides, of a count worth a word
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


def _slipped_counts(fit: Fit) -> Iterator[Reason]:
    """Counts that are most likely slips, the last of them."""
    tail = fit.tail
    recent = tail.days >= tail.days[-1] - _FRESH_DAYS
    odd = np.flatnonzero((fit.outlier_chance > _SURELY_SLIP) & recent & (tail.trust == 1.0))
    if not len(odd):
        return  # nearly always, and the curves of all draws are dear
    per_min = expected_per_min(fit)
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
        sg = sg_at(float(fit.evidence.reading_points[i]))
        day = format_day(fit.tail.moment(float(fit.evidence.reading_days[i])))
        text = (
            f"The gravity of {day}, {sg:.3f}, fits neither the bubbles nor the other readings: "
            "misread? Strike it if so."
        )
        yield Reason("slip", text)


def _weather(fit: Fit, visits: Sequence[Visit]) -> Iterator[Reason]:
    """The last count, where what is odd in it is what the air would do."""
    told = [v for v in visits if v.bubbles is not None][-2:]
    made = weather_per_min(fit, *told) if len(told) == 2 and fit.tail.trust[-1] == 1.0 else 0.0
    if made == 0.0:
        return
    odd, chance = last_count_surprise(fit)
    if chance < _ODD and made / odd > _WEATHER_SHARE:
        way = "more" if odd > 0.0 else "fewer"
        text = (
            f"The last count is {format_rate(abs(odd))} {way} than its curve, and the air since "
            "the one before explains that much: count again on a steady evening."
        )
        yield Reason("weather", text)
