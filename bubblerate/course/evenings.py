"""The rows of one wine by evening: what was done, seen and read on which date.

Facts compare dates, so the order of rows within an evening does not matter.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from statistics import median
from typing import TYPE_CHECKING

from . import acts
from .bubbling import Count
from .days import evening_of
from .parts import Reading

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import date

    from ..diary.visit import Visit

__all__ = ["Evenings"]


@dataclass(frozen=True)
class Evenings:
    """Live rows of one wine with their evenings, oldest first.

    Parameters
    ----------
    rows : tuple of Visit
        As `Diary.batch` gives them.
    """

    rows: tuple[Visit, ...]

    @cached_property
    def dated(self) -> tuple[tuple[date, Visit], ...]:
        """Each row with its evening."""
        return tuple((evening_of(row.when), row) for row in self.rows)

    @property
    def first(self) -> date:
        """Evening of the oldest row."""
        return self.dated[0][0]

    @property
    def last(self) -> date:
        """Evening of the newest row."""
        return self.dated[-1][0]

    def upto(self, day: date) -> tuple[Visit, ...]:
        """Rows up to the end of an evening."""
        return tuple(row for on, row in self.dated if on <= day)

    def on(self, *events: str) -> Iterator[tuple[date, Visit]]:
        """Rows of some events, oldest first."""
        return ((on, row) for on, row in self._acts if row.event in events)

    @cached_property
    def _acts(self) -> tuple[tuple[date, Visit], ...]:
        """Rows with an event, which are few, each beside its evening."""
        return tuple((on, row) for on, row in self.dated if row.event is not None)

    def newest(self, events: Iterable[str], *, since: date | None = None) -> date | None:
        """Newest evening with one of the events, from a day on."""
        days = [on for on, _ in self.on(*events) if since is None or on >= since]
        return max(days, default=None)

    @cached_property
    def readings(self) -> tuple[Reading, ...]:
        """Gravity of each evening on which it was read; the middle one of several."""
        by_day: dict[date, list[float]] = {}
        for on, row in self.dated:
            if row.sg is not None:
                by_day.setdefault(on, []).append(row.sg)
        return tuple(Reading(on=on, sg=median(by_day[on])) for on in sorted(by_day))

    @cached_property
    def temps_c(self) -> tuple[tuple[date, float], ...]:
        """Warmest temperature noted on each evening."""
        by_day: dict[date, float] = {}
        for on, row in self.dated:
            if row.temp_c is not None:
                by_day[on] = max(row.temp_c, by_day.get(on, row.temp_c))
        return tuple(sorted(by_day.items()))

    def counts(self, after: date) -> tuple[Count, ...]:
        """Bubbles of each evening after a day, added up over its rows."""
        by_day: dict[date, list[tuple[int, float]]] = {}
        for on, row in self.dated:
            if row.bubbles is not None and on > after:
                by_day.setdefault(on, []).append((row.bubbles, (row.seconds or 60.0) / 60.0))
        cuts = sorted({on for on, _ in self.on(*acts.STRETCH)})
        shaken = {on for on, _ in self.on(*acts.SHAKEN)}
        return tuple(
            Count(
                on=on,
                bubbles=sum(n for n, _ in some),
                minutes=sum(minutes for _, minutes in some),
                stretch=sum(cut < on for cut in cuts),
                shaken=any(0 <= (on - day).days <= 1 for day in shaken),
            )
            for on, some in sorted(by_day.items())
        )

    @cached_property
    def noted_litres(self) -> tuple[tuple[date, float], ...]:
        """Litres noted on each evening since the volume last changed on purpose."""
        some = self.dated[self.poured or 0 :]
        return tuple((on, row.litres) for on, row in some if row.litres is not None)

    @property
    def poured(self) -> int | None:
        """Index of the row in which it was last split, joined, or partly bottled."""
        places = [n for n, row in enumerate(self.rows) if _another_volume(row)]
        return places[-1] if places else None

    @property
    def litres(self) -> float | None:
        """Litres as last noted; the most of that evening (racked, then topped up)."""
        noted = self.noted_litres
        return max((n for on, n in noted if on == noted[-1][0]), default=None)


def _another_volume(row: Visit) -> bool:
    rest = row.event in acts.BOTTLINGS and bool(row.litres)
    return rest or row.event in (acts.SPLIT, acts.JOINED)
