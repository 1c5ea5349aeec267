"""The proof for bottling: how likely it is that enough sugar is left to do harm.

A go needs small chances of fizz and of bursting, and every other check to pass. Nothing is ever
called safe: there is a chance, and what would lower it. Gravity is SG, falls are points (0.001 SG)
a day, sugar is g/L.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from datetime import date
from functools import partial
from typing import TYPE_CHECKING, Final, NamedTuple

from ..ferment.finish import Z80
from ..physics.scales import sg_at
from .acts import JAR_LITRES, evening
from .before import RACKING
from .earliest import Earliest, Tell, earliest, would_tell
from .lacks import OF_SUGAR, Lack, lacks
from .limits import BURST_POINTS, FIZZ_POINTS
from .stood import FORTNIGHT
from .sugar_evidence import SugarEvidence, sugar_evidence
from .sugar_grid import Weighed, weigh
from .sugar_odds import G_PER_POINT

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from ..diary.settings import Settings
    from ..diary.visit import Diary
    from ..ferment.forecast import Forecast

__all__ = [
    "NearItsEnd",
    "Proof",
    "Span",
    "evidence_for_bottling",
    "near_its_end",
    "proof_of",
    "quiet_per_min",
    "taught",
]

NEAR_POINTS, NEAR_CHANCE = 5.0, 0.8  # points left at most, and how sure: then racking does no harm
BIG_JAR_LITRES: Final = 10.0  # in a larger jar a bubble a minute means fewer points (our judgement)


def _no_plan() -> None:
    """Nothing to wait for: a function with a name, so that `Proof` can be pickled."""


class Span(NamedTuple):
    """A middle value, and the range that holds the true one four times out of five."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What is known about the sugar left in a wine that is to be bottled.

    Attributes
    ----------
    asked : date
        Evening asked about.
    looked : date
        Evening of the last reading or count; all is judged as of then.
    stabilised : date or None
        Evening on which it was stabilised, if that still holds.
    sg : float or None
        Gravity now, from all readings. None, as all below, if none was read since the last act that
        changed it.
    readings, reading_days : int
        Number of readings used, and the dates they span.
    chance_fizz, chance_burst : float or None
        Chances that more than 2, and more than 5, points ferment in the bottle within a year at
        20 C: of +1.4 bar, no longer a still wine, and of +3.4 bar, which no still bottle is made
        for.
    sugar_g_per_litre : Span or None
        Sugar left that could ferment.
    fall_points_per_day, fall_at_most_points_per_day : float or None
        Fall now, and the limit that it is under with 95 % chance.
    slept : float or None
        Chance that a wine paused by cold would have shown nothing yet.
    lacks : tuple of Lack
        What speaks against bottling, the worst first.
    find_earliest, find_tells : callable
        Work out `earliest` and `tells`, which few answers need.
    """

    asked: date
    looked: date
    stabilised: date | None = None
    sg: float | None = None
    readings: int = 0
    reading_days: int = 0
    chance_fizz: float | None = None
    chance_burst: float | None = None
    sugar_g_per_litre: Span | None = None
    fall_points_per_day: float | None = None
    fall_at_most_points_per_day: float | None = None
    slept: float | None = None
    lacks: tuple[Lack, ...] = ()
    find_earliest: Callable[[], Earliest | None] = field(
        default=_no_plan, repr=False, compare=False
    )
    find_tells: Callable[[], tuple[Tell, ...]] = field(default=tuple, repr=False, compare=False)

    @property
    def earliest(self) -> Earliest | None:
        """When it could be bottled if nothing changes; None for a go, and if no wait will help."""
        return self.find_earliest()

    @property
    def tells(self) -> tuple[Tell, ...]:
        """Evidence that can settle the sugar question if readings cannot, the surest first."""
        return self.find_tells()

    @property
    def go(self) -> bool:
        """Whether nothing speaks against bottling."""
        return not self.lacks


@dataclass(frozen=True, slots=True, kw_only=True)
class NearItsEnd:
    """How far a wine is from its end, for racking.

    Attributes
    ----------
    near : bool
        Whether no more than 5 points are left, with 80 % chance.
    chance : float
        Chance of that.
    left_points : Span
        Points left to fall.
    """

    near: bool
    chance: float
    left_points: Span


def evidence_for_bottling(
    diary: Diary,
    *,
    at: datetime,
    settings: Settings | None = None,
    told: Forecast | None = None,
) -> SugarEvidence:
    """Gather what a diary tells about the sugar left, and whether it was proven before each act.

    Parameters
    ----------
    diary : Diary
        Of one vessel.
    at : datetime
        The moment asked about, aware; later rows take no part.
    settings : Settings, optional
        Hydrometer, and what the maker entered of the vessel.
    told : Forecast, optional
        Result of the fit, with the gas in a bubble as learnt from this jar.

    Returns
    -------
    SugarEvidence
        With `unproven` filled. A tablet, finings or a racking cannot undo what was proven the
        evening before, but may stun yeast if nothing was proven yet.
    """
    diary = diary.until(at)
    return taught(sugar_evidence(diary, at=at, settings=settings), diary, settings, told)


def taught(
    known: SugarEvidence, diary: Diary, settings: Settings | None, told: Forecast | None
) -> SugarEvidence:
    """Add the result of the fit, and whether the sugar was proven before each act of the diary.

    Parameters
    ----------
    known : SugarEvidence
        From `sugar_evidence` of the same diary.
    diary, settings, told
        As for `evidence_for_bottling`; no row of the diary is later than the moment asked about.

    Returns
    -------
    SugarEvidence
    """
    known = replace(known, bubble_ml=_bubble_ml(told))
    if not known.readings:
        return known
    for day in reversed(known.treated):
        if day + FORTNIGHT <= known.readings[-1].day or day < (known.since or 0):
            break  # read since for long enough, or another wine since
        rows = tuple(v for v in diary.visits if evening(v.when) < day)
        if not rows or not _proven(replace(diary, visits=rows), settings, told):
            return replace(known, unproven=day)
    return known


def _proven(diary: Diary, settings: Settings | None, told: Forecast | None) -> bool:
    """Whether nothing about the sugar itself spoke against bottling at the last row."""
    at = diary.visits[-1].when
    known = evidence_for_bottling(diary, at=at, settings=settings, told=told)
    return not any(lack.check in OF_SUGAR for lack in lacks(known, weigh(known)))


def _bubble_ml(told: Forecast | None) -> tuple[float, float] | None:
    """Gas per bubble as learnt from this jar, and its spread in natural logarithms."""
    span = None if told is None else told.bubble_ml
    if span is None or not 0.0 < span.low80 < span.high80:
        return None
    return span.median, math.log(span.high80 / span.low80) / (2.0 * Z80)


def proof_of(known: SugarEvidence) -> Proof:
    """Weigh what is known about the sugar left, and find what still speaks against bottling.

    Parameters
    ----------
    known : SugarEvidence
        From `evidence_for_bottling`.

    Returns
    -------
    Proof
        As of the last look: time alone never makes it better, except for waits whose day is in
        `lacks`.
    """
    weighed = weigh(known)
    asked, looked = date.fromordinal(known.asked), date.fromordinal(known.looked)
    against = lacks(known, weighed)
    plan = partial(earliest, known) if against else _no_plan
    if weighed is None:
        return Proof(asked=asked, looked=looked, lacks=against, find_earliest=plan)
    read, held = weighed.readings, known.stabilised
    return Proof(
        asked=asked,
        looked=looked,
        stabilised=None if held is None else date.fromordinal(held),
        sg=sg_at(weighed.level_points),
        readings=len(read),
        reading_days=read[-1].day - read[0].day,
        chance_fizz=weighed.chance(FIZZ_POINTS),
        chance_burst=weighed.chance(BURST_POINTS),
        sugar_g_per_litre=_left(weighed, G_PER_POINT),
        fall_points_per_day=weighed.fall_points_per_day(0.5),
        fall_at_most_points_per_day=weighed.fall_points_per_day(0.95),
        slept=weighed.slept,
        lacks=against,
        find_earliest=plan,
        find_tells=partial(would_tell, known, against),
    )


def near_its_end(known: SugarEvidence) -> NearItsEnd | None:
    """Weigh how many points a wine has left, for racking.

    Parameters
    ----------
    known : SugarEvidence

    Returns
    -------
    NearItsEnd or None
        None if no gravity was read since the last act that changed it.
    """
    weighed = weigh(known, RACKING)
    if weighed is None:
        return None
    chance = 1.0 - weighed.left_chance(NEAR_POINTS)
    return NearItsEnd(near=chance >= NEAR_CHANCE, chance=chance, left_points=_left(weighed, 1.0))


def quiet_per_min(threshold_per_min: float, litres: float | None) -> float:
    """Rate below which a jar of so many litres is called quiet [bubbles/min].

    One a minute is half to one point a day in a jar of 4.5 L, and a fifth of that in 23 L (trade):
    above 10 L the threshold grows with the wine.

    Examples
    --------
    >>> quiet_per_min(1.0, 4.5), quiet_per_min(1.0, 23.0)
    (1.0, 2.3)
    """
    return threshold_per_min * max(1.0, (litres or JAR_LITRES) / BIG_JAR_LITRES)


def _left(weighed: Weighed, per_point: float) -> Span:
    """What is left, in another unit, given its size per point."""
    return Span(*(per_point * weighed.left_points(chance) for chance in (0.1, 0.5, 0.9)))
