"""The earliest evening on which a wine could be bottled, what to do until then, what else helps.

All stays as it is: the level stands, the airlock is silent, the jar keeps its temperature. Days are
evenings (`acts`), temperatures C.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from functools import lru_cache
from statistics import fmean
from typing import TYPE_CHECKING, Final

from .acts import Reading
from .lacks import lacks
from .limits import BURST_CHANCE, BURST_POINTS, FIZZ_CHANCE, FIZZ_POINTS, LOOK_MINUTES
from .noted import Evening, Spell
from .reasons import Code
from .seen import Seen
from .stood import FORTNIGHT
from .sugar_grid import weigh

if TYPE_CHECKING:
    from collections.abc import Sequence

    from .lacks import Lack
    from .sugar_evidence import SugarEvidence

__all__ = ["Earliest", "Tell", "earliest", "would_tell"]

MOST_DAYS: Final = 90  # looked ahead; a wait beyond it is said as other evidence to get
STRONG_MOST_DAYS: Final = 400  # but for a wine told to wait a year
WEEK, MONTH = 7, 30
KEPT_WARM_C: Final = 20.0  # where the jar's own warmth will not do
NOTE_HOLDS_DAYS: Final = 14  # of a temperature, where none was noted since (our judgement)
READING_DAYS: Final = 7  # one more reading is worth, in days of waiting (our judgement)


class Tell(StrEnum):
    """Evidence that can tell what readings and counts cannot."""

    STRIP = "sugar-strip"
    TEST_BOTTLE = "test-bottle"
    WARMTH = "weeks-in-the-warm"
    STABILISE = "stabilise"
    STEM = "stem-in-water"


@dataclass(frozen=True, slots=True, kw_only=True)
class Earliest:
    """When it could be bottled if nothing changes, and what to do until then.

    Attributes
    ----------
    on : date
        First evening on which nothing would stand against it.
    read_on, look_on : tuple of date
        Evenings to read the gravity on; to count five minutes and note the temperature on.
    keep_c : float or None
        Temperature to keep it at until then; None where its own will do.
    """

    on: date
    read_on: tuple[date, ...]
    look_on: tuple[date, ...]
    keep_c: float | None = None

    def from_tonight(self, today: date) -> Earliest:
        """Give the same with a look and a reading tonight."""
        looks = tuple(sorted({today, *self.look_on}))
        return replace(self, read_on=(today, *self.read_on), look_on=looks)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """A way of waiting: so many readings, as many days apart, in its own warmth or kept warm."""

    readings: int  # the last of them on the last evening
    apart: int
    keep_c: float | None


_FEW, _MANY = ((1, 1), (2, FORTNIGHT), (MOST_DAYS, MONTH)), ((MOST_DAYS, WEEK),)
# Of one row of ways the soonest is chosen, and a later row only where none of those before does it.
_WAYS: Final = tuple(
    tuple(_Way(readings=readings, apart=apart, keep_c=keep_c) for readings, apart in some)
    for keep_c in (None, KEPT_WARM_C)
    for some in (_FEW, _MANY)
)


@lru_cache(maxsize=16)  # the course and the proof ask for the same
def earliest(known: SugarEvidence) -> Earliest | None:
    """Find the earliest evening of a go.

    Parameters
    ----------
    known : SugarEvidence
        From `evidence_for_bottling`.

    Returns
    -------
    Earliest or None
        None where none comes within 90 days (400 where a strong wine is to be kept a year): then
        `would_tell` says what else to do. Where nothing was read yet, it is taken to read tonight
        what it should end at.
    """
    weighed = weigh(known)
    if weighed is None:
        tonight = Reading(known.asked, known.finish.centre_points)
        later = earliest(replace(known, readings=(tonight,)))
        return later and later.from_tonight(date.fromordinal(known.asked))
    ready = _as_if_seen(known)
    last_due = max([known.asked, *(k.due for k in lacks(ready, weighed) if k.due is not None)])
    level = min(weighed.level_points, fmean(r.points for r in weighed.readings[-2:]))
    for ways in _WAYS:
        found = _soonest(ready, level, ways, last_due)
        if found is not None:
            return _told(known, *found)
    return None


def would_tell(known: SugarEvidence, against: Sequence[Lack]) -> tuple[Tell, ...]:
    """Find the evidence that would settle the sugar where readings cannot.

    Parameters
    ----------
    known : SugarEvidence
    against : sequence of Lack
        `lacks` of the same.

    Returns
    -------
    tuple of Tell
        The surest first; empty where the sugar is settled, or gas and gravity say that it works.
    """
    failing = {lack.check for lack in against}
    if Code.GRAVITY_IMPOSSIBLE in failing:
        return (Tell.STEM,)
    if Code.STILL_BUBBLING in failing or not failing & {
        Code.FIZZ,
        Code.SILENCE_ALONE,
        Code.SWEETNESS_LEFT,
        Code.TOO_SWEET,
        Code.STRONG_AND_SWEET,
        Code.FINISH_UNTESTED,
    }:
        return ()
    tells = []
    if Code.STRONG_AND_SWEET not in failing and known.stabilised is None:
        if _sugar_settled(replace(known, sugar_low=True)) and Code.TOO_SWEET not in failing:
            tells.append(Tell.STRIP)
        if _sugar_settled(replace(known, tested=True)):
            tells.append(Tell.TEST_BOTTLE)
        weeks = replace(known, warmth=(*known.warmth, _warm_weeks(known)))
        if _sugar_settled(weeks):
            tells.append(Tell.WARMTH)
    if known.stabilised is None:
        tells.append(Tell.STABILISE)
    return tuple(tells)


def _warm_weeks(known: SugarEvidence) -> Spell:
    """Four weeks at 20 C, as if they had just been."""
    return Spell(known.looked - 28.0, float(known.looked), KEPT_WARM_C)


def _sugar_settled(known: SugarEvidence) -> bool:
    w = weigh(known)
    return (
        w is not None
        and w.chance(FIZZ_POINTS) <= FIZZ_CHANCE
        and w.chance(BURST_POINTS) <= BURST_CHANCE
    )


def _as_if_seen(known: SugarEvidence) -> SugarEvidence:
    """The same once the maker has looked tonight: clear, still, off lees and finings."""
    seen = known.seen
    clear = seen.clear
    if clear is None or seen.on_finings is not None or seen.lees is not None:
        clear = known.asked
    looked = Seen(
        clear=clear,
        clear_days=seen.clear_days,
        still=known.asked,
        malolactic_settled=known.asked,
    )
    return replace(known, seen=looked)


def _soonest(
    known: SugarEvidence, level: float, ways: Sequence[_Way], begins: int
) -> tuple[_Way, int] | None:
    """Way that is first a go, and its evening, where each reading costs some days of waiting."""
    best: tuple[int, _Way, int] | None = None
    for way in ways:
        day = _first_go(known, level, way, begins)
        if day is None:
            continue
        cost = day + READING_DAYS * len(_read_days(known.asked, way, day))
        if best is None or cost < best[0]:
            best = cost, way, day
        if day == begins:
            break  # no other can be sooner
    return None if best is None else (best[1], best[2])


def _first_go(known: SugarEvidence, level: float, way: _Way, begins: int) -> int | None:
    """First evening from `begins` on that would be a go in this way; None where none is."""
    strong = begins - known.asked > MOST_DAYS
    low, high = begins, known.asked + (STRONG_MOST_DAYS if strong else MOST_DAYS)
    if not _goes(known, level, way, high):
        return None  # asked first, for mostly no day will do
    if _goes(known, level, way, low):
        return low
    while high - low > 1:  # the longer it stands, the better: bisect
        middle = (low + high) // 2
        if _goes(known, level, way, middle):
            high = middle
        else:
            low = middle
    return high


def _goes(known: SugarEvidence, level: float, way: _Way, day: int) -> bool:
    then = _ahead(known, level, way, day)
    return not lacks(then, weigh(then))


def _ahead(known: SugarEvidence, level: float, way: _Way, day: int) -> SugarEvidence:
    """What will be known on a day if the level stands and the airlock is silent."""
    asked = known.asked
    counted = {e.day for e in known.counts}
    looks = [d for d in sorted({asked, *_read_days(asked, way, day)}) if d not in counted]
    temp_c = way.keep_c
    if temp_c is None and known.warmth and known.warmth[-1].last >= asked - NOTE_HOLDS_DAYS:
        temp_c = known.warmth[-1].temp_c
    spells = () if temp_c is None or day == asked else (Spell(asked, day, temp_c),)
    return replace(
        known,
        asked=day,
        readings=(*known.readings, *(Reading(d, level) for d in _read_days(asked, way, day))),
        counts=(*known.counts, *(Evening(d, 0, LOOK_MINUTES) for d in looks)),
        warmth=(*known.warmth, *spells),
    )


def _read_days(asked: int, way: _Way, day: int) -> tuple[int, ...]:
    """Evenings with a reading until a day, which is one of them."""
    days = range(day, max(asked, day - way.readings * way.apart), -way.apart)
    return tuple(reversed(days)) or (day,)


def _told(known: SugarEvidence, way: _Way, day: int) -> Earliest:
    """The way in dates: look tonight, unless it was done, and on every evening of a reading."""
    read = _read_days(known.asked, way, day)
    tonight = {known.asked} - {e.day for e in known.counts}
    return Earliest(
        on=date.fromordinal(day),
        read_on=tuple(date.fromordinal(d) for d in read),
        look_on=tuple(date.fromordinal(d) for d in sorted({*read, *tonight})),
        keep_c=way.keep_c,
    )
