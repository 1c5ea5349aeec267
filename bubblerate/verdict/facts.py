"""What the evenings show without the curve: how recent, how warm, how sudden, what was done.

Plain facts for the verdict, from the rows; rates in bubbles a minute, temperatures in C.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from statistics import median
from typing import TYPE_CHECKING

from ..diary.events import ADDED, BREAKS, NEW_SUGAR
from ..diary.visit import bottled
from ..ferment.gravity import days
from ..ferment.priors import COLD_C, COLD_DROP_C
from .acts import evening
from .airlock import Airlock, airlock, worked_on
from .limits import RECENT_DAYS, STABLE_DAYS, STUNNING, TEMP_FRESH_DAYS

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from ..diary.visit import Visit
    from ..ferment.tail import Tail

__all__ = ["Act", "Acts", "Facts", "Warmth", "gather_facts"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Warmth:
    """How warm it is and was.

    Attributes
    ----------
    temp_c, usual_c : float or None
        Latest temperature of the last few days, and the usual one of all noted [C].
    worked_c : float or None
        Usual temperature of the evenings when it was seen at work [C].
    """

    temp_c: float | None = None
    usual_c: float | None = None
    worked_c: float | None = None

    @property
    def surely_warm(self) -> bool:
        """Whether a temperature shows that the yeast is not resting; unknown is not warm."""
        return self.temp_c is not None and not self.cold

    @property
    def cold(self) -> bool:
        """Whether the yeast may only be resting in the cold."""
        if self.temp_c is None:
            return False
        return self.temp_c < COLD_C or (
            self.usual_c is not None and self.temp_c <= self.usual_c - COLD_DROP_C
        )


@dataclass(frozen=True, slots=True)
class Act:
    """Something done to the wine, in the word of the diary, and when."""

    event: str
    when: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Acts:
    """What was done to the wine.

    Attributes
    ----------
    broken : Act or None
        Last event that changed the size of a bubble.
    stunned : Act or None
        Last event of the last two weeks that may have stunned the yeast.
    fed_at : datetime or None
        When sugar or juice was last added.
    racked_at, bottled_at : datetime or None
        When it was last racked and bottled.
    stabilised_at : datetime or None
        Last time the wine was stabilised, unless sugar was added long after.
    """

    broken: Act | None = None
    stunned: Act | None = None
    fed_at: datetime | None = None
    racked_at: datetime | None = None
    bottled_at: datetime | None = None
    stabilised_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """Facts of one vessel as of one moment."""

    airlock: Airlock = field(default_factory=Airlock)
    warmth: Warmth = field(default_factory=Warmth)
    acts: Acts = field(default_factory=Acts)


def gather_facts(
    visits: Sequence[Visit],
    tail: Tail | None,
    *,
    at: datetime,
    threshold_per_min: float,
) -> Facts:
    """Find the facts in the rows.

    Parameters
    ----------
    visits : sequence of Visit
        Live rows of one wine no later than `at`, oldest first.
    tail : Tail or None
        The counts of the tail among them.
    at : datetime
        The moment asked about.
    threshold_per_min : float
        Rate asked about [bubbles/min].

    Returns
    -------
    Facts
    """
    acts = _acts(visits, at)
    since = None if acts.broken is None else acts.broken.when
    return Facts(
        airlock=airlock(visits, tail, since=since, threshold_per_min=threshold_per_min),
        warmth=_warmth(visits, at, threshold_per_min),
        acts=acts,
    )


# --- what was done -------------------------------------------------------------------------------


def _acts(visits: Sequence[Visit], at: datetime) -> Acts:
    acts = [Act(str(v.event), v.when) for v in visits if v.event is not None]
    breaks = [act for act in acts if act.event in BREAKS]
    stunning = [act for act in acts if act.event in STUNNING and days(act.when, at) < RECENT_DAYS]
    fed_at = _last(acts, *(ADDED & NEW_SUGAR))
    return Acts(
        broken=breaks[-1] if breaks else None,
        stunned=stunning[-1] if stunning else None,
        fed_at=fed_at,
        racked_at=_last(acts, "racked"),
        bottled_at=_emptied_at(visits),
        stabilised_at=_stabilised_at(acts, fed_at),
    )


def _emptied_at(visits: Sequence[Visit]) -> datetime | None:
    """When the last of it was bottled; wine still in the jar is judged as before."""
    filled = bottled(visits)
    return filled[-1].when if filled and not filled[-1].litres else None


def _last(acts: Sequence[Act], *events: str) -> datetime | None:
    return max((act.when for act in acts if act.event in events), default=None)


def _stabilised_at(acts: Sequence[Act], fed_at: datetime | None) -> datetime | None:
    """When it was stabilised; sugar added long after finds the yeast awake again."""
    at = _last(acts, "stabilised")
    late = at is not None and fed_at is not None and days(at, fed_at) > STABLE_DAYS
    return None if late else at


# --- how warm it was -----------------------------------------------------------------------------


def _warmth(visits: Sequence[Visit], at: datetime, threshold_per_min: float) -> Warmth:
    noted, worked = (
        [v for v in visits if v.temp_c is not None],
        worked_on(visits, threshold_per_min),
    )
    fresh = [v.temp_c for v in noted if days(v.when, at) <= TEMP_FRESH_DAYS]
    return Warmth(
        temp_c=fresh[-1] if fresh else None,
        usual_c=_median_c(noted),
        worked_c=_median_c([v for v in noted if evening(v.when) in worked]),
    )


def _median_c(noted: Sequence[Visit]) -> float | None:
    """Median of the noted temperatures."""
    temps = [v.temp_c for v in noted if v.temp_c is not None]
    return median(temps) if temps else None
