"""Where a jar stands: what has been done to it, and what its maker has seen of it and still holds.

Days are calendar days in the offset the diary carries. What was not said is not known.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..diary.events import NEW_SUGAR, Event
from ..diary.visit import bottled

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import date

    from ..diary.settings import VesselSettings
    from ..diary.visit import Diary, Visit

__all__ = ["Seen", "Standing", "standing"]

# Events after which what was seen must be seen again; on the same day too, for the diary does not
# tell which came first. Common practice, no source.
_GASSY = NEW_SUGAR | {"prickle"}
_CLOUDING = NEW_SUGAR | {"stirred", "degassed", "fined", "fined-two-part", "cloudy", "lees"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """Something the maker has seen, unless a later event undid it.

    Attributes
    ----------
    said_on : date or None
        The day given for it; None where nothing was said.
    undone : (str, date) or None
        The last event that makes it worth nothing.
    """

    said_on: date | None = None
    undone: tuple[str, date] | None = None

    @property
    def on(self) -> date | None:
        """The day, if it still holds."""
        return None if self.undone is not None else self.said_on


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """One wine as of one day.

    Attributes
    ----------
    vessel : str
    asked_on : date
    pitched_on : date or None
    rows : tuple of Visit
        Live rows of this wine, oldest first.
    litres, full_litres : float or None
        Wine in the vessel now, and when filled to its right headspace [L].
    full_said : bool
        Whether the maker has said the latter; otherwise it is the most the jar was noted to hold.
    clear, degassed, malolactic : Seen
    """

    vessel: str
    asked_on: date
    pitched_on: date | None
    rows: tuple[Visit, ...]
    litres: float | None
    full_litres: float | None
    full_said: bool
    clear: Seen
    degassed: Seen
    malolactic: Seen

    def did(self, event: str) -> tuple[Visit, ...]:
        """Rows of one event, or one that counts as it, oldest first."""
        if event == Event.BOTTLED:
            return bottled(self.rows)
        return tuple(visit for visit in self.rows if visit.event and visit.event.base == event)

    @property
    def on_finings(self) -> bool:
        """Whether it was fined and not racked since."""
        fined, racked = self.last_day("fined"), self.last_day("racked")
        return fined is not None and (racked is None or fined > racked)

    def last_day(self, event: str) -> date | None:
        """Day on which something was last done."""
        done = self.did(event)
        return done[-1].when.date() if done else None


def standing(diary: Diary, *, on: date, known: VesselSettings) -> Standing:
    """Read off the rows and the settings how a jar stands.

    Parameters
    ----------
    diary : Diary
        As it stood at the end of the day asked about.
    on : date
        The day asked about; what was seen later is not known yet.
    known : VesselSettings
        What the maker says of this vessel.

    Returns
    -------
    Standing
    """
    rows = diary.batch
    noted = [visit.litres for visit in rows if visit.litres is not None]
    litres = noted[-1] if noted else known.litres
    fullest = max([*noted, *([known.litres] if known.litres else [])], default=None)

    def seen(day: date | None, undoing: Collection[str]) -> Seen:
        if day is None or day > on or not rows or day < rows[0].when.date():
            return Seen()
        undone = [
            (str(visit.event), visit.when.date())
            for visit in rows
            if visit.event in undoing and visit.when.date() >= day
        ]
        return Seen(said_on=day, undone=undone[-1] if undone else None)

    return Standing(
        vessel=diary.vessel,
        asked_on=on,
        pitched_on=rows[0].when.date() if rows else None,
        rows=rows,
        litres=litres,
        full_litres=known.full_litres or fullest,
        full_said=known.full_litres is not None,
        clear=seen(known.clear_since, _CLOUDING),
        degassed=seen(known.degassed_on, _GASSY),
        malolactic=seen(known.malolactic_settled_on, NEW_SUGAR),
    )
