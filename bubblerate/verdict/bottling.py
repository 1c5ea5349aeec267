"""What stands against bottling: every check must pass, and none of them is the count alone.

A wrong go bursts glass, so what is not known is a wait. The limits, with reasons: `limits`.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from . import sentences
from .limits import (
    COOLER_C,
    COUNTED_DAYS,
    COUNTED_SECONDS,
    READING_FRESH_DAYS,
    SG_ROUNDING,
    STEADINESS,
    SURE,
    SWEETEST_SG,
    WARM_C,
    WARM_ENOUGH_C,
    WARMTH_DAYS,
    WEATHER_PER_MIN,
)
from .reasons import BOTTLE, fell, since_fed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ..ferment.gravity_check import GravityCheck
    from .case import Case, Finding
    from .facts import Warmth
    from .reasons import NextStep, Reason

__all__ = ["against_by_bubbles", "against_by_gravity", "in_favour"]


def against_by_gravity(case: Case) -> Iterator[Finding]:
    """Checks of gravity, warmth and treatment that fail.

    Parameters
    ----------
    case : Case

    Yields
    ------
    (Reason, NextStep)
    """
    g = case.gravity
    if g is None:
        yield case.say(sentences.NO_GRAVITY, since=since_fed(case.facts.acts.fed_at))
        return
    if case.impossible is not None:
        yield case.impossible
    if g.leak or g.gas_only:
        yield case.say(sentences.STORIES_DIFFER)
    if not g.steady:
        yield _unproven(case, g)
    age_days = case.age_days(g.latest.when)
    if age_days > READING_FRESH_DAYS:
        yield case.say(sentences.OLD_READING, age_days=age_days)
    yield from _sweet(case, g)
    if case.stunned is not None:
        yield case.stunned
    yield from _cold(case)


def _unproven(case: Case, g: GravityCheck) -> Finding:
    """The latest readings do not span the days that prove it, or they fall."""
    rule = STEADINESS["bottling"]
    span = {"points": rule.points, "days": g.steady_days, "needed_days": rule.days}
    if g.steady is False and g.fall is not None:
        reason, step = case.say(sentences.UNPROVEN_AND_FELL, fell=fell(g.fall), **span)
    else:
        reason, step = case.say(sentences.UNPROVEN, **span)
    due = (g.steady_since + timedelta(days=rule.days)).date()
    return reason, step.due(max(due, case.day()))


def _sweet(case: Case, g: GravityCheck) -> Iterator[Finding]:
    """Sugar that a live yeast could ferment in the bottle."""
    at, sg = case.facts.acts.stabilised_at, g.latest.sg
    if at is not None and at <= g.steady_since:
        return  # stabilised, and it has stood still ever since
    if not case.near_finish:
        points, finish_sg = g.above_finish_points, g.finish_sg
        yield case.say(sentences.SWEETNESS_LEFT, sg=sg, points=points, finish_sg=finish_sg)
    elif sg > SWEETEST_SG + SG_ROUNDING:
        yield case.say(sentences.TOO_SWEET, sg=sg)


def _cold(case: Case) -> Iterator[Finding]:
    """A gravity that stands still in the cold proves nothing."""
    warmth = case.facts.warmth
    if warmth.coldest_c is None or warmth.proof_days < WARMTH_DAYS:
        yield case.say(sentences.WARMTH_UNKNOWN)
        return
    needed_c = _needed_c(warmth)
    if warmth.coldest_c < needed_c:
        yield case.say(sentences.NOT_WARM, coldest_c=warmth.coldest_c, needed_c=needed_c)


def _needed_c(warmth: Warmth) -> float:
    """Warmth in which standing still proves something: about its own, within limits [C]."""
    worked_c = warmth.worked_c if warmth.worked_c is not None else warmth.usual_c
    return max(WARM_C, min(WARM_ENOUGH_C, worked_c if worked_c is not None else 0.0) - COOLER_C)


def against_by_bubbles(case: Case) -> Iterator[Finding]:
    """Bubbles beyond what weather makes, in the last two weeks; or no count to tell.

    Parameters
    ----------
    case : Case

    Yields
    ------
    (Reason, NextStep)
    """
    airlock, f = case.facts.airlock, case.forecast
    if airlock.recent.seconds < COUNTED_SECONDS or airlock.recent.days < COUNTED_DAYS:
        yield case.say(sentences.FEW_COUNTS_TO_BOTTLE)
    fitted = f is not None and f.crossing.p_already < SURE
    if fitted or airlock.surely_per_min > WEATHER_PER_MIN:
        yield case.say(sentences.STILL_BUBBLING)
    if case.unfitted is not None:
        yield case.unfitted


def in_favour(case: Case) -> tuple[list[Reason], NextStep]:
    """Reasons of a go, and the look that no diary can take.

    Parameters
    ----------
    case : Case
        One that every check lets pass.

    Returns
    -------
    reasons : list of Reason
    step : NextStep
    """
    g = case.gravity
    assert g is not None
    ended = sentences.STABILISED.of()
    if case.near_finish:
        ended = sentences.AT_FINISH.of(finish_sg=g.finish_sg)
    reasons = [
        sentences.STEADY_TO_BOTTLE.of(sg=g.latest.sg, days=g.steady_days),
        ended,
        sentences.WARM_ENOUGH.of(coldest_c=case.facts.warmth.coldest_c),
        sentences.QUIET.of(),
    ]
    return reasons, BOTTLE.due(case.day())
