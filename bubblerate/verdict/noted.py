"""What was counted through the airlock, and how warm the jar was: evenings and spells.

Rates are bubbles a minute, temperatures C, days are evenings (`acts`).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise
from typing import TYPE_CHECKING, Final, NamedTuple

from ..diary.visit import Visit
from ..ferment.poisson import at_least_per_min
from .acts import JAR_LITRES, MORNING, days_of, last_day

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from datetime import datetime

    from .acts import Row

__all__ = [
    "Evening",
    "Spell",
    "back_on",
    "by_evening",
    "counts_of",
    "shaken_evenings",
    "warmth_of",
    "weather_per_min",
]

WEATHER_PER_MIN: Final = 0.1  # in such a jar; below it, weather and yeast look alike (trade)
SHORTEST_PART_S: Final = 300.0  # length of a count that tells by itself, as bottling asks for
SPEAKS_DAYS: Final = 3.5  # around one temperature (our judgement, no source)
SILENT_EVENINGS, SILENT_DAYS = 3, 14  # silent evenings before bubbles can be back (our judgement),
SURELY_BACK: Final = 0.99  # surer than elsewhere, since every evening is tested again,
TIMES_WEATHER: Final = 4.0  # or probably this much more than weather makes: one timed gap

# Acts after which gas leaves for a day (common practice, no source).
DISTURBING: Final = frozenset(
    {"racked", "moved", "warmed", "chilled", "stirred", "degassed", "topped-up", "filtered"}
    | {"strained", "pressed", "poured-back"}
)
MOVED: Final = frozenset({"moved", "warmed", "chilled"})
LEAKED: Final = frozenset({"airlock", "bung-leaked"})  # silence before these may have been a leak


class Evening(NamedTuple):
    """All that was counted on one evening, however it was cut into rows.

    `gap_per_min` is the largest rate that a single row of less than a minute surely shows: a timed
    gap, which no other count of that evening can hide.
    """

    day: int
    bubbles: int
    minutes: float
    gap_per_min: float = 0.0


class Spell(NamedTuple):
    """Days on which the jar was surely at this temperature or above."""

    first: float
    last: float
    temp_c: float


def weather_per_min(litres: float) -> float:
    """Rate that weather and old gas can make in this much wine, without yeast [bubbles/min]."""
    return WEATHER_PER_MIN * litres / JAR_LITRES


def by_evening(visits: Iterable[Visit]) -> tuple[Visit, ...]:
    """Split long counts at four in the morning, so that each belongs to one evening.

    A row is written when its count ends. Its bubbles are taken as evenly spread. So a machine's
    hours belong to the same evenings, however they are cut into rows.

    Parameters
    ----------
    visits : iterable of Visit

    Returns
    -------
    tuple of Visit
        The same rows; before one that was split, those of its earlier evenings, with only their
        share of the count and the temperature. A short count belongs to the evening with most of
        it.
    """
    rows: list[Visit] = []
    for visit in visits:
        if _of_one_evening(visit):  # nearly always, and a machine writes many rows
            rows.append(visit)
        else:
            rows += _parts(visit)
    return tuple(rows)


def _of_one_evening(visit: Visit) -> bool:
    """Whether its count, if any, surely began no earlier than the evening in which it ended."""
    if visit.bubbles is None or visit.seconds is None:
        return True
    ended = visit.when - MORNING
    return visit.seconds <= 3600 * ended.hour + 60 * ended.minute + ended.second


def _parts(visit: Visit) -> Iterator[Visit]:
    if visit.bubbles is not None and visit.seconds is not None:
        for morning in _mornings(visit.when - timedelta(seconds=visit.seconds), visit.when):
            n, seconds, last = visit.bubbles, visit.seconds, morning - timedelta(seconds=1)
            after_s = (visit.when - morning).total_seconds()
            before_s = seconds - after_s
            if min(before_s, after_s) >= SHORTEST_PART_S:
                share = round(n * before_s / seconds)
                part = Visit(when=last, bubbles=share, seconds=before_s, temp_c=visit.temp_c)
                yield replace(part, line=visit.line)
                visit = replace(visit, bubbles=n - share, seconds=after_s)
            elif before_s > after_s:
                visit = replace(visit, when=last)
    yield visit


def _mornings(began: datetime, ended: datetime) -> Iterator[datetime]:
    """Ends of the evenings between two moments."""
    morning = (began - MORNING).replace(hour=0, minute=0, second=0, microsecond=0) + MORNING
    while (morning := morning + timedelta(days=1)) <= ended:
        yield morning


def counts_of(rows: Sequence[Row], acts: Sequence[Row], sugar: int | None) -> tuple[Evening, ...]:
    """Counts since sugar came in, one per evening, without those that an act has spoilt.

    Silence before the airlock was opened may have been a leak. An evening on which gas was shaken
    out, and the next, are left out once there is a later count.
    """
    sums: dict[int, Evening] = {}
    for day, visit in ((row.day, row.visit) for row in rows):
        if visit.bubbles is not None and (sugar is None or day >= sugar):
            _, n, minutes, gap = sums.get(day, Evening(day, 0, 0.0))
            more = (visit.seconds or 60.0) / 60.0
            if more < 1.0:
                gap = max(gap, at_least_per_min(visit.bubbles, more))
            sums[day] = Evening(day, n + visit.bubbles, minutes + more, gap)
    leaked = last_day(acts, LEAKED) or 0
    evenings = [sums[day] for day in sorted(sums)]
    sound = [e for e in evenings if e.day > leaked or (e.day == leaked and e.bubbles > 0)]
    shaken = shaken_evenings(acts)
    calm = [e for e in sound if e.day not in shaken]
    after = calm[-1].day if calm else 0
    return tuple(e for e in sound if e.day not in shaken or e.day > after)


def shaken_evenings(acts: Sequence[Row]) -> frozenset[int]:
    """Evenings whose counts show the handling: that of an act, and the next."""
    return frozenset(day + d for day in days_of(acts, DISTURBING) for d in (0, 1))


def back_on(counts: Sequence[Evening], weather: float) -> int | None:
    """Newest evening that surely bubbled after several evenings of silence."""
    for i in range(len(counts) - 1, 0, -1):
        now = counts[i]
        surely = at_least_per_min(now.bubbles, now.minutes, sure=SURELY_BACK)
        likely = at_least_per_min(now.bubbles, now.minutes)
        if surely <= weather and likely <= TIMES_WEATHER * weather:
            continue
        before = [e for e in counts[:i] if now.day - e.day <= SILENT_DAYS]
        if len(before) >= SILENT_EVENINGS and not any(e.bubbles for e in before):
            return now.day
    return None


def warmth_of(rows: Sequence[Row], acts: Sequence[Row]) -> tuple[Spell, ...]:
    """Spells that the noted temperatures tell about; a move ends what they tell."""
    coldest: dict[int, float] = {}
    for row in rows:
        c = row.visit.temp_c
        if c is not None:
            coldest[row.day] = min(c, coldest.get(row.day, c))
    moved = days_of(acts, MOVED)
    noted = sorted(coldest.items())
    spells = []
    for day, c in noted[:1]:
        spells.append(Spell(max([day - SPEAKS_DAYS, *(m for m in moved if m <= day)]), day, c))
    for (day, c), (later, warm) in pairwise(noted):
        spells += _between(Spell(day, later, c), warm, [m for m in moved if day <= m <= later])
    for day, c in noted[-1:]:
        spells.append(Spell(day, min([day + SPEAKS_DAYS, *(m for m in moved if m >= day)]), c))
    return tuple(s for s in spells if s.last > s.first)


def _between(spell: Spell, later_c: float, moved: Sequence[int]) -> list[Spell]:
    """What two temperatures tell about the days between: if close in time, the colder."""
    first, last, c = spell
    if not moved and last - first <= 2.0 * SPEAKS_DAYS:
        return [Spell(first, last, min(c, later_c))]
    until, begins = min([first + SPEAKS_DAYS, *moved]), max([last - SPEAKS_DAYS, *moved])
    return [Spell(first, until, c), Spell(max(begins, until), last, later_c)]
