"""From a diary to its verdict: the whole chain of sums as one function, fit for a worker."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..diary.settings import Settings
from ..ferment.evidence import gather_evidence
from ..ferment.fit import FEWEST_COUNTS, Fit, FitError, fit_curve
from ..ferment.forecast import Forecast, forecast
from ..ferment.gravity_check import GravityCheck, check_gravity
from ..ferment.tail import Tail, find_tail
from .case import STEADINESS, Case, Question, Reason
from .decide import Verdict, verdict
from .diagnosis import findings
from .facts import Signs, signs

if TYPE_CHECKING:
    from datetime import datetime

    from ..diary.visit import Diary

__all__ = ["Judgement", "judge"]

_SEED = 1  # any will do; fixed, so that the same diary always gives the same answer


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
        The counts that show it slowing; None where nothing was counted.
    fit : Fit or None
        None where the tail holds too few counts, or the sums failed.
    forecast : Forecast or None
    gravity : GravityCheck or None
        None where no gravity was read.
    signs : Signs
    verdict : Verdict
    """

    diary: Diary
    litres: float | None
    tail: Tail | None
    fit: Fit | None
    forecast: Forecast | None
    gravity: GravityCheck | None
    signs: Signs
    verdict: Verdict


def judge(
    diary: Diary,
    *,
    at: datetime,
    question: Question = "racking",
    threshold_per_min: float | None = None,
    settings: Settings | None = None,
    earlier: Fit | None = None,
) -> Judgement:
    """Say go or wait of one vessel, as of one moment.

    Parameters
    ----------
    diary : Diary
        Its rows; those later than `at` are not looked at.
    at : datetime
        The moment asked about, aware.
    question : {"racking", "bottling"}
        What is to be decided.
    threshold_per_min : float, optional
        Rate below which the vessel counts as quiet [bubbles/min]; by default that of `settings`.
    settings : Settings, optional
        Hydrometer, threshold, and what is known of each vessel.
    earlier : Fit, optional
        Of a judgement before: used where it is of the same counts and gravity, so that two
        questions about one evening cost one fit.

    Returns
    -------
    Judgement

    Raises
    ------
    ValueError
        If the threshold is not above 0.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from pathlib import Path
    >>> from bubblerate import Diary, Visit
    >>> evening = datetime(2026, 10, 1, 21, tzinfo=UTC)
    >>> diary = Diary(path=Path("fig.csv"), vessel="fig", visits=(Visit(when=evening, bubbles=9),))
    >>> judge(diary, at=evening).verdict.answer
    'wait'
    """
    settings = settings if settings is not None else Settings()
    known = settings.vessel(diary.vessel)
    threshold = threshold_per_min if threshold_per_min is not None else settings.threshold_per_min
    diary = diary.until(at)
    rows = diary.batch
    litres = diary.litres if diary.litres is not None else known.litres
    counts = find_tail(rows)
    gravity = check_gravity(
        rows,
        at=at,
        hydrometer=settings.hydrometer,
        litres=litres,
        finish_sg=known.finish,
        steadiness=STEADINESS[question],
    )
    fitted: Fit | None = None
    seen: Forecast | None = None
    odd: tuple[Reason, ...] = ()
    if counts is not None and counts.trusted >= FEWEST_COUNTS:
        joined = gather_evidence(
            counts,
            rows,
            () if gravity is None else gravity.readings,
            litres=litres,
            finish_sg=known.finish,
        )
        with suppress(FitError):  # without a fit the verdict says so, and foretells nothing
            fitted = fit_curve(joined, rng=np.random.default_rng(_SEED), earlier=earlier)
    if fitted is not None:
        odd = findings(fitted, rows)
        seen = forecast(fitted, at=at, threshold_per_min=threshold)
    facts = signs(
        rows,
        counts,
        at=at,
        threshold_per_min=threshold,
        last_reading_at=None if gravity is None else gravity.latest.when,
    )
    case = Case(
        vessel=diary.vessel,
        asked_at=at,
        question=question,
        threshold_per_min=threshold,
        signs=facts,
        forecast=seen,
        gravity=gravity,
        findings=odd,
    )
    return Judgement(
        diary=diary,
        litres=litres,
        tail=counts,
        fit=fitted,
        forecast=seen,
        gravity=gravity,
        signs=facts,
        verdict=verdict(case),
    )
