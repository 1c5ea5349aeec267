"""The proof behind a go on bottling: how likely is it that sugar enough to hurt is left.

Weighed, not ticked off: a go needs small chances of fizz and of bursting, and every standing check.
Nothing here is ever called safe: a chance is given, and what would lower it. Gravity is SG, falls
are points (0.001 SG) a day, sugar is g/L.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from datetime import date
from functools import partial
from typing import TYPE_CHECKING, Final, NamedTuple

from ..ferment.finish import Z80
from ..physics.scales import sg_at
from .acts import evening
from .before import RACKING
from .earliest import Earliest, Tell, earliest, would_tell
from .lacks import OF_SUGAR, Lack, lacks
from .limits import BURST_POINTS, FIZZ_POINTS
from .noted import JAR_LITRES
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

NEAR_POINTS, NEAR_CHANCE = 5.0, 0.8  # left at most, and how surely: racking then does no harm
BIG_JAR_LITRES: Final = 10.0  # from here on a bubble a minute is fewer points (our judgement)


def _no_plan() -> None:
    """Nothing to wait for."""


class Span(NamedTuple):
    """A middle value, and the range that holds the true one four times in five."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What is known of sugar left in a wine that is to be bottled.

    Attributes
    ----------
    asked : date
        Evening asked about.
    looked : date
        Evening of the last reading or count: all is judged as of then.
    stabilised : date or None
        Evening on which it was stabilised, where that still holds.
    sg : float or None
        Gravity now, by all readings; None, as all below, where none was read since the last act
        that moved it.
    readings, reading_days : int
        Readings that took part, and the dates they span.
    chance_fizz, chance_burst : float or None
        Chances that more than 2, and more than 5, points ferment in the bottle within a year at
        20 C: of +1.4 bar, no longer a still wine, and of +3.4 bar, which no still bottle is made
        for.
    sugar_g_per_litre : Span or None
        Sugar left that could ferment.
    fall_points_per_day, fall_at_most_points_per_day : float or None
        Fall now, and with 95 chances in 100 no more than that.
    slept : float or None
        Chance that a wine paused by the cold would have shown nothing yet.
    lacks : tuple of Lack
        What stands against bottling, the worst first.
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
        """When it could be a go if nothing changes; None for a go, and where no wait will do."""
        return self.find_earliest()

    @property
    def tells(self) -> tuple[Tell, ...]:
        """Evidence that can settle the sugar where readings cannot, the surest first."""
        return self.find_tells()

    @property
    def go(self) -> bool:
        """Whether nothing stands against bottling."""
        return not self.lacks


@dataclass(frozen=True, slots=True, kw_only=True)
class NearItsEnd:
    """How far a wine that may be racked is from its end.

    Attributes
    ----------
    near : bool
        Whether with 80 chances in 100 no more than 5 points are left.
    chance : float
        The chance of that.
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
    """Gather what a diary tells of the sugar left, and whether its acts found it proven.

    Parameters
    ----------
    diary : Diary
        Of one vessel.
    at : datetime
        The moment asked about, aware; later rows take no part.
    settings : Settings, optional
        Hydrometer, and what the maker entered of the vessel.
    told : Forecast, optional
        What the fit came to: it holds the gas of a bubble, as this jar has taught it.

    Returns
    -------
    SugarEvidence
        With `unproven` filled: a tablet, finings or a racking cannot undo what was proven on its
        eve, but may stun a yeast of which nothing was proven.
    """
    diary = diary.until(at)
    return taught(sugar_evidence(diary, at=at, settings=settings), diary, settings, told)


def taught(
    known: SugarEvidence, diary: Diary, settings: Settings | None, told: Forecast | None
) -> SugarEvidence:
    """Add what the fit came to, and whether the acts of the diary found the sugar proven.

    Parameters
    ----------
    known : SugarEvidence
        From `sugar_evidence` of the same diary.
    diary, settings, told
        As `evidence_for_bottling` takes them; no row of the diary is later than the moment asked.

    Returns
    -------
    SugarEvidence
    """
    known = replace(known, bubble_ml=_bubble_ml(told))
    if not known.readings:
        return known
    for day in reversed(known.treated):
        if day + FORTNIGHT <= known.readings[-1].day or day < (known.since or 0):
            break  # read since, for long enough, or of another wine
        rows = tuple(v for v in diary.visits if evening(v.when) < day)
        if not rows or not _proven(replace(diary, visits=rows), settings, told):
            return replace(known, unproven=day)
    return known


def _proven(diary: Diary, settings: Settings | None, told: Forecast | None) -> bool:
    """Whether nothing of the sugar itself stood against bottling at the last row."""
    at = diary.visits[-1].when
    known = evidence_for_bottling(diary, at=at, settings=settings, told=told)
    return not any(lack.check in OF_SUGAR for lack in lacks(known, weigh(known)))


def _bubble_ml(told: Forecast | None) -> tuple[float, float] | None:
    """Gas for each bubble as this jar has taught it, and its spread in natural logarithms."""
    span = None if told is None else told.bubble_ml
    if span is None or not 0.0 < span.low80 < span.high80:
        return None
    return span.median, math.log(span.high80 / span.low80) / (2.0 * Z80)


def proof_of(known: SugarEvidence) -> Proof:
    """Weigh what is known of sugar left, and find what still stands against bottling.

    Parameters
    ----------
    known : SugarEvidence
        From `evidence_for_bottling`.

    Returns
    -------
    Proof
        As of the last look: the clock alone never makes it better, but for waits whose day is in
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
    """Weigh how many points a wine has left that may be racked.

    Parameters
    ----------
    known : SugarEvidence

    Returns
    -------
    NearItsEnd or None
        None where no gravity was read since the last act that moved it.
    """
    weighed = weigh(known, RACKING)
    if weighed is None:
        return None
    chance = 1.0 - weighed.left_chance(NEAR_POINTS)
    return NearItsEnd(near=chance >= NEAR_CHANCE, chance=chance, left_points=_left(weighed, 1.0))


def quiet_per_min(threshold_per_min: float, litres: float | None) -> float:
    """Rate under which a jar of that many litres is called quiet [bubbles/min].

    One a minute is half to one point a day in a jar of 4.5 L, and a fifth of that in 23 L (trade):
    beyond 10 L the threshold grows with the wine.

    Examples
    --------
    >>> quiet_per_min(1.0, 4.5), quiet_per_min(1.0, 23.0)
    (1.0, 2.3)
    """
    return threshold_per_min * max(1.0, (litres or JAR_LITRES) / BIG_JAR_LITRES)


def _left(weighed: Weighed, per_point: float) -> Span:
    """What is left, in a unit of so much for each point."""
    return Span(*(per_point * weighed.left_points(chance) for chance in (0.1, 0.5, 0.9)))
