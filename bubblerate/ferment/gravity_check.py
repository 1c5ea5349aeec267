"""Do the gravity readings stand still, and do bubbles and gravity tell the same story.

Gravity is SG corrected for temperature, falls are in points (0.001 SG), bubbles in millilitres.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr, ndtri

from .bubble_totals import BUBBLE_ML, BUBBLE_ML_SPREAD, points_per_ml
from .evidence import COUNTING_SD
from .gravity import (
    READING_SD_POINTS,
    Fall,
    Reading,
    Steadiness,
    creep,
    days,
    last_fall,
    readings,
    steady,
    still_since,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime

    from ..diary.settings import Hydrometer
    from ..diary.visit import Visit

__all__ = ["FINISH_SG", "GravityCheck", "gravity_check"]

# Where a ferment of unknown kind is expected to end: between table wine (0.990 to 0.998) and mead
# (0.996 to 1.010). Common practice, no source. A vessel's own `finish` goes before it.
FINISH_SG = 0.998

_SAME_WINE_SG = 0.005  # readings no further apart may all be of the end
_ABSURD_BUBBLE_ML = 3.4  # twice the largest seen
_SURPRISE = 0.01  # chance of a fall so far off, where all is well
_NORMAL = ndtri((np.arange(200) + 0.5) / 200)  # as good as draws of a standard normal
_STORY_DAYS = (1.0, 14.0)  # span of a pair of readings that says something of the present


@dataclass(frozen=True, slots=True, kw_only=True)
class GravityCheck:
    """What the readings say, and how they sit with the bubbles.

    Attributes
    ----------
    readings : tuple of Reading
        All since sugar was last added, at least one.
    finish_sg : float
        Gravity at which this vessel is expected to end.
    finish_known : bool
        Whether the maker has said so; otherwise `finish_sg` is only what is usual.
    steady : bool or None
        True: within the tolerance for long enough; False: fallen by more at the last reading; None:
        cannot say yet.
    steady_days : float
        Days spanned by the latest readings that lie within the tolerance of each other.
    steady_since : datetime
        The first of those readings.
    fall : Fall or None
        To the last reading from the one before, or from further back where it creeps; None where
        there is one reading.
    most_fallen_points : float or None
        The largest fall since the last reading that the bubbles could account for; None where they
        were not counted all along.
    leak : bool
        The gravity fell by far more than the bubbles account for.
    gas_only : bool
        The bubbles speak of a far larger fall than the gravity shows.
    """

    readings: tuple[Reading, ...]
    finish_sg: float
    finish_known: bool
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
        """Share of the sugar gone, as far as readings show it; None where no start was read."""
        start = max(reading.sg for reading in self.readings)
        if start - self.latest.sg <= _SAME_WINE_SG:
            return None
        return (start - self.latest.sg) / (start - 1.0) if start > 1.0 else 1.0

    @property
    def above_finish_points(self) -> float:
        """How far the last reading stands above the expected finish."""
        return (self.latest.sg - self.finish_sg) * 1000.0


def gravity_check(
    visits: Sequence[Visit],
    *,
    at: datetime,
    hydrometer: Hydrometer,
    litres: float | None,
    finish_sg: float | None,
    steadiness: Steadiness,
) -> GravityCheck | None:
    """Judge the readings by themselves and against the bubbles counted between them.

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
    finish_sg : float or None
        Expected finish, where the maker has said so.
    steadiness : Steadiness
        What steady means for the question asked.

    Returns
    -------
    GravityCheck or None
        None where there is no reading.
    """
    seen = readings(visits, hydrometer)
    if not seen:
        return None
    since = still_since(seen, steadiness)
    stories = [] if litres is None else _stories(seen, visits, litres)
    since_then = None if litres is None else points_per_ml(visits, seen[-1].when, at, litres)
    return GravityCheck(
        readings=seen,
        finish_sg=FINISH_SG if finish_sg is None else finish_sg,
        finish_known=finish_sg is not None,
        steady=steady(seen, steadiness),
        steady_days=days(since, seen[-1].when),
        steady_since=since,
        fall=creep(seen, steadiness) or last_fall(seen),
        most_fallen_points=None if since_then is None else since_then * _ABSURD_BUBBLE_ML,
        leak=any(story.leak for story in stories),
        gas_only=bool(stories) and stories[-1].gas_only,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Story:
    """What the bubbles between two readings account for, and how the gravity takes it."""

    leak: bool
    gas_only: bool


def _stories(seen: Sequence[Reading], visits: Sequence[Visit], litres: float) -> list[_Story]:
    """Stories of the longest and the shortest telling pair that end with the last reading."""
    late = [r for r in seen[:-1] if _STORY_DAYS[0] <= days(r.when, seen[-1].when) <= _STORY_DAYS[1]]
    both_ends = [next(_told(some, seen[-1], visits, litres), None) for some in (late, late[::-1])]
    return [story for story in both_ends if story is not None]


def _told(
    late: Sequence[Reading], after: Reading, visits: Sequence[Visit], litres: float
) -> Iterator[_Story]:
    """Stories that can be told, one by one."""
    for before in late:
        story = _story(before, after, visits, litres)
        if story is not None:
            yield story


def _story(
    before: Reading, after: Reading, visits: Sequence[Visit], litres: float
) -> _Story | None:
    """Check the fall read against those that the bubbles foretell, a predictive check.

    The prior of a bubble's gas takes in the share that leaks from a sound jar, so a fall beyond
    nearly all that it foretells speaks of another way out, or of bubbles that are not of sugar.
    """
    per_ml = points_per_ml(visits, before.when, after.when, litres)
    if per_ml is None:
        return None
    fall = (before.sg - after.sg) * 1000.0
    expected = per_ml * BUBBLE_ML * np.exp(np.hypot(BUBBLE_ML_SPREAD, COUNTING_SD) * _NORMAL)
    more = float(np.mean(ndtr((expected - fall) / (np.sqrt(2.0) * READING_SD_POINTS))))
    return _Story(leak=more < _SURPRISE, gas_only=1.0 - more < _SURPRISE)
