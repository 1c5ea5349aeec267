"""Checks whether the gravity readings are steady, and whether bubbles and gravity agree.

Gravity is SG corrected for temperature, falls are in points (0.001 SG), bubbles in millilitres.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr, ndtri

from ..physics.scales import fall_points
from .bubble_totals import points_per_ml
from .gravity import (
    Fall,
    Reading,
    Steadiness,
    corrected_readings,
    creep,
    days,
    last_fall,
    steady,
    still_since,
)
from .priors import (
    BUBBLE_ML,
    BUBBLE_ML_SPREAD,
    COUNTING_SD,
    LARGEST_BUBBLE_ML,
    READING_SD_POINTS,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime

    from ..diary.settings import Hydrometer
    from ..diary.visit import Visit
    from .finish import FinishDistribution

__all__ = ["GravityCheck", "check_gravity"]

_SAME_WINE_SG = 0.005  # readings no further apart may all be at the end
_SURPRISE = 0.01  # chance of a fall this far off, if all is well
_NORMAL = ndtri((np.arange(200) + 0.5) / 200)  # stand in for draws of a standard normal
_STORY_DAYS = (1.0, 14.0)  # days that a pair of readings may span and still tell about today


@dataclass(frozen=True, slots=True, kw_only=True)
class GravityCheck:
    """What the readings say, and whether they agree with the bubbles.

    Attributes
    ----------
    readings : tuple of Reading
        All readings since sugar was last added, at least one.
    finish : FinishDistribution
        Where this wine should end.
    said_finish_sg : float or None
        Where its maker says it ends, if that can be believed.
    steady : bool or None
        True: within the tolerance for long enough. False: fallen by more at the last reading. None:
        cannot say yet.
    steady_days : float
        Days spanned by the latest readings that lie within the tolerance of each other.
    steady_since : datetime
        The first of those readings.
    fall : Fall or None
        To the last reading from the one before, or from further back if it creeps; None if there is
        one reading.
    most_fallen_points : float or None
        The largest fall since the last reading that the bubbles could explain; None if they were
        not counted all along.
    leak : bool
        The gravity fell by far more than the bubbles explain.
    gas_only : bool
        The bubbles show a far larger fall than the gravity shows.
    """

    readings: tuple[Reading, ...]
    finish: FinishDistribution
    said_finish_sg: float | None
    steady: bool | None
    steady_days: float
    steady_since: datetime
    fall: Fall | None
    most_fallen_points: float | None
    leak: bool
    gas_only: bool

    @property
    def latest(self) -> Reading:
        """The last reading."""
        return self.readings[-1]

    @property
    def fermented(self) -> float | None:
        """Share of the sugar gone, as the readings show it; None if the start was not read."""
        start = max(reading.sg for reading in self.readings)
        if start - self.latest.sg <= _SAME_WINE_SG:
            return None
        return (start - self.latest.sg) / (start - 1.0) if start > 1.0 else 1.0

    @property
    def finish_sg(self) -> float:
        """Gravity to expect at the end: the maker's value, or else the likeliest."""
        return self.finish.centre_sg if self.said_finish_sg is None else self.said_finish_sg

    @property
    def above_finish_points(self) -> float:
        """How far the last reading is above the expected finish."""
        return fall_points(self.latest.sg, self.finish_sg)


def check_gravity(
    visits: Sequence[Visit],
    *,
    at: datetime,
    hydrometer: Hydrometer,
    litres: float | None,
    finish: FinishDistribution,
    said_finish_sg: float | None,
    steadiness: Steadiness,
) -> GravityCheck | None:
    """Judge the readings by themselves and by the bubbles counted between them.

    Parameters
    ----------
    visits : sequence of Visit
        Live rows no later than `at`, oldest first.
    at : datetime
        The moment asked about.
    hydrometer : Hydrometer
        Its calibration temperature and offset.
    litres : float or None
        Wine in the vessel [L]; without it bubbles and gravity cannot be compared.
    finish : FinishDistribution
        Where this wine should end, with the maker's value.
    said_finish_sg : float or None
        The maker's value, if it can be believed.
    steadiness : Steadiness
        What steady means for the question asked.

    Returns
    -------
    GravityCheck or None
        None if there is no reading.

    Raises
    ------
    ValueError
        If a reading or its temperature is outside the range of `corrected_sg`.

    Notes
    -----
    What steady means depends on the question; the limits of the comparison with bubbles are in
    `bubblerate.ferment.priors` (common practice, no source).
    """
    readings = corrected_readings(visits, hydrometer)
    if not readings:
        return None
    since = still_since(readings, steadiness)
    stories = [] if litres is None else _stories(readings, visits, litres)
    since_then = None if litres is None else points_per_ml(visits, readings[-1].when, at, litres)
    return GravityCheck(
        readings=readings,
        finish=finish,
        said_finish_sg=said_finish_sg,
        steady=steady(readings, steadiness),
        steady_days=days(since, readings[-1].when),
        steady_since=since,
        fall=creep(readings, steadiness) or last_fall(readings),
        most_fallen_points=None if since_then is None else since_then * LARGEST_BUBBLE_ML,
        leak=any(story.leak for story in stories),
        gas_only=bool(stories) and stories[-1].gas_only,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Story:
    """The fall that the bubbles between two readings explain, and the fall that was read."""

    leak: bool
    gas_only: bool


def _stories(readings: Sequence[Reading], visits: Sequence[Visit], litres: float) -> list[_Story]:
    """Compare the longest and the shortest useful pair that end with the last reading."""
    late = [
        r
        for r in readings[:-1]
        if _STORY_DAYS[0] <= days(r.when, readings[-1].when) <= _STORY_DAYS[1]
    ]
    both_ends = [
        next(_told(some, readings[-1], visits, litres), None) for some in (late, late[::-1])
    ]
    return [story for story in both_ends if story is not None]


def _told(
    late: Sequence[Reading], after: Reading, visits: Sequence[Visit], litres: float
) -> Iterator[_Story]:
    """The comparisons that can be made, one by one."""
    for before in late:
        story = _story(before, after, visits, litres)
        if story is not None:
            yield story


def _story(
    before: Reading, after: Reading, visits: Sequence[Visit], litres: float
) -> _Story | None:
    """Compare the fall that was read with those the bubbles predict: a prior predictive check.

    The prior of a bubble's gas includes what leaks from a sound jar. So a fall beyond nearly all it
    predicts means another way out for the gas, or bubbles that no sugar made.
    """
    per_ml = points_per_ml(visits, before.when, after.when, litres)
    if per_ml is None:
        return None
    fall = fall_points(before.sg, after.sg)
    expected = per_ml * BUBBLE_ML * np.exp(np.hypot(BUBBLE_ML_SPREAD, COUNTING_SD) * _NORMAL)
    more = float(np.mean(ndtr((expected - fall) / (np.sqrt(2.0) * READING_SD_POINTS))))
    return _Story(leak=more < _SURPRISE, gas_only=1.0 - more < _SURPRISE)
