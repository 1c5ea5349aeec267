"""The state of a jar: what has been done to it, and how much wine is in it.

Days are calendar days in the UTC offset of the diary.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..diary.events import Event
from ..diary.visit import bottled
from ..physics.constants import SUCROSE_LITRES_PER_G
from .evenings import Evenings

if TYPE_CHECKING:
    from datetime import date

    from ..diary.settings import VesselSettings
    from ..diary.visit import Diary, Visit

__all__ = ["Standing", "standing"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """One wine as of one day.

    Attributes
    ----------
    vessel : str
    pitched_on : date or None
    rows : tuple of Visit
        Live rows of this wine, oldest first.
    litres, full_litres : float or None
        Wine in the vessel now, and when filled to its right headspace [L].
    full_said : bool
        Whether the maker has said the latter; otherwise it is the most noted for the jar.
    """

    vessel: str
    pitched_on: date | None
    rows: tuple[Visit, ...]
    litres: float | None
    full_litres: float | None
    full_said: bool

    def did(self, event: str) -> tuple[Visit, ...]:
        """Rows of one event, or of one that counts as the same, oldest first."""
        if event == Event.BOTTLED:
            return bottled(self.rows)
        return tuple(visit for visit in self.rows if visit.event and visit.event.base == event)

    @property
    def on_finings(self) -> bool:
        """Whether it was fined and has not been racked since."""
        fined, racked = self.last_day("fined"), self.last_day("racked")
        return fined is not None and (racked is None or fined > racked)

    def last_day(self, event: str) -> date | None:
        """Day on which something was last done."""
        done = self.did(event)
        return done[-1].when.date() if done else None


def standing(diary: Diary, *, known: VesselSettings) -> Standing:
    """Find the state of a jar from its rows and settings.

    Parameters
    ----------
    diary : Diary
        As of the moment asked about.
    known : VesselSettings
        What the maker says about this vessel.

    Returns
    -------
    Standing
    """
    rows = diary.batch
    seen = Evenings(rows)
    noted = [litres for _, litres in seen.noted_litres]
    litres = noted[-1] if noted else known.litres
    if litres is not None:
        litres = round(litres + _added_l(rows), 3)
    said = [known.litres] if known.litres and seen.poured is None else []
    fullest = max([*noted, *said], default=None)
    return Standing(
        vessel=diary.vessel,
        pitched_on=rows[0].when.date() if rows else None,
        rows=rows,
        litres=litres,
        full_litres=known.full_litres or fullest,
        full_said=known.full_litres is not None,
    )


def _added_l(rows: tuple[Visit, ...]) -> float:
    """Volume put in since the litres were last noted [L]; sugar adds to the volume."""
    last = max((n for n, row in enumerate(rows) if row.litres is not None), default=-1)
    return sum(
        (row.added_l or 0.0) + SUCROSE_LITRES_PER_G * (row.sugar_g or 0.0)
        for row in rows[last + 1 :]
        if row.event is not Event.PITCHED
    )
