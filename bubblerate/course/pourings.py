"""Follows a wine row by row: what each row did to its litres, strength and gravity.

Usual amounts are used if none was noted; each is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Final

import numpy as np

from ..diary.events import Event
from ..diary.styles import kind_of
from ..ferment.finish import likely_finish
from ..ferment.priors import READING_SD_POINTS
from ..physics.hydrometer import corrected_sg
from .mass import Draws, Wine
from .must import START_DAYS, Told, must
from .weighed_in import DOSED, Unweighed, dosed, like

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import datetime

    from ..diary.outcomes import Opened
    from ..diary.settings import Hydrometer
    from ..diary.visit import Visit
    from .mass import Floats

__all__ = ["Walked", "walked"]


USUAL_LITRES: Final = 4.5
JUICE_SG: Final = (1.040, 1.090)
WATER_SG: Final = 1.0
UNWEIGHED_G_PER_LITRE: Final = (0.0, 40.0)
RISEN_POINTS: Final = 3.0  # a reading this much higher was taken after the sugar
MOST_SUGAR_G_PER_LITRE: Final = 500.0
DEEPEST: Final = 12  # how many jars back other diaries are followed


@dataclass(frozen=True, slots=True, kw_only=True)
class Walked:
    """A wine, and what its values are based on."""

    wine: Wine
    litres: float | None
    start: Told
    end: Told
    unknown: tuple[str, ...]
    unweighed: tuple[Unweighed, ...]


def walked(
    jar: Opened,
    *,
    at: datetime,
    of: Callable[[str], Opened | None],
    draws: Draws,
    depth: int = 0,
) -> Walked | None:
    """Follow a wine from pitching to a moment; None if nothing is known about it.

    Parameters
    ----------
    jar : Opened
    at : datetime
        Aware; later rows are not used.
    of : callable
        Diary of another jar, by its name.
    draws : Draws
    depth : int
        How many jars back this one is.

    Returns
    -------
    Walked or None
    """
    rows = jar.diary.until(at).batch
    if not rows:
        return None
    walk = _Walk(jar, rows, of, draws, depth)
    if not walk.begin():
        return None
    for row in rows:
        walk.step(row)
    return walk.end()


class _Walk:
    """The wine after each row."""

    def __init__(
        self,
        jar: Opened,
        rows: Sequence[Visit],
        of: Callable[[str], Opened | None],
        draws: Draws,
        depth: int,
    ) -> None:
        self.jar, self.rows, self.of, self.draws, self.depth = jar, rows, of, draws, depth
        said = jar.settings.vessel(jar.diary.vessel)
        self.style = said.style
        noted = next((v.litres for v in rows if v.litres), said.litres)
        self.known_litres = noted
        self.litres_now = noted
        self.stem: Hydrometer = jar.settings.hydrometer
        self.unknown: list[str] = []
        self.unweighed: list[Unweighed] = []
        self.sugar_unweighed = False
        self.reading: Floats | None = None  # gravity it fell to since it was last poured into

    def begin(self) -> bool:
        """Set the must; False if nothing is known."""
        found = must(
            self.rows,
            self.draws,
            read=self._read,
            litres=self.known_litres,
            style=kind_of(self.style).style,
        )
        if found is None:
            return False
        og, self.start = found
        self.wine = Wine(
            litres=self.draws.litres(self.known_litres or USUAL_LITRES),
            abv_pct=np.zeros_like(og),
            sg=og,
        )
        if self.known_litres is None:
            self.unknown.append("litres")
        return True

    # --- rows ------------------------------------------------------------------------------------

    def step(self, row: Visit) -> None:
        """Apply one row: what was poured in, then what was read, then what is left."""
        before = row.sg is not None and not self._after_sugar(row)
        if before:
            self._take_reading(row)
        self._pour(row)
        if row.sg is not None and not before:
            self._take_reading(row)
        if row.litres:
            self.wine = self.wine.left(self.draws.litres(row.litres))
            self.litres_now = row.litres
        if row.event in DOSED:  # into all the wine in the jar after the row
            name = self.jar.diary.vessel
            self.wine, lacking = dosed(self.wine, row, draws=self.draws, vessel=name)
            self.unweighed += lacking

    def _after_sugar(self, row: Visit) -> bool:
        """Whether a row's reading was taken after its addition."""
        if row.event not in (Event.FED, Event.SWEETENED, Event.DILUTED, Event.JOINED):
            return False
        if row.event is Event.DILUTED:
            return self._true(row) < self._sg - 0.001 * RISEN_POINTS
        return self._true(row) > self._sg + 0.001 * RISEN_POINTS

    @property
    def _sg(self) -> float:
        """The last known gravity."""
        return float((self.wine.sg if self.reading is None else self.reading)[0])

    def _settle(self) -> None:
        """Let it ferment to its newest reading; earlier ones tell no more about its strength."""
        if self.reading is not None:
            self.wine = self.wine.fermented_to(self.reading)
            self.reading = None

    def _take_reading(self, row: Visit) -> None:
        sg = self._read(row)
        risen = self.reading is not None and float(sg[0]) > self._sg + 0.001 * RISEN_POINTS
        if not self.sugar_unweighed and not risen:
            self.reading = sg
            return
        self._settle()
        if float(sg[0]) > float(self.wine.sg[0]):  # more sugar than the rows have
            self.wine = self.wine.sugared_to(sg)
        else:
            some = self.draws.between(*UNWEIGHED_G_PER_LITRE) * self.wine.litres
            self.wine, self.reading = self.wine.with_sugar(some), sg
        self.sugar_unweighed = False

    def _pour(self, row: Visit) -> None:
        acts = {
            Event.FED: self._fed,
            Event.SWEETENED: self._fed,
            Event.BOTTLED_SPARKLING: self._sugar,
            Event.TOPPED_UP: self._wine_in,
            Event.JOINED: self._wine_in,
            Event.DILUTED: self._water,
            Event.STARTER: self._starter,
        }
        act = acts.get(row.event) if row.event is not None else None
        if act is not None:
            self._settle()
            act(row)

    def _fed(self, row: Visit) -> None:
        if row.other:
            self._wine_in(row)
            return
        if row.added_l is not None and row.sugar_g is None:
            self._mix(row.added_l, 0.0, self.draws.between(*JUICE_SG))
            return
        if row.sugar_g is None:
            self.sugar_unweighed = True
            self.unknown.append(str(row.event))
            return
        if row.added_l is not None:
            self._mix(row.added_l, 0.0, self.draws.normal(WATER_SG, 0.0))
        self._sugar(row)

    def _sugar(self, row: Visit) -> None:
        grams = row.sugar_g
        if grams is not None and grams <= MOST_SUGAR_G_PER_LITRE * float(self.wine.litres[0]):
            self.wine = self.wine.with_sugar(self.draws.grams(grams))

    def _water(self, row: Visit) -> None:
        added = self._added(row)
        if added is None:
            self.unknown.append(str(row.event))
        else:
            self._mix(added, 0.0, self.draws.normal(WATER_SG, 0.0))

    def _starter(self, row: Visit) -> None:
        if row.added_l is not None:
            self._mix(row.added_l, 4.0, self.draws.between(1.0, 1.04))

    def _wine_in(self, row: Visit) -> None:
        added = self._added(row)
        if added is None:
            if row.event is not Event.JOINED:  # the wine's own history, continued
                self.unknown.append(str(row.event))
            return
        theirs = self._of_other(row)
        if theirs is None:
            self.unknown.append(row.other or str(row.event))
            theirs = like(self.wine, self.draws)
        self.wine = self.wine.with_wine(theirs.left(self.draws.litres(added)))

    def _of_other(self, row: Visit) -> Wine | None:
        """The wine of the other jar as it was just before."""
        if not row.other or self.depth >= DEEPEST:
            return None
        jar = self.of(row.other)
        if jar is None:
            return None
        before = row.when - timedelta(seconds=1)
        found = walked(jar, at=before, of=self.of, draws=self.draws, depth=self.depth + 1)
        if found is None:
            return None
        self.unknown += found.unknown
        self.unweighed += found.unweighed
        return found.wine

    def _added(self, row: Visit) -> float | None:
        """Wine that a row poured in [L]: as written, or from what the jar held before and after."""
        if row.added_l is not None or row.litres is None or self.litres_now is None:
            return row.added_l
        return row.litres - self.litres_now if row.litres > self.litres_now else None

    def _mix(self, litres: float, abv_pct: float, sg: Floats) -> None:
        other = Wine(self.draws.litres(litres), np.full_like(sg, abv_pct), sg)
        self.wine = self.wine.with_wine(other)

    # --- readings, and the end -------------------------------------------------------------------

    def _true(self, row: Visit) -> float:
        c = self.stem.calibration_c
        sample_c = c if row.sample_c is None else row.sample_c
        assert row.sg is not None
        return float(corrected_sg(row.sg, sample_c, calibration_c=c, offset=self.stem.offset))

    def _read(self, row: Visit) -> Floats:
        return self.draws.gravity(self._true(row), 0.001 * READING_SD_POINTS)

    def end(self) -> Walked:
        """The wine as it is now; its gravity is supposed if it was not read since the start."""
        self._settle()
        end = Told.READ
        last = max((v.when for v in self.rows if v.sg is not None), default=None)
        days = timedelta(days=START_DAYS)
        if last is None or (self.start is Told.READ and last - self.rows[0].when <= days):
            finish = likely_finish(float(self.wine.must[0]), self.style)
            spread = 0.0005 * (finish.below_points + finish.above_points)
            self.wine = self.wine.fermented_to(self.draws.normal(finish.centre_sg, spread))
            end = Told.USUAL
        return Walked(
            wine=self.wine,
            litres=self.litres_now,
            start=self.start,
            end=end,
            unknown=tuple(self.unknown),
            unweighed=tuple(dict.fromkeys(self.unweighed)),
        )
