"""Finds counts and readings that look like mistakes, and counts that only the weather changed.

All by posterior prediction: how likely each entry is if the fitted curve, with its uncertainty, is
true. Times are in days, rates in bubbles a minute.
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
from . import sentences
from .limits import (
    MISREAD_CHANCE,
    MISREAD_RISE_POINTS,
    ODD_CHANCE,
    OUTLIER_BUBBLES,
    OUTLIER_CHANCE,
    OUTLIER_FRESH_DAYS,
    WEATHER_SHARE,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from ..diary.visit import Visit
    from ..ferment.fit import Fit
    from .reasons import Reason

__all__ = ["findings"]


def findings(fit: Fit, visits: Sequence[Visit]) -> tuple[Reason, ...]:
    """Find what is odd, each with a test that a person can make.

    Parameters
    ----------
    fit : Fit
    visits : sequence of Visit
        Live rows that its tail was found in, oldest first.

    Returns
    -------
    tuple of Reason
        Codes ``weather`` and ``slip``; empty if nothing is odd.
    """
    return (*_weather(fit, visits), *_outlying_counts(fit), *_outlying_readings(fit))


def _outlying_counts(fit: Fit) -> Iterator[Reason]:
    """The last of the counts that are most likely outliers."""
    tail = fit.tail
    recent = tail.days >= tail.days[-1] - OUTLIER_FRESH_DAYS
    odd = np.flatnonzero((fit.outlier_chance > OUTLIER_CHANCE) & recent & (tail.trust == 1.0))
    if not len(odd):
        return  # nearly always, and the curves of all draws are slow to work out
    per_min = expected_per_min(fit)
    many = np.maximum(tail.bubbles, per_min * tail.seconds / 60.0) >= OUTLIER_BUBBLES
    odd = odd[many[odd]]
    # two in a row are no mistake but a change that the curve cannot follow
    if len(odd) and not np.any(np.diff(odd) == 1):
        i = int(odd[-1])
        yield sentences.COUNT_OUTLIER.of(
            day=format_day(tail.moment(float(tail.days[i]))),
            count=f"{tail.bubbles[i]:.0f} in {format_seconds(float(tail.seconds[i]))}",
        )


def _outlying_readings(fit: Fit) -> Iterator[Reason]:
    """A reading far off, if others agree with the bubbles and the gravity rose to it or after it.

    Readings that only fall are normal: there the airlock may mislead, and to strike the reading
    would hide a leak or sugar left.
    """
    odd = np.flatnonzero(reading_surprise(fit) < MISREAD_CHANCE)
    rises = np.diff(fit.evidence.reading_points) > MISREAD_RISE_POINTS
    if len(odd) == 1 and np.any(rises[max(int(odd[0]) - 1, 0) : int(odd[0]) + 1]):
        i = int(odd[0])
        yield sentences.READING_OUTLIER.of(
            day=format_day(fit.tail.moment(float(fit.evidence.reading_days[i]))),
            sg=sg_at(float(fit.evidence.reading_points[i])),
        )


def _weather(fit: Fit, visits: Sequence[Visit]) -> Iterator[Reason]:
    """The last count, if the air explains what is odd in it."""
    counted = [v for v in visits if v.bubbles is not None][-2:]
    steady = len(counted) == 2 and fit.tail.trust[-1] == 1.0
    made = weather_per_min(fit, *counted) if steady else 0.0
    if made == 0.0:
        return
    odd, chance = last_count_surprise(fit)
    if chance < ODD_CHANCE and made / odd > WEATHER_SHARE:
        way = "more" if odd > 0.0 else "fewer"
        yield sentences.WEATHER.of(rate=format_rate(abs(odd)), way=way)
