"""Goes from a diary to its verdict: the whole chain of sums, as one call.

Three steps: `situation` reads the rows and is fast. `fit_situation` is the one slow step, and the
same for every question. `conclude` answers one question.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime, time
from typing import TYPE_CHECKING

import numpy as np

from ..diary.settings import Settings
from ..ferment.evidence import Evidence, gather_evidence
from ..ferment.fit import FEWEST_COUNTS, Fit, FitError, fit_curve
from ..ferment.forecast import Forecast, forecast
from ..ferment.gravity import corrected_readings
from ..ferment.gravity_check import GravityCheck, check_gravity
from ..ferment.tail import Tail, find_tail
from ..ferment.whole import Whole, gather_whole
from .case import Case
from .decide import Verdict, verdict
from .diagnosis import findings
from .facts import Facts, gather_facts
from .limits import STEADINESS
from .noted import by_evening
from .proof import Proof, proof_of, taught
from .reasons import Question
from .sugar_evidence import sugar_evidence

if TYPE_CHECKING:
    from ..diary.settings import VesselSettings
    from ..diary.visit import Diary, Visit
    from .sugar_evidence import SugarEvidence

__all__ = ["Judgement", "Situation", "conclude", "fit_situation", "situation"]

_PITCHED_AT = time(18)  # of a day that was named without an hour
_SEED = 1  # any seed; fixed, so that a diary always gives the same answer


@dataclass(frozen=True, kw_only=True, eq=False)  # no slots: it keeps a cache
class Situation:
    """What is known about a vessel at one moment, before anything is fitted or asked.

    Attributes
    ----------
    diary : Diary
        The rows no later than `at`.
    evenings : tuple of Visit
        Rows of the wine that is now in the jar, long counts split by evening.
    at : datetime
        The moment asked about.
    settings : Settings
    threshold_per_min : float
        Rate below which the vessel counts as quiet [bubbles/min].
    litres : float or None
        Wine in the vessel [L].
    tail : Tail or None
        The counts that show it slowing; None if nothing was counted.
    evidence : Evidence or None
        What is fitted; None if the tail has too few counts.
    whole : Whole or None
        The ferment since it was pitched; None if none of the atlas can be like it.
    facts : Facts
    sugar : SugarEvidence
        What the diary tells about the sugar left, before a fit, and about where it should end.
    """

    diary: Diary
    evenings: tuple[Visit, ...]
    at: datetime
    settings: Settings
    threshold_per_min: float
    litres: float | None
    tail: Tail | None
    evidence: Evidence | None
    whole: Whole | None
    facts: Facts
    sugar: SugarEvidence
    _checks: dict[Question, GravityCheck | None] = field(
        default_factory=dict, init=False, repr=False
    )
    _told: dict[tuple[datetime, Fit | None], Forecast | None] = field(
        default_factory=dict, init=False, repr=False
    )

    def beside(self, fit: Fit | None) -> Whole | None:
        """The whole ferments, if they are used.

        They are not used if the sums failed, or if the counts miss most of the gas.
        """
        if fit is None and self.evidence is not None:
            return None
        found = self.gravity_check(Question.RACKING)
        return None if found is not None and found.leak else self.whole

    def told(self, fit: Fit | None, at: datetime) -> Forecast | None:
        """Forecast as of a moment, with whole ferments if they are used."""
        key = at, fit
        if key not in self._told:
            self._told[key] = forecast(
                fit, self.beside(fit), at=at, threshold_per_min=self.threshold_per_min
            )
        return self._told[key]

    def gravity_check(self, question: Question) -> GravityCheck | None:
        """Whether the readings are steady, as the question needs, and agree with the bubbles."""
        if question not in self._checks:
            self._checks[question] = check_gravity(
                self.diary.batch,
                at=self.at,
                hydrometer=self.settings.hydrometer,
                litres=self.litres,
                finish=self.sugar.finish,
                said_finish_sg=self.sugar.said_finish_sg,
                steadiness=STEADINESS[question],
            )
        return self._checks[question]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Judgement:
    """A verdict with all that led to it.

    Attributes
    ----------
    diary : Diary
        The rows no later than the moment asked about.
    litres : float or None
        Wine in the vessel [L].
    tail : Tail or None
        The counts that show it slowing; None if nothing was counted.
    whole : Whole or None
        The ferment since it was pitched; None if none of the atlas can be like it.
    fit : Fit or None
        None if the tail has too few counts, or the sums failed.
    forecast : Forecast or None
        From whole ferments like it alone if there is no fit; None if none can be like it.
    gravity : GravityCheck or None
        None if no gravity was read.
    facts : Facts
    proof : Proof
        What speaks against bottling, weighed, whatever the question.
    verdict : Verdict
    """

    diary: Diary
    litres: float | None
    tail: Tail | None
    whole: Whole | None
    fit: Fit | None
    forecast: Forecast | None
    gravity: GravityCheck | None
    facts: Facts
    proof: Proof
    verdict: Verdict


def situation(
    diary: Diary,
    at: datetime,
    settings: Settings | None = None,
    *,
    threshold_per_min: float | None = None,
) -> Situation:
    """Find in the rows what every question needs; nothing is fitted.

    Parameters
    ----------
    diary : Diary
        Its rows; those later than `at` are not used.
    at : datetime
        The moment asked about, aware.
    settings : Settings, optional
        Hydrometer, threshold, and what is known about each vessel.
    threshold_per_min : float, optional
        Rate below which the vessel counts as quiet [bubbles/min]; by default that of `settings`.

    Returns
    -------
    Situation

    Raises
    ------
    ValueError
        If the threshold is not above 0.
    """
    settings = settings if settings is not None else Settings()
    threshold = threshold_per_min if threshold_per_min is not None else settings.threshold_per_min
    if not threshold > 0.0:
        raise ValueError(f"threshold_per_min must be above 0, got {threshold}")
    vessel = settings.vessel(diary.vessel)
    diary = diary.until(at)
    visits, evenings = diary.batch, by_evening(diary.batch)
    litres = diary.litres if diary.litres is not None else vessel.litres
    counts, gravities = find_tail(visits), corrected_readings(visits, settings.hydrometer)
    enough = None if counts is None or counts.trusted < FEWEST_COUNTS else counts
    sugar = sugar_evidence(diary, at=at, settings=settings, evenings=evenings)
    said = {"litres": litres, "finish_sg": sugar.said_finish_sg}
    return Situation(
        diary=diary,
        evenings=evenings,
        at=at,
        settings=settings,
        threshold_per_min=threshold,
        litres=litres,
        tail=counts,
        evidence=None
        if enough is None
        else gather_evidence(enough, visits, gravities, **said, likely=sugar.finish),
        whole=gather_whole(
            visits,
            gravities,
            **said,
            pitched=_pitched(diary, vessel),
            usual_c=None if counts is None else counts.usual_c,
        ),
        facts=gather_facts(
            evenings,
            counts,
            at=at,
            threshold_per_min=threshold,
        ),
        sugar=sugar,
    )


def fit_situation(situation: Situation) -> Fit | None:
    """Fit the decay curve: the one slow step, the same for every question.

    Parameters
    ----------
    situation : Situation

    Returns
    -------
    Fit or None
        None if there are too few counts, or the sums failed: the verdict says which.
    """
    if situation.evidence is None:
        return None
    with suppress(FitError):
        return fit_curve(situation.evidence, rng=np.random.default_rng(_SEED))
    return None


def conclude(situation: Situation, fit: Fit | None, question: Question) -> Judgement:
    """Answer one question.

    Parameters
    ----------
    situation : Situation
    fit : Fit or None
        Fit of its evidence; None if there is none.
    question : Question
        What is to be decided.

    Returns
    -------
    Judgement
    """
    at, threshold_per_min = situation.at, situation.threshold_per_min
    gravity, told = situation.gravity_check(question), situation.told(fit, at)
    known = taught(situation.sugar, situation.diary, situation.settings, told)
    proof = proof_of(known)
    case = Case(
        vessel=situation.diary.vessel,
        asked_at=at,
        question=question,
        threshold_per_min=threshold_per_min,
        facts=situation.facts,
        proof=proof,
        forecast=None if fit is None else told,  # other ferments do not show that this one slows
        gravity=gravity,
        findings=() if fit is None else findings(fit, situation.diary.batch),
    )
    return Judgement(
        diary=situation.diary,
        litres=situation.litres,
        tail=situation.tail,
        whole=situation.whole,
        fit=fit,
        forecast=told,
        gravity=gravity,
        facts=situation.facts,
        proof=proof,
        verdict=verdict(case),
    )


def _pitched(diary: Diary, said: VesselSettings) -> datetime | None:
    """When the yeast went in, if no row says so: the evening of the day in the settings."""
    if said.pitched is None:
        return diary.day_0
    zone = diary.batch[-1].when.tzinfo if diary.batch else None
    return datetime.combine(said.pitched, _PITCHED_AT, zone)
