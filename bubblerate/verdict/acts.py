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

from ..physics.constants import SORBIC_SHARE_OF_SORBATE
from ..physics.doses import SORBIC_MG_PER_LITRE
from .limits import STABLE_DAYS

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence
    from datetime import datetime

    from ..diary.visit import Visit

__all__ = [
    "LIKE_WINE_SHARE",
    "ROUSED",
    "SUGAR",
    "TREATED",
    "Reading",
    "Row",
    "days_of",
    "enough_sorbate",
    "evening",
    "last_day",
    "proof_readings",
    "rows_of",
    "since",
    "stabilised_on",
    "sugar_in",
    "topped_up_beyond",
]

MORNING: Final = timedelta(hours=4)  # a count at 00:30 belongs to the evening before
JAR_LITRES: Final = 4.5  # a demijohn, unless the diary says otherwise (common practice, no source)
LIKE_WINE_SHARE: Final = 0.1  # topped up in all; more makes another wine (our judgement)
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
    def most_share(self) -> float:
        """The same of a jar of the usual size if its litres are unknown; else all of it."""
        share = self.added_share
        if share is None and self.added_l is not None:
            return self.added_l / (JAR_LITRES + self.added_l)
        return 1.0 if share is None else share

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
    return topped_up_beyond(rows, began)


def topped_up_beyond(rows: Sequence[Row], began: int | None) -> int | None:
    """Newest evening after which no more than a tenth of the jar was topped up.

    Reckoned back from now: a reading speaks of what was in the jar on its evening. How much went
    in and was not said may have been more.
    """
    own = 1.0
    for row in reversed(rows):
        if row.event == "topped-up" and (began is None or row.day > began):
            own *= 1.0 - row.most_share
            if 1.0 - own > LIKE_WINE_SHARE + 1e-9:
                return row.day
    return began
