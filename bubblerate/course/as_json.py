"""Turns a judgement into JSON: what ``verdict``, ``shelf`` and ``after --json`` print."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ..text import iso

if TYPE_CHECKING:
    from ..ferment.chances import Span
    from ..ferment.forecast import Forecast
    from ..ferment.gravity_check import GravityCheck
    from ..ferment.tail import Tail
    from ..verdict.proof import Proof
    from ..verdict.reasons import NextStep
    from .judgement import Judgement

__all__ = ["as_object", "course_object"]


def as_object(judgement: Judgement) -> dict[str, Any]:
    """Turn a judgement into an object for JSON.

    Parameters
    ----------
    judgement : Judgement

    Returns
    -------
    dict
        The object of ``verdict --json``: times in ISO 8601, None if unknown.

    Examples
    --------
    >>> import bubblerate
    >>> found = as_object(bubblerate.judge(bubblerate.read("examples/quince.csv")))
    >>> found["verdict"], found["phase"], found["gravity"]["latest_sg"]
    ('go', 'fermenting', 0.996)
    """
    v, f, g = judgement.verdict, judgement.forecast, judgement.gravity
    return {
        "vessel": v.vessel,
        "asked_at": iso(v.asked_at),
        "question": v.question,
        "verdict": v.answer,
        "firmness": v.firmness,
        "reasons": [{"code": r.code, "text": r.text} for r in v.reasons],
        "next": _step_object(v.next),
        "rate": None
        if f is None
        else {"per_min": f.per_min.median, "low80": f.per_min.low80, "high80": f.per_min.high80},
        "crossing": None if f is None else _crossing_object(f, judgement.tail),
        "gravity": None if g is None else _gravity_object(g, f),
        "bubble_ml": None if f is None or g is None else _span_object(f.bubble_ml),
        "phase": judgement.phase.value,
        "proof": _proof_object(judgement.proof),
    }


def _proof_object(proof: Proof) -> dict[str, Any]:
    sugar, plan = proof.sugar_g_per_litre, proof.earliest
    return {
        "chance_fizz": proof.chance_fizz,
        "chance_burst": proof.chance_burst,
        "sugar_left_g_per_l": None
        if sugar is None
        else {"low": sugar.low, "median": sugar.middle, "high": sugar.high},
        "earliest": None if plan is None else iso(plan.on),
    }


def course_object(judgement: Judgement) -> dict[str, Any]:
    """Turn the course of a jar into an object for JSON: what ``after --json`` prints.

    Parameters
    ----------
    judgement : Judgement

    Returns
    -------
    dict
        vessel, asked_at, phase, question, verdict, next, and steps: what follows if each is done on
        its day and goes well.
    """
    v, course = judgement.verdict, judgement.course
    return {
        "vessel": v.vessel,
        "asked_at": iso(v.asked_at),
        "phase": judgement.phase.value,
        "question": v.question,
        "verdict": v.answer,
        "next": _step_object(v.next),
        "steps": [] if course is None else [_step_object(step) for step in course.steps],
    }


def _step_object(step: NextStep) -> dict[str, Any]:
    days = {"on": step.on, "since": step.since, "until": step.until}
    return {
        "kind": step.kind.value,
        "do": step.do,
        **{name: None if day is None else iso(day) for name, day in days.items()},
        "also": [*step.also],
    }


def _span_object(span: Span | None) -> dict[str, float] | None:
    if span is None:
        return None
    return {"low80": span.low80, "median": span.median, "high80": span.high80}


def _crossing_object(f: Forecast, counts: Tail | None) -> dict[str, Any]:
    c = f.crossing
    times = {name: getattr(c, name) for name in ("low95", "low80", "median", "high80", "high95")}
    for low in ("low95", "low80"):
        if counts is not None and times[low] == counts.start:
            times[low] = None  # it may be any time before the first count
    return {
        "threshold_per_min": c.threshold_per_min,
        **{name: None if time is None else iso(time) for name, time in times.items()},
        "p_already": c.p_already,
        "p_not_in_60_days": c.p_not_in_60_days,
        "basis": f.basis.value,
    }


def _gravity_object(g: GravityCheck, f: Forecast | None) -> dict[str, Any]:
    told = f if f is not None and not (g.leak or g.gas_only) else None  # else bubbles mislead
    return {
        "latest_sg": g.latest.sg,
        "expected_finish": g.finish_sg,
        "predicted_finish": None if told is None else _span_object(told.finish_sg),
        "points_left": None if told is None else _span_object(told.points_to_fall),
        "steady": g.steady,
    }
