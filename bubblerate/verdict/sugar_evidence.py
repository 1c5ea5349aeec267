"""All in a diary that tells of sugar left in a wine, as one frozen value.

Gravity is in points (0.001 SG) above 1.000, temperatures in C, days are evenings (`acts`).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING, Final, NamedTuple

from ..diary.settings import Settings
from ..ferment.finish import FinishDistribution, kind_of
from ..ferment.poisson import at_least_per_min
from ..physics.hydrometer import corrected_sg
from .acts import (
    ROUSED,
    TREATED,
    Reading,
    Row,
    evening,
    finish_of,
    last_day,
    proof_readings,
    rows_of,
    since,
    stabilised_on,
    sugar_in,
)
from .seen import Seen, seen

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from ..diary.settings import Hydrometer, VesselSettings
    from ..diary.visit import Diary

__all__ = ["JAR_LITRES", "Evening", "Spell", "SugarEvidence", "sugar_evidence", "weather_per_min"]

JAR_LITRES: Final = 4.5  # a demijohn, unless the diary says (common practice, no source)
WEATHER_PER_MIN: Final = 0.1  # in such a jar: below it, weather and yeast look alike (trade)
SPEAKS_DAYS: Final = 3.5  # of one temperature, on either side (our judgement, no source)
TEST_BOTTLE_DAYS: Final = 14
SILENT_EVENINGS, SILENT_DAYS = 3, 14  # before bubbles can be said to be back (our judgement),
SURELY_BACK: Final = 0.99  # surer than elsewhere, for it is asked of every evening anew

# Acts after which gas leaves for a day (common practice, no source).
DISTURBING: Final = frozenset(
    {"racked", "moved", "warmed", "chilled", "stirred", "degassed", "topped-up", "filtered"}
    | {"strained", "pressed", "poured-back"}
)
MOVED: Final = frozenset({"moved", "warmed", "chilled"})
LEAKED: Final = frozenset({"airlock", "bung-leaked"})  # silence before it may have been a leak


class Evening(NamedTuple):
    """All that was counted on one evening, however it was cut into rows.

    `gap_per_min` is the largest rate that a single row of less than a minute surely shows: a timed
    gap, which no other count of that evening may hide.
    """

    day: int
    bubbles: int
    minutes: float
    gap_per_min: float = 0.0


class Spell(NamedTuple):
    """Days through which the jar surely stood at this temperature or above."""

    first: float
    last: float
    temp_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SugarEvidence:
    """All that tells of the sugar left, as of one evening.

    Attributes
    ----------
    asked : int
        Evening asked about.
    finish : FinishDistribution
        Where it should end: by its start, style, what was fed, and the maker's word.
    maker_sg : float or None
        Finish that the maker has typed.
    tested : bool
        A bottle of this wine kept two weeks at 25 C did not move.
    og_sg : float or None
        Original gravity, sugar fed since included: it gives the strength.
    litres : float
        Wine in the jar.
    sugar_in : int or None
        Newest evening on which sugar came in that yeast can take.
    since : int or None
        Evening from which readings prove that it stands: the newest act that moved the gravity.
    readings : tuple of Reading
        Oldest first; those before `since` only where a mass balance brings them to today's wine.
    counts : tuple of Evening
        Through this airlock since sugar came in, oldest first.
    warmth : tuple of Spell
        Oldest first.
    stabilised : int or None
        Evening on which it was stabilised, where that still holds.
    sugar_low : bool or None
        Whether a strip or tablet said last that there is under 3 g/L.
    roused, treated : tuple of int
        Evenings on which something was done to wake the yeast; on which it was sulphited, fined,
        racked or filtered.
    unproven : int or None
        Newest of `treated` on whose eve nothing was proven yet; the judgement fills it.
    back : int or None
        Newest evening on which bubbles came back after silence.
    seen : Seen
        What the maker saw and said of it.
    bubble_ml : tuple of float or None
        Gas made for each bubble counted, learnt from this jar, and its natural-log spread [mL].
    """

    asked: int
    finish: FinishDistribution
    maker_sg: float | None = None
    tested: bool = False
    og_sg: float | None = None
    litres: float = JAR_LITRES
    sugar_in: int | None = None
    since: int | None = None
    readings: tuple[Reading, ...] = ()
    counts: tuple[Evening, ...] = ()
    warmth: tuple[Spell, ...] = ()
    stabilised: int | None = None
    sugar_low: bool | None = None
    roused: tuple[int, ...] = ()
    treated: tuple[int, ...] = ()
    unproven: int | None = None
    back: int | None = None
    seen: Seen = field(default_factory=Seen)
    bubble_ml: tuple[float, float] | None = None

    @property
    def looked(self) -> int:
        """Evening of the last reading or count: all is judged as of then, not of the clock."""
        last = [self.readings[-1].day] if self.readings else []
        return max([*last, *(e.day for e in self.counts[-1:])], default=self.asked)


def sugar_evidence(
    diary: Diary,
    *,
    at: datetime,
    settings: Settings | None = None,
    bubble_ml: tuple[float, float] | None = None,
) -> SugarEvidence:
    """Gather what a diary tells of the sugar left.

    Parameters
    ----------
    diary : Diary
        Of one vessel.
    at : datetime
        The moment asked about, aware; later rows take no part.
    settings : Settings, optional
        Hydrometer, and what the maker said of the vessel.
    bubble_ml : tuple of float, optional
        Gas for each bubble, learnt from this jar [mL], and its spread in natural logarithms.

    Returns
    -------
    SugarEvidence
    """
    settings = settings or Settings()
    said = settings.vessel(diary.vessel)
    diary = diary.until(at)
    rows = rows_of(diary.batch, said.litres)
    read = [Reading(r.day, _points(r, settings.hydrometer)) for r in rows if r.visit.sg is not None]
    began, sugar, litres = since(rows), sugar_in(rows), diary.litres or said.litres or JAR_LITRES
    counts = _counts(rows, sugar)
    back = _back(counts, weather_per_min(litres))
    tested = _tested(rows, began)
    finish, og_sg = finish_of(rows, read, said.style, _start(diary, said))
    zone = diary.batch[-1].when.tzinfo if rows else at.tzinfo
    return SugarEvidence(
        asked=evening(at.astimezone(zone)),
        finish=finish if said.finish is None else finish.narrowed(said.finish, tested=tested),
        maker_sg=said.finish,
        tested=tested,
        og_sg=og_sg,
        litres=litres,
        sugar_in=sugar,
        since=began,
        readings=proof_readings(rows, read),
        counts=counts,
        warmth=_warmth(rows),
        stabilised=stabilised_on(rows),
        sugar_low=_sugar_low(rows, began),
        roused=_evenings(rows, ROUSED),
        treated=_evenings(rows, TREATED),
        back=back,
        seen=seen(
            rows,
            said,
            sugar=sugar,
            back=back,
            malolactic=kind_of(said.style).malolactic,
            deposit_days=settings.keeping.deposit_days,
        ),
        bubble_ml=bubble_ml,
    )


def weather_per_min(litres: float) -> float:
    """Rate that weather and old gas can make of so much wine, without yeast [bubbles/min]."""
    return WEATHER_PER_MIN * litres / JAR_LITRES


def _points(row: Row, stem: Hydrometer) -> float:
    sg, sample_c = row.visit.sg, row.visit.sample_c
    assert sg is not None
    read_c = stem.calibration_c if sample_c is None else sample_c
    true_sg = corrected_sg(sg, read_c, calibration_c=stem.calibration_c, offset=stem.offset)
    return round(1000.0 * (float(true_sg) - 1.0), 6)


def _start(diary: Diary, said: VesselSettings) -> int | None:
    """Evening on which the yeast went in, where the diary or the settings say so."""
    pitched = [v.when for v in diary.batch if v.event == "pitched"]
    start = said.pitched or diary.day_0 or (pitched[-1] if pitched else None)
    return None if start is None else evening(start)


def _evenings(rows: Sequence[Row], events: frozenset[str]) -> tuple[int, ...]:
    return tuple(sorted({r.day for r in rows if r.event in events}))


def _tested(rows: Sequence[Row], began: int | None) -> bool:
    """Whether a test bottle drawn since the last act that moved the gravity stayed quiet."""
    day = last_day(rows, {"tested"})
    return day is not None and (began is None or day >= began + TEST_BOTTLE_DAYS)


def _sugar_low(rows: Sequence[Row], began: int | None) -> bool | None:
    """Answer of the newest strip since then; of two on one evening the worse."""
    low, high = last_day(rows, {"sugar-low"}), last_day(rows, {"sugar-high"})
    newest = max((day for day in (low, high) if day is not None), default=None)
    return None if newest is None or newest < (began or 0) else newest != high


def _counts(rows: Sequence[Row], sugar: int | None) -> tuple[Evening, ...]:
    """Counts since sugar came in, an evening each, but for what an act has spoilt.

    Silence before the airlock was opened may have been a leak; an evening on which gas was shaken
    out, and the next, are passed over once there is a later count.
    """
    sums: dict[int, Evening] = {}
    for day, visit, _ in rows:
        if visit.bubbles is not None and (sugar is None or day >= sugar):
            _, n, minutes, gap = sums.get(day, Evening(day, 0, 0.0))
            more = visit.seconds / 60.0
            if more < 1.0:
                gap = max(gap, at_least_per_min(visit.bubbles, more))
            sums[day] = Evening(day, n + visit.bubbles, minutes + more, gap)
    leaked = last_day(rows, LEAKED) or 0
    evenings = [sums[day] for day in sorted(sums)]
    sound = [e for e in evenings if e.day > leaked or (e.day == leaked and e.bubbles > 0)]
    shaken = {day + d for day in _evenings(rows, DISTURBING) for d in (0, 1)}
    calm = [e for e in sound if e.day not in shaken]
    after = calm[-1].day if calm else 0
    return tuple(e for e in sound if e.day not in shaken or e.day > after)


def _back(counts: Sequence[Evening], weather: float) -> int | None:
    """Newest evening that surely bubbled after several silent ones and none that did not."""
    for i in range(len(counts) - 1, 0, -1):
        now = counts[i]
        if at_least_per_min(now.bubbles, now.minutes, sure=SURELY_BACK) <= weather:
            continue
        before = [e for e in counts[:i] if now.day - e.day <= SILENT_DAYS]
        if len(before) >= SILENT_EVENINGS and not any(e.bubbles for e in before):
            return now.day
    return None


def _warmth(rows: Sequence[Row]) -> tuple[Spell, ...]:
    """Spells that the temperatures noted speak for; a jar that was moved is not known before it."""
    coldest: dict[int, float] = {}
    for day, visit, _ in rows:
        if visit.temp_c is not None:
            coldest[day] = min(visit.temp_c, coldest.get(day, visit.temp_c))
    moved = _evenings(rows, MOVED)
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
    """What two temperatures say of the days between: near each other, the colder; else little."""
    first, last, c = spell
    if not moved and last - first <= 2.0 * SPEAKS_DAYS:
        return [Spell(first, last, min(c, later_c))]
    until, begins = min([first + SPEAKS_DAYS, *moved]), max([last - SPEAKS_DAYS, *moved])
    return [Spell(first, until, c), Spell(max(begins, until), last, later_c)]
