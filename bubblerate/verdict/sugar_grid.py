"""Weighs how much sugar is left in a wine, on one grid of stories, points left and pace.

There are three stories: it has ended, it is still falling, or it has paused and will wake when
warm. Every fact multiplies their odds. All is judged as of the last look, never by the clock, so
letting time pass proves nothing. Points are 0.001 SG, times days.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

from .before import BOTTLING, HELD, Before
from .sugar_evidence import SugarEvidence
from .sugar_odds import (
    FALL_PER_DAY,
    LEFT,
    LEFT_WIDTH,
    PACE,
    STEM_SD,
    bottle_odds,
    count_odds,
    reading_odds,
    slept_on,
    slowness_on,
    strip_odds,
    woken_odds,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from .acts import Reading

__all__ = [
    "Weighed",
    "standing",
    "weigh",
]

LEVEL_REACH, LEVEL_STEP = 5.0, 0.25  # points to each side of the middle reading
JUST_WOKEN: Final = 0.1  # share of pauses that end between two looks (our judgement)
YEAR: Final = 365.0  # days at 20 C over which sugar left in a bottle counts


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Weighed:
    """Chances over (story, points left, pace), and what follows from them.

    Attributes
    ----------
    ended : float
    falling : ndarray, shape (left, pace)
    paused : ndarray, shape (left,)
        Chances of each story; all together sum to 1.
    slowness : float
        Pace at the last look, relative to 20 C.
    level_points : float
        What the stem shows now, from all readings.
    readings : tuple of Reading
        The readings used.
    slept : float
        Chance that a paused wine would have shown nothing yet.
    """

    ended: float
    falling: NDArray[np.float64]
    paused: NDArray[np.float64]
    slowness: float
    level_points: float
    readings: tuple[Reading, ...]
    slept: float

    def chance(self, points: float, *, days: float = YEAR) -> float:
        """Chance that more than so many points ferment in a closed bottle at 20 C."""
        will = LEFT[:, None] * -np.expm1(-days * PACE[None, :])
        return float(self.falling[will > points].sum() + self.paused[points < LEFT].sum())

    def left_chance(self, points: float) -> float:
        """Chance that more than so many points are left."""
        return float((self.falling.sum(1) + self.paused)[points < LEFT].sum())

    def left_points(self, chance: float) -> float:
        """Upper limit of the points left, with this chance."""
        mass = np.cumsum([self.ended, *(self.falling.sum(1) + self.paused)])
        return float([0.0, *LEFT][min(int(np.searchsorted(mass, chance)), len(LEFT))])

    def fall_points_per_day(self, chance: float) -> float:
        """Upper limit of the fall a day as of the last look, with this chance."""
        fall = FALL_PER_DAY.ravel() * self.slowness
        order = np.argsort(fall)
        mass = np.cumsum([1.0 - self.falling.sum(), *self.falling.ravel()[order]])
        return float([0.0, *fall[order]][min(int(np.searchsorted(mass, chance)), len(order))])


def weigh(known: SugarEvidence, before: Before = BOTTLING) -> Weighed | None:
    """Weigh the stories by all that is known.

    Parameters
    ----------
    known : SugarEvidence
    before : Before
        `BOTTLING` or `RACKING`; a stabilised wine has starting chances of its own.

    Returns
    -------
    Weighed or None
        None if no gravity was read since the last act that moved it.
    """
    return None if not known.readings else _weighed(_told(known), before)


def _told(known: SugarEvidence) -> SugarEvidence:
    """The part of the evidence that is weighed: the same for every question of one evening."""
    return SugarEvidence(
        asked=known.looked,
        finish=known.finish,
        tested=known.tested,
        litres=known.litres,
        readings=known.readings,
        counts=known.counts,
        warmth=known.warmth,
        stabilised=known.stabilised,
        sugar_low=known.sugar_low,
        bubble_ml=known.bubble_ml,
    )


@lru_cache(maxsize=64)  # a judgement asks several times, and also about later days
def _weighed(known: SugarEvidence, before: Before) -> Weighed:
    held = known.stabilised is not None
    before = HELD if held else before
    some = standing(known.readings, before)
    slept = slept_on(known, max(some[0].day, known.stabilised or 0))
    stories, level = _by_readings(known, some, before)
    stories = stories.times(paused=np.full(len(LEFT), slept))
    since = known.looked - before.count_days
    counts = [e for e in known.counts if e.day >= since]
    if counts:
        woken = woken_odds(known, counts)
        stories = stories.times(falling=count_odds(known, counts), woken=woken)
    else:
        stories = stories.times(woken=np.zeros_like(stories.woken))
    if known.tested:
        stories = stories.times(falling=bottle_odds(), woken=bottle_odds())
    if known.sugar_low is not None and not held:
        ended, strip = (
            strip_odds(known.sugar_low, np.zeros(1))[0],
            strip_odds(known.sugar_low, LEFT),
        )
        stories = stories.times(
            ended=float(ended), falling=strip[:, None], paused=strip, woken=strip[:, None]
        )
    return stories.weighed(
        slowness=slowness_on(known, known.looked), level=level, readings=some, slept=slept
    )


def standing(readings: Sequence[Reading], before: Before = BOTTLING) -> tuple[Reading, ...]:
    """The readings that may all be from after the end: the last ones.

    One high reading among several low ones is an outlier and stays. Two high ones, or the first,
    are from the working wine.
    """
    late = [r for r in readings if r.day >= readings[-1].day - before.reading_days]
    low = sorted(r.points for r in late)[: min(2, max(1, len(late) - 1))][-1]
    high = [r.day for r in late if r.points > low + before.above]
    working = (day for day in high if day == late[0].day or sum(h <= day for h in high) > 1)
    began = max(working, default=-1)
    return tuple(r for r in late if r.day > began) or (late[-1],)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Stories:
    """Odds of the stories so far, up to one factor; a wine just woken is kept apart to the end.

    `woken` (left, pace) is for a wine that slept until its newest count.
    """

    ended: float
    falling: NDArray[np.float64]
    paused: NDArray[np.float64]
    woken: NDArray[np.float64]

    def times(
        self,
        *,
        ended: float = 1.0,
        falling: NDArray[np.float64] | float = 1.0,
        paused: NDArray[np.float64] | float = 1.0,
        woken: NDArray[np.float64] | float = 1.0,
    ) -> _Stories:
        return _Stories(
            ended=self.ended * ended,
            falling=self.falling * falling,
            paused=self.paused * paused,
            woken=self.woken * woken,
        )

    def weighed(
        self, *, slowness: float, level: float, readings: tuple[Reading, ...], slept: float
    ) -> Weighed:
        falling = self.falling + self.woken
        total = self.ended + float(falling.sum() + self.paused.sum())
        told = total > 1e-250  # else no story fits these facts, and nothing is proven
        return Weighed(
            ended=self.ended / total if told else 0.0,
            falling=falling / total if told else np.zeros_like(falling),
            paused=self.paused / total if told else LEFT_WIDTH / LEFT_WIDTH.sum(),
            slowness=slowness,
            level_points=level,
            readings=readings,
            slept=slept,
        )


def _by_readings(
    known: SugarEvidence, some: Sequence[Reading], before: Before
) -> tuple[_Stories, float]:
    """Odds from the starting chances, the readings and the finish; and the likeliest level."""
    middle = float(np.median([r.points for r in some]))
    level = np.arange(math.floor(middle) - LEVEL_REACH, middle + LEVEL_REACH, LEVEL_STEP)
    flat, moving = reading_odds(known, some, level)
    top = max(float(flat.max()), float(moving.max()))
    ends = known.finish.log_density(level[None, :] - LEFT[:, None], stem_points=STEM_SD)
    if before.left_mean is None:  # what may be left is the level less the finish
        left, here = LEFT_WIDTH, np.zeros(len(level))
    else:
        left = np.exp(-LEFT / before.left_mean) / before.left_mean * LEFT_WIDTH
        here = known.finish.log_density(level, stem_points=STEM_SD)
    pace = np.exp(-0.5 * (np.log(PACE / before.pace) / before.pace_spread) ** 2)
    pace /= pace.sum()
    stood = left * np.exp(flat[None, :] - top + ends).sum(-1)
    moving -= top
    moving += ends[:, None, :]
    fell = left[:, None] * np.exp(moving, out=moving).sum(-1)
    stories = _Stories(
        ended=before.ended * float(np.exp(flat - top + here).sum()),
        falling=before.falling * pace[None, :] * fell,
        paused=before.paused * stood,
        woken=before.paused * JUST_WOKEN * stood[:, None] * pace[None, :],
    )
    return stories, float(level[np.argmax(flat)])
