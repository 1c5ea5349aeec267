"""Gathers all that a diary tells about the sugar left in a wine, as one frozen value.

Gravity is in points (0.001 SG) above 1.000, temperatures in C, days are evenings (`acts`).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from ..diary.settings import Settings
from ..diary.styles import kind_of
from ..physics.hydrometer import corrected_sg
from ..physics.scales import points
from .acts import (
    JAR_LITRES,
    ROUSED,
    TREATED,
    Reading,
    Row,
    days_of,
    evening,
    last_day,
    proof_readings,
    rows_of,
    since,
    stabilised_on,
    sugar_in,
)
from .ends import finish_of
from .noted import (
    back_on,
    by_evening,
    counts_of,
    shaken_evenings,
    warmth_of,
    weather_per_min,
)
from .seen import Seen, seen

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from ..diary.settings import Hydrometer, VesselSettings
    from ..diary.visit import Diary, Visit
    from ..ferment.finish import FinishDistribution
    from .noted import Evening, Spell

__all__ = ["SugarEvidence", "sugar_evidence"]

TEST_BOTTLE_DAYS: Final = 14


@dataclass(frozen=True, slots=True, kw_only=True)
class SugarEvidence:
    """All that tells about the sugar left, as of one evening.

    Attributes
    ----------
    asked : int
        Evening asked about.
    finish : FinishDistribution
        Where it should end, from its start, style, what was fed, and the maker's value.
    maker_sg : float or None
        Finish that the maker has typed in.
    maker_believed : bool
        Whether physics allows that finish, or a test has shown it.
    tested : bool
        A bottle of this wine, kept two weeks at 25 C, did not change.
    og_sg : float or None
        Original gravity, with the sugar fed since; it gives the strength.
    litres : float
        Wine in the jar [L].
    sugar_in : int or None
        Newest evening on which sugar came in that yeast can use.
    since : int or None
        Evening from which readings are proof: that of the newest act that changed the gravity.
    readings : tuple of Reading
        Oldest first; those before `since` only if a mass balance converts them to today's wine.
    counts : tuple of Evening
        Counts through this airlock since sugar came in, oldest first.
    shaken : bool
        Whether the last count is from an evening on which the jar was handled, or the next.
    warmth : tuple of Spell
        Oldest first.
    stabilised : int or None
        Evening on which it was stabilised, if that is still true.
    sugar_low : bool or None
        Whether the last strip or tablet showed under 3 g/L.
    topped_up : int or None
        Newest evening on which finished wine was poured in.
    roused, treated : tuple of int
        Evenings on which something was done to wake the yeast; evenings on which it was sulphited,
        fined, racked or filtered.
    unproven : int or None
        Newest of `treated` before which nothing was proven yet; filled in by the judgement.
    back : int or None
        Newest evening when bubbles came back after silence.
    malolactic : bool
        Whether wine of this kind usually goes through the malolactic change.
    seen : Seen
        What the maker saw and noted.
    bubble_ml : tuple of float or None
        Gas made per bubble counted [mL], learnt from this jar, and its spread in natural
        logarithms.
    """

    asked: int
    finish: FinishDistribution
    maker_sg: float | None = None
    maker_believed: bool = False
    tested: bool = False
    og_sg: float | None = None
    litres: float = JAR_LITRES
    sugar_in: int | None = None
    since: int | None = None
    readings: tuple[Reading, ...] = ()
    counts: tuple[Evening, ...] = ()
    shaken: bool = False
    warmth: tuple[Spell, ...] = ()
    stabilised: int | None = None
    sugar_low: bool | None = None
    topped_up: int | None = None
    roused: tuple[int, ...] = ()
    treated: tuple[int, ...] = ()
    unproven: int | None = None
    back: int | None = None
    malolactic: bool = False
    seen: Seen = field(default_factory=Seen)
    bubble_ml: tuple[float, float] | None = None

    @property
    def said_finish_sg(self) -> float | None:
        """The finish that the maker typed in, if it can be believed."""
        return self.maker_sg if self.maker_believed else None

    @property
    def looked(self) -> int:
        """Evening of the last reading or count; all is judged as of then, not by the clock."""
        last = [self.readings[-1].day] if self.readings else []
        return max([*last, *(e.day for e in self.counts[-1:])], default=self.asked)


def sugar_evidence(
    diary: Diary,
    *,
    at: datetime,
    settings: Settings | None = None,
    evenings: tuple[Visit, ...] | None = None,
) -> SugarEvidence:
    """Gather what a diary tells about the sugar left.

    Parameters
    ----------
    diary, at, settings
        As for `evidence_for_bottling`.
    evenings : tuple of Visit, optional
        `by_evening` of its rows of this wine, if the caller has them.

    Returns
    -------
    SugarEvidence
    """
    settings = settings or Settings()
    said = settings.vessel(diary.vessel)
    diary = diary.until(at)
    batch = by_evening(diary.batch) if evenings is None else evenings
    rows = rows_of(batch, said.litres)
    acts = tuple(r for r in rows if r.event is not None)
    read = [Reading(r.day, _points(r, settings.hydrometer)) for r in rows if r.visit.sg is not None]
    began, sugar = since(acts), sugar_in(acts)
    litres = rows[-1].litres_after if rows else said.litres
    counts = counts_of(rows, acts, sugar)
    back = back_on(counts, weather_per_min(litres or JAR_LITRES))
    tested = _tested(acts, began)
    finish, og_sg = finish_of(acts, read, said.style, _start(diary.day_0, acts, said))
    zone = batch[-1].when.tzinfo if batch else at.tzinfo
    return SugarEvidence(
        asked=evening(at.astimezone(zone)),
        finish=finish if said.finish is None else finish.narrowed(said.finish, tested=tested),
        maker_sg=said.finish,
        maker_believed=said.finish is not None and (tested or finish.allows(said.finish)),
        tested=tested,
        og_sg=og_sg,
        litres=litres or JAR_LITRES,
        sugar_in=sugar,
        since=began,
        readings=proof_readings(acts, read),
        counts=counts,
        shaken=bool(counts) and counts[-1].day in shaken_evenings(acts),
        warmth=warmth_of(rows, acts),
        stabilised=stabilised_on(acts),
        sugar_low=_sugar_low(acts, began),
        topped_up=last_day(acts, {"topped-up"}),
        roused=days_of(acts, ROUSED),
        treated=days_of(acts, TREATED),
        back=back,
        malolactic=kind_of(said.style).malolactic,
        seen=seen(acts, said, sugar=sugar, back=back, deposit_days=settings.keeping.deposit_days),
    )


def _points(row: Row, stem: Hydrometer) -> float:
    sg, sample_c = row.visit.sg, row.visit.sample_c
    assert sg is not None
    read_c = stem.calibration_c if sample_c is None else sample_c
    true_sg = corrected_sg(sg, read_c, calibration_c=stem.calibration_c, offset=stem.offset)
    return round(points(float(true_sg)), 6)


def _start(day_0: datetime | None, acts: Sequence[Row], said: VesselSettings) -> int | None:
    """Evening on which the yeast went in, if the diary or the settings say so."""
    start = said.pitched or day_0
    return last_day(acts, {"pitched"}) if start is None else evening(start)


def _tested(rows: Sequence[Row], began: int | None) -> bool:
    """Whether a test bottle filled after the last act that changed the gravity stayed quiet."""
    day = last_day(rows, {"tested"})
    return day is not None and (began is None or day >= began + TEST_BOTTLE_DAYS)


def _sugar_low(rows: Sequence[Row], began: int | None) -> bool | None:
    """Answer of the newest strip since then; the worse of two on one evening."""
    low, high = last_day(rows, {"sugar-low"}), last_day(rows, {"sugar-high"})
    newest = max((day for day in (low, high) if day is not None), default=None)
    return None if newest is None or newest < (began or 0) else newest != high
