"""What each act means for the sugar left: sugar and water change the gravity, racking does not.

Rows are compared by their evening only, so their order within one does not matter. An evening is
the ordinal of its date and lasts until four in the morning. A wait of 14 days is 14 dates. Gravity
is in points (0.001 SG) above 1.000.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Final, NamedTuple

from ..ferment.finish import G_PER_POINT_LIFTED, FinishDistribution, likely_finish
from ..physics.alcohol import OG_HIGH
from ..physics.constants import SORBIC_SHARE_OF_SORBATE
from ..physics.doses import SORBIC_MG_PER_LITRE
from ..physics.scales import points, sg_at
from .limits import STABLE_DAYS

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence
    from datetime import datetime

    from ..diary.visit import Visit

__all__ = [
    "ROUSED",
    "SUGAR",
    "TREATED",
    "Reading",
    "Row",
    "days_of",
    "enough_sorbate",
    "evening",
    "finish_of",
    "last_day",
    "proof_readings",
    "rows_of",
    "since",
    "stabilised_on",
    "sugar_in",
]

MORNING: Final = timedelta(hours=4)  # a count at 00:30 belongs to the evening before
LIKE_WINE_SHARE: Final = 0.1  # topped up in all; more makes another wine (our judgement)
START_EVENINGS: Final = 2  # days after pitching; a later reading is not the must's (our judgement)
SWEETER_POINTS: Final = 3.0  # a reading this much higher was taken after the sugar (our judgement)

MOST_SUGAR_G_PER_LITRE: Final = 500.0  # above it, a mistake of units (our judgement)

SUGAR: Final = frozenset({"fed", "sweetened"})
ALIVE_AGAIN: Final = frozenset({"starter", "joined", "pitched"})  # sorbate no longer holds it
ROUSED: Final = frozenset({"stirred", "starter", "warmed"})
_POURED: Final = frozenset({"topped-up", "diluted", "joined"})
TREATED: Final = frozenset({"sulphited", "fined", "racked", "filtered"})


@dataclass(frozen=True, slots=True)
class Row:
    """One visit, its evening, and the wine that the jar held before it [L]."""

    day: int
    visit: Visit
    litres_before: float | None

    @property
    def event(self) -> str | None:
        """What was done or seen, if anything; two-part finings count as finings."""
        return None if self.visit.event is None else self.visit.event.base

    @property
    def litres_after(self) -> float | None:
        """Wine that the jar held after it [L]."""
        return self.visit.litres or self.litres_before

    @property
    def added_l(self) -> float | None:
        """Wine poured in [L]: as written, or from what the jar held before and after."""
        written: float | None = getattr(self.visit, "added_l", None)
        if written is not None or self.litres_before is None or self.visit.litres is None:
            return written
        return max(self.visit.litres - self.litres_before, 0.0) or None

    @property
    def enough_sorbate(self) -> bool:
        """Whether the sorbate put in holds the yeast back."""
        return enough_sorbate(self.visit, self.litres_after)

    @property
    def added_share(self) -> float | None:
        """Share of the jar's wine that was poured in; None if unknown."""
        if self.added_l is None or self.litres_before is None:
            return None
        return self.added_l / (self.litres_before + self.added_l)

    @property
    def sugar_g_per_litre(self) -> float | None:
        """Sugar put in [g/L]; None if it was not weighed, or is more than wine can take."""
        grams: float | None = getattr(self.visit, "sugar_g", None)
        litres = self.litres_after
        if grams is None or litres is None or grams > MOST_SUGAR_G_PER_LITRE * litres:
            return None
        return grams / litres


def enough_sorbate(visit: Visit, litres: float | None) -> bool:
    """Whether the sorbate of a row holds yeast back in this much wine; yes if nobody weighed it.

    Two weighings and a volume by hand may be off by a fifth (our judgement).
    """
    grams: float | None = getattr(visit, "sorbate_g", None)
    if grams is None or not litres:
        return True
    sorbic_mg_per_litre = 1000.0 * SORBIC_SHARE_OF_SORBATE * grams / litres
    return sorbic_mg_per_litre >= 0.8 * SORBIC_MG_PER_LITRE[0]


class Reading(NamedTuple):
    """One gravity reading, corrected for the sample's temperature and the stem's offset."""

    day: int
    points: float


def evening(when: datetime) -> int:
    """Evening of a moment, in the offset it was written with, as an ordinal of the calendar.

    Examples
    --------
    >>> from datetime import UTC, date, datetime
    >>> date.fromordinal(evening(datetime(2026, 11, 25, 0, 30, tzinfo=UTC))).isoformat()
    '2026-11-24'
    """
    return (when - MORNING).toordinal()


def rows_of(visits: Sequence[Visit], litres: float | None = None) -> tuple[Row, ...]:
    """Rows of these visits, oldest first; `litres` is the wine held until a row notes it."""
    rows = []
    for visit in visits:
        rows.append(Row(evening(visit.when), visit, litres))
        litres = visit.litres or litres
    return tuple(sorted(rows, key=lambda row: row.day))


def last_day(rows: Sequence[Row], events: Collection[str]) -> int | None:
    """Newest evening with one of these events."""
    return max((row.day for row in rows if row.event in events), default=None)


def days_of(rows: Sequence[Row], events: Collection[str]) -> tuple[int, ...]:
    """Evenings with one of these events, oldest first."""
    return tuple(sorted({row.day for row in rows if row.event in events}))


def stabilised_on(rows: Sequence[Row]) -> int | None:
    """Evening on which the wine was stabilised, unless living yeast or late sugar came in after."""
    enough = [row for row in rows if row.event == "stabilised" and row.enough_sorbate]
    day, alive = last_day(enough, {"stabilised"}), last_day(rows, ALIVE_AGAIN)
    if day is None or (alive is not None and alive >= day):
        return None
    sugar = last_day(rows, SUGAR)
    return None if sugar is not None and sugar > day + STABLE_DAYS else day


