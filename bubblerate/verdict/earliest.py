"""Finds the earliest evening a wine could be bottled, and what to do until then.

It assumes that all stays as it is: the gravity is steady, the airlock silent, the temperature the
same. Days are evenings (`acts`), temperatures C.
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

MOST_DAYS: Final = 90  # days ahead; beyond them other evidence is asked for
STRONG_MOST_DAYS: Final = 400  # for a wine that has to wait a year
WEEK, MONTH = 7, 30
KEPT_WARM_C: Final = 20.0  # if the jar's own temperature will not do
NOTE_HOLDS_DAYS: Final = 14  # that a noted temperature lasts (our judgement)
READING_DAYS: Final = 7  # days of waiting that one reading less is worth (our judgement)


class Tell(StrEnum):
    """Evidence that can tell what readings and counts cannot tell."""

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
        First evening on which nothing would speak against it.
    read_on, look_on : tuple of date
        Evenings to read the gravity; evenings to count five minutes and note the temperature.
    keep_c : float or None
        Temperature to keep it at until then; None if its own will do.
    """

    on: date
    read_on: tuple[date, ...]
    look_on: tuple[date, ...]
    keep_c: float | None = None

    def from_tonight(self, today: date) -> Earliest:
        """The same, with a look and a reading tonight."""
        looks = tuple(sorted({today, *self.look_on}))
        return replace(self, read_on=(today, *self.read_on), look_on=looks)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """A way of waiting: how many readings, how many days apart, kept warm or not."""

    readings: int  # the last of them on the last evening
    apart: int
    keep_c: float | None


_FEW, _MANY = ((1, 1), (2, FORTNIGHT), (MOST_DAYS, MONTH)), ((MOST_DAYS, WEEK),)
# The soonest way in a row is chosen; a later row only if no earlier one leads to a go.
_WAYS: Final = tuple(
    tuple(_Way(readings=readings, apart=apart, keep_c=keep_c) for readings, apart in some)
    for keep_c in (None, KEPT_WARM_C)
    for some in (_FEW, _MANY)
)


@lru_cache(maxsize=16)  # the course and the proof both ask for it
def earliest(known: SugarEvidence) -> Earliest | None:
    """Find the earliest evening of a go.

    Parameters
    ----------
    known : SugarEvidence
        From `evidence_for_bottling`.

    Returns
    -------
    Earliest or None
        None if none comes within 90 days (400 for a strong wine that has to wait a year): then
        `would_tell` says what else to do. If nothing was read yet, tonight's reading is taken to be
        where the wine should end.
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
    """Find the evidence that would settle the sugar question if readings cannot.

    Parameters
    ----------
    known : SugarEvidence
    against : sequence of Lack
        From `lacks` of the same evidence.

    Returns
    -------
    tuple of Tell
        The surest first; empty if the sugar is settled, or if gas and gravity show that it works.
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
    """The same evidence after four weeks at 20 C."""
    return Spell(known.looked - 28.0, float(known.looked), KEPT_WARM_C)


def _sugar_settled(known: SugarEvidence) -> bool:
    w = weigh(known)
    return (
        w is not None
        and w.chance(FIZZ_POINTS) <= FIZZ_CHANCE
        and w.chance(BURST_POINTS) <= BURST_CHANCE
    )


def _as_if_seen(known: SugarEvidence) -> SugarEvidence:
    """The same evidence after a good look tonight: clear, still, off lees and finings."""
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
    """The way that leads to a go first, and its evening; each reading counts as some days."""
    best: tuple[int, _Way, int] | None = None
    for way in ways:
        day = _first_go(known, level, way, begins)
        if day is None:
            continue
        cost = day + READING_DAYS * len(_read_days(known.asked, way, day))
        if best is None or cost < best[0]:
            best = cost, way, day
        if day == begins:
            break  # no other way can be sooner
    return None if best is None else (best[1], best[2])


def _first_go(known: SugarEvidence, level: float, way: _Way, begins: int) -> int | None:
    """First evening from `begins` on that would be a go in this way; None if there is none."""
    strong = begins - known.asked > MOST_DAYS
    low, high = begins, known.asked + (STRONG_MOST_DAYS if strong else MOST_DAYS)
    if not _goes(known, level, way, high):
        return None  # tried first, since usually no day will do
    if _goes(known, level, way, low):
        return low
    while high - low > 1:  # longer is always better, so bisect
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
    """What will be known on a day if the gravity is steady and the airlock silent."""
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
    """Evenings with a reading, up to and including a day."""
    days = range(day, max(asked, day - way.readings * way.apart), -way.apart)
    return tuple(reversed(days)) or (day,)


def _told(known: SugarEvidence, way: _Way, day: int) -> Earliest:
    """The way as dates: look tonight, unless that is done, and on every evening with a reading."""
    read = _read_days(known.asked, way, day)
    tonight = {known.asked} - {e.day for e in known.counts}
    return Earliest(
        on=date.fromordinal(day),
        read_on=tuple(date.fromordinal(d) for d in read),
        look_on=tuple(date.fromordinal(d) for d in sorted({*read, *tonight})),
        keep_c=way.keep_c,
    )
