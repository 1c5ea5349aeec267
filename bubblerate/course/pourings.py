"""The rows of a wine walked through, oldest first: what each did to litres, strength and gravity.

Usual amounts stand in where none was noted; each is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from enum import StrEnum
from typing import TYPE_CHECKING, Final

import numpy as np

from ..diary.events import Event
from ..diary.styles import kind_of
from ..ferment.finish import likely_finish
from ..ferment.priors import BUBBLE_ML_SPREAD, ML_GAS_PER_POINT_LITRE, READING_SD_POINTS
from ..physics.alcohol import OG_HIGH
from ..physics.constants import MINUTES_PER_DAY
from ..physics.hydrometer import corrected_sg
from ..physics.scales import sg_from_g_per_litre
from .mass import Draws, Wine

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import datetime

    from ..diary.outcomes import Opened
    from ..diary.settings import Hydrometer
    from ..diary.visit import Visit
    from .mass import Floats

__all__ = ["Told", "Walked", "walked"]


class Told(StrEnum):
    """What a gravity rests on, the surest first."""

    READ = "read"
    RECIPE = "recipe"  # the sugar of the recipe, and what fruit brings
    BUBBLES = "bubbles"  # all that were counted, and the litres
    USUAL = "usual"  # what is usual of the style


USUAL_LITRES: Final = 4.5
START_DAYS: Final = 2  # after pitching; a later reading is not of the must
# Gravity of must, by style, where nothing tells it.
USUAL_OG: Final = {
    None: (1.075, 1.100),
    "dry wine": (1.075, 1.100),
    "cider": (1.045, 1.060),
    "perry": (1.045, 1.065),
    "mead": (1.085, 1.125),
}
FRUIT_G_PER_LITRE: Final = (10.0, 60.0)  # sugar that fruit or juice brings beside the recipe's
JUICE_SG: Final = (1.040, 1.090)
WATER_SG: Final = 1.0
LIKE_ABV, LIKE_POINTS = 1.5, 4.0  # wine that was topped up from nobody knows where
UNWEIGHED_G_PER_LITRE: Final = (0.0, 40.0)
BUBBLE_ML: Final = 1.0  # 0.64 to 1.7 in kept diaries
WIDEST_GAP_DAYS: Final = 4.0
RISEN_POINTS: Final = 3.0  # a reading so much higher was taken after the sugar
MOST_SUGAR_G_PER_LITRE: Final = 500.0
DEEPEST: Final = 12  # jars behind jars


@dataclass(frozen=True, slots=True, kw_only=True)
class Walked:
    """A wine, and what is known of how it is known."""

    wine: Wine
    litres: float | None
    start: Told
    end: Told
    unknown: tuple[str, ...]


def walked(
    jar: Opened,
    *,
    at: datetime,
    of: Callable[[str], Opened | None],
    draws: Draws,
    depth: int = 0,
) -> Walked | None:
    """Follow a wine from its pitching to a moment; None where nothing tells of it.

    Parameters
    ----------
    jar : Opened
    at : datetime
        Aware; later rows are not used.
    of : callable
        Diary of another jar, by its name.
    draws : Draws
    depth : int
        Of jars behind this one.

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
    """The wine as it stands at each row."""

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
        self.style = kind_of(said.style).style
        self.style_text = said.style
        noted = next((v.litres for v in rows if v.litres), said.litres)
        self.known_litres = noted
        self.litres_now = noted
        self.stem: Hydrometer = jar.settings.hydrometer
        self.unknown: list[str] = []
        self.unweighed = False
        self.read_since = False

    # --- start -----------------------------------------------------------------------------------

    def begin(self) -> bool:
        """Set the must; False where there is nothing to go by."""
        start = self.rows[0]
        read = [v for v in self.rows if v.sg is not None]
        pitched = start.event is Event.PITCHED
        first = read[0] if read else None
        days = timedelta(days=START_DAYS)
        fits = first is not None and 1.0 < self._true(first) <= OG_HIGH
        if first is not None and fits and pitched and first.when - start.when <= days:
            og, self.start = self._read(first), Told.READ
        elif pitched and start.sugar_g is not None and self.known_litres:
            own = self.draws.grams(start.sugar_g) / self.draws.litres(self.known_litres)
            fruit = self.draws.between(*FRUIT_G_PER_LITRE)
            og, self.start = sg_from_g_per_litre(np.minimum(own + fruit, 400.0)), Told.RECIPE
        elif (fallen := self._fallen(first)) is not None:
            sg = self._read(first) if first is not None else None
            og = self._usual() if sg is None else sg + 0.001 * fallen
            self.start = Told.BUBBLES
        elif first is not None:
            og, self.start = np.maximum(self._usual(), self._read(first)), Told.USUAL
        else:
            return False
        self.wine = Wine(
            litres=self.draws.litres(self.known_litres or USUAL_LITRES),
            abv_pct=np.zeros_like(og),
            sg=np.clip(og, 1.0005, OG_HIGH),
        )
        if self.known_litres is None:
            self.unknown.append("litres")
        return True

    def _usual(self) -> Floats:
        return self.draws.between(*USUAL_OG[self.style])

    def _fallen(self, first: Visit | None) -> Floats | None:
        """Points that the bubbles counted before the first reading tell of."""
        until = None if first is None else first.when
        counted = [
            v for v in self.rows if v.per_min is not None and (until is None or v.when <= until)
        ]
        if len(counted) < 3 or not self.known_litres:
            return None
        began = self.rows[0].when
        if (counted[0].when - began) / timedelta(days=1) > WIDEST_GAP_DAYS:
            return None
        days = np.array([(v.when - began) / timedelta(days=1) for v in counted])
        if np.max(np.diff(days), initial=0.0) > 2 * WIDEST_GAP_DAYS:
            return None
        per_day = np.array([v.per_min or 0.0 for v in counted]) * MINUTES_PER_DAY
        bubbles = float(np.trapezoid(per_day, days))
        ml = self.draws.times(BUBBLE_ML, BUBBLE_ML_SPREAD)
        return bubbles * ml / (ML_GAS_PER_POINT_LITRE * self.known_litres)

    # --- rows ------------------------------------------------------------------------------------

    def step(self, row: Visit) -> None:
        """Take one row: what was poured in, then what was read, then what is left."""
        before = row.sg is not None and not self._after_sugar(row)
        if before:
            self._take_reading(row)
        self._pour(row)
        if row.sg is not None and not before:
            self._take_reading(row)
        if row.litres:
            self.wine = self.wine.left(self.draws.litres(row.litres))
            self.litres_now = row.litres

    def _after_sugar(self, row: Visit) -> bool:
        """Whether a row's reading was taken after what it says was put in."""
        if row.event not in (Event.FED, Event.SWEETENED, Event.DILUTED, Event.JOINED):
            return False
        if row.event is Event.DILUTED:
            return self._true(row) < float(self.wine.sg[0]) - 0.001 * RISEN_POINTS
        return self._true(row) > float(self.wine.sg[0]) + 0.001 * RISEN_POINTS

    def _take_reading(self, row: Visit) -> None:
        sg = self._read(row)
        if float(sg[0]) > float(self.wine.sg[0]) + 0.001 * RISEN_POINTS and self.read_since:
            self.unweighed = True  # more sugar than any row tells of
        if self.unweighed and float(sg[0]) > float(self.wine.sg[0]):
            self.wine = self.wine.sugared_to(sg)
        elif self.unweighed:
            some = self.draws.between(*UNWEIGHED_G_PER_LITRE) * self.wine.litres
            self.wine = self.wine.with_sugar(some).fermented_to(sg)
        else:
            self.wine = self.wine.fermented_to(sg)
        self.unweighed, self.read_since = False, True

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
            act(row)

    def _fed(self, row: Visit) -> None:
        if row.other:
            self._wine_in(row)
            return
        if row.added_l is not None and row.sugar_g is None:
            self._mix(row.added_l, 0.0, self.draws.between(*JUICE_SG))
            return
        if row.sugar_g is None:
            self.unweighed = True
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
            if row.event is not Event.JOINED:  # the wine's own history, taken up
                self.unknown.append(str(row.event))
            return
        theirs = self._of_other(row)
        if theirs is None:
            self.unknown.append(row.other or str(row.event))
            sg = self.wine.sg + 0.001 * self.draws.normal(0.0, LIKE_POINTS)
            abv = np.clip(self.wine.abv_pct + self.draws.normal(0.0, LIKE_ABV), 0.0, 24.0)
            theirs = replace(self.wine, abv_pct=abv, sg=sg)
        self.wine = self.wine.with_wine(theirs.left(self.draws.litres(added)))

    def _of_other(self, row: Visit) -> Wine | None:
        """The wine of the other jar as it stood just before."""
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
        return found.wine

    def _added(self, row: Visit) -> float | None:
        """What a row poured in [L]: as written, or by what the jar held before and after."""
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
        return self.draws.normal(self._true(row), 0.001 * READING_SD_POINTS)

    def end(self) -> Walked:
        """The wine as it stands, its gravity supposed where it was not read since the start."""
        end = Told.READ
        last = max((v.when for v in self.rows if v.sg is not None), default=None)
        days = timedelta(days=START_DAYS)
        if last is None or (self.start is Told.READ and last - self.rows[0].when <= days):
            finish = likely_finish(float(self.wine.must[0]), self.style_text)
            spread = 0.0005 * (finish.below_points + finish.above_points)
            self.wine = self.wine.fermented_to(self.draws.normal(finish.centre_sg, spread))
            end = Told.USUAL
        return Walked(
            wine=self.wine,
            litres=self.litres_now,
            start=self.start,
            end=end,
            unknown=tuple(self.unknown),
        )