def sugar_in(rows: Sequence[Row]) -> int | None:
    """Newest evening on which sugar came in that yeast can use: not into stabilised wine."""
    held = stabilised_on(rows)
    fed = [r.day for r in rows if r.event in SUGAR and (held is None or r.day < held)]
    return max([*fed, *(r.day for r in rows if r.event == "pitched")], default=None)


def since(rows: Sequence[Row]) -> int | None:
    """Evening from which readings are proof: that of the newest act that changed the gravity.

    A bottle that gushed shows that the proof before it was wrong.
    """
    moved = [_another_wine(rows), last_day(rows, {"diluted", "gushed"})]
    return max((day for day in moved if day is not None), default=None)


def proof_readings(rows: Sequence[Row], read: Sequence[Reading]) -> tuple[Reading, ...]:
    """Find the readings that are true of the wine as it is now.

    Parameters
    ----------
    rows : sequence of Row
        Of one wine, oldest first.
    read : sequence of Reading
        Every gravity read, oldest first.

    Returns
    -------
    tuple of Reading
        From the newest act that made it another wine, without those of the must. Readings before
        water went in are converted to today's wine by mass balance.
    """
    began = _another_wine(rows)
    late = [r for r in read if began is None or r.day > began] + _of_first_evening(rows, read)
    watered = [r for r in rows if r.event == "diluted" and r.added_share is not None]
    kept = []
    for r in sorted(late, key=lambda r: r.day):  # those of one evening in the order they were made
        after = [row for row in watered if row.day >= r.day]
        if all(row.day > r.day for row in after):  # before the water or after it: nobody knows
            share = math.prod(1.0 - (row.added_share or 0.0) for row in after)
            kept.append(Reading(r.day, r.points * share))
    return tuple(kept)


def _of_first_evening(rows: Sequence[Row], read: Sequence[Reading]) -> list[Reading]:
    """Readings on the evening of the newest such act that are surely from after it."""
    began = _another_wine(rows)
    tonight = [r for r in read if r.day == began]
    acts = {r.event for r in rows if r.day == began}
    if acts & SUGAR:
        before = [r.points for r in read if began is not None and r.day < began]
        risen = [r for r in tonight if before and r.points >= before[-1] + SWEETER_POINTS]
        return [max(risen, key=lambda r: r.points)] if risen else []
    return tonight if "stabilised" in acts and not acts & _POURED else []


def _another_wine(rows: Sequence[Row]) -> int | None:
    """Newest evening on which it became another wine, so that earlier readings tell nothing."""
    days = [
        sugar_in(rows),
        stabilised_on(rows),
        last_day(rows, SUGAR | {"joined"}),
        max((r.day for r in rows if r.event == "diluted" and r.added_share is None), default=None),
    ]
    began = max((day for day in days if day is not None), default=None)
    return _topped_up_beyond(rows, began)


def _topped_up_beyond(rows: Sequence[Row], began: int | None) -> int | None:
    """Newest evening after which no more than a tenth of the jar was topped up.

    Reckoned back from now: a reading speaks of what was in the jar on its evening.
    """
    own = 1.0
    for row in reversed(rows):
        if row.event == "topped-up" and (began is None or row.day > began):
            own *= 1.0 - (row.added_share or 0.0)
            if 1.0 - own > LIKE_WINE_SHARE + 1e-9:
                return row.day
    return began


def finish_of(
    rows: Sequence[Row], read: Sequence[Reading], style: str | None, start: int | None
) -> tuple[FinishDistribution, float | None]:
    """Find where the wine should end, from its start, its style, and what was fed and poured in.

    Parameters
    ----------
    rows : sequence of Row
        Of one wine, oldest first.
    read : sequence of Reading
        Every gravity read, oldest first.
    style : str or None
        The maker's words.
    start : int or None
        Evening on which the yeast went in, if known.

    Returns
    -------
    finish : FinishDistribution
    og_sg : float or None
        Original gravity, with the sugar fed since; the highest reading if the start was not read,
        since the must was at least that.
    """
    early = [r for r in read if start is not None and start <= r.day <= start + START_EVENINGS]
    og = early[0] if early else max(read, key=lambda r: r.points, default=None)
    if og is not None and og.points > points(OG_HIGH):
        og, early = None, []  # no must is that heavy: misread
    after = [r for r in rows if og is None or r.day >= og.day]
    fed = [r for r in after if r.event in SUGAR and not _held(rows, r)]
    # sugar of the same evening may be in that reading already: as good as not weighed
    grams = [None if og and r.day == og.day else r.sugar_g_per_litre for r in fed]
    weighed = math.fsum(g for g in grams if g is not None)
    known = likely_finish(og and sg_at(og.points), style, fed_g_per_litre=weighed)
    unread = likely_finish(None, style, fed_g_per_litre=weighed)
    finish = known if early or known.centre_sg < unread.centre_sg else unread
    if None in grams:
        finish = finish.fed(None)
    watered = [r.added_share for r in after if r.event == "diluted"]
    kept = math.prod(1.0 - (share or 0.0) for share in watered)
    og_points = None if og is None else kept * (og.points + weighed / G_PER_POINT_LIFTED)
    return finish.diluted(1.0 - kept), None if og_points is None else sg_at(og_points)


def _held(rows: Sequence[Row], row: Row) -> bool:
    """Whether sorbate kept yeast from using the sugar of this row."""
    held = stabilised_on(rows)
    return held is not None and row.day >= held
