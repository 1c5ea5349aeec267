"""Writes the course of a jar for people: six lines, or all of it; no sums here."""

from __future__ import annotations

import textwrap
from dataclasses import replace
from itertools import islice
from typing import TYPE_CHECKING, Final

from ..course.budget import Budget
from ..course.volumes import bottles
from ..course.words import SUPPOSED
from ..diary.stock import stock
from ..text import format_day
from ..verdict import cautions
from ..verdict.reasons import Kind, Phase
from .figures_text import figures_text
from .guide_text import guide_lines, topic_of
from .step_text import (
    ANSWERS,
    ASKED,
    PHASES,
    SHORT,
    also_text,
    answer_text,
    day_text,
    days_text,
    short_text,
    window_text,
)

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from ..course.engine import Course, Step
    from ..course.figures import Figures
    from ..course.judgement import Judgement
    from ..course.windows import Window

__all__ = ["after_lines", "after_text", "all_text", "stands_text"]

_COLUMN: Final = 9  # column at which the text of the six lines starts
_IN_JAR: Final = (Phase.FERMENTING, Phase.CLEARING)
_SHORTEST_LINE: Final = 50  # which the six lines are made for
_USUAL_CL: Final = 75

_OF_PHASE: Final = {
    Phase.FERMENTING: (cautions.SEALED, cautions.AIR),
    Phase.CLEARING: (cautions.HINT, cautions.BURST),
    Phase.BOTTLED: (cautions.BURST, cautions.YOUNG, cautions.CUSTOM, cautions.SPIRIT),
    Phase.EMPTY: (),
}
_OF_ACT: Final = {
    Kind.RACK: (cautions.GLASS,),
    Kind.BOTTLE: (cautions.GLASS, cautions.BLEACH, cautions.CUSTOM),
    Kind.RESCUE: (cautions.GLASS,),
    Kind.FINE: (cautions.FININGS,),
}


def after_text(judgement: Judgement, figures: Figures, *, width: int) -> str:
    """Write the course of a jar in six lines: phase, next, two dates, bottles, what is unknown.

    Where fewer dates are known there are fewer lines.

    Parameters
    ----------
    judgement : Judgement
    figures : Figures
    width : int
        Characters in a line; longer ones are cut.

    Returns
    -------
    str
        No line end after the last.
    """
    vessel = judgement.diary.vessel
    if judgement.course is None:
        return textwrap.shorten(
            (f"{vessel}: nothing has been written down yet."), width, placeholder=".."
        )
    name = vessel if len(vessel) < _COLUMN else f"{vessel}  "
    lines = [(name, stands_text(judgement)), *after_lines(judgement, figures)]
    return "\n".join(_cut(f"{label:<{_COLUMN}}{text}".rstrip(), width) for label, text in lines)


def after_lines(judgement: Judgement, figures: Figures) -> tuple[tuple[str, str], ...]:
    """Give what comes next in the course of a jar: a word and a text for each line."""
    course = judgement.course
    if course is None:
        return ()
    return (
        ("next", _next(course)),
        *(("then", text) for text in _two_dates(course)),
        ("bottles", _bottles(course, figures)),
        ("unknown", ", ".join(_unknown(judgement, figures)) or "nothing"),
    )


def all_text(judgement: Judgement, figures: Figures, *, width: int) -> str:
    """Write all of a course: every step, what it needs, and the figures of the wine.

    Parameters
    ----------
    judgement : Judgement
    figures : Figures
    width : int
        Characters a line may hold.

    Returns
    -------
    str
        The six lines first; no line end after the last.
    """
    lines = [after_text(judgement, figures, width=width)]
    course = judgement.course
    if course is None:
        return lines[0]
    later = (replace(step, since=step.on) for step in course.steps)  # its day is from the plan
    for step in (course.next, *later):
        lines += ["", *_step(step, course.asked_on, width)]
    topic = topic_of(course)
    if topic is not None:
        vessel = judgement.diary.vessel
        lines += ["", *guide_lines(course, topic, vessel=vessel, width=width)]
    if course.bottling is not None and course.bottling.if_:
        told = f"This plan assumes: {'; '.join(SUPPOSED[key] for key in course.bottling.if_)}."
        lines += ["", *textwrap.wrap(told, width)]
    if course.phase in _IN_JAR:
        cleared = course.phase is Phase.CLEARING
        lines += [
            "",
            *figures_text(figures, done=cleared or judgement.verdict.answer == "go", width=width),
        ]
    for care in _cares(course):
        lines += textwrap.wrap(f"! {care}", width, subsequent_indent="  ")
    return "\n".join(lines)


def stands_text(judgement: Judgement) -> str:
    """Write phase, question and answer: "fermenting. Rack it? WAIT"."""
    v, phase = judgement.verdict, judgement.phase
    if phase not in _IN_JAR:
        stop = f": {answer_text(v.answer, v.next)}" if v.next.kind is Kind.RESCUE else ""
        return f"{PHASES[phase]}{stop}"
    return f"{PHASES[phase]}. {ASKED[v.question].capitalize()} {ANSWERS[v.answer]}"


def _next(course: Course) -> str:
    """The next step and its day; doing nothing has no day."""
    if course.next.kind is Kind.NOTHING:
        spare = course.facts.about.spare_for
        return f"nothing: it is the spare for topping up {spare}" if spare else SHORT[Kind.NOTHING]
    what = short_text(course.next)
    text = f"{days_text(course.next, course.asked_on)}  {what}"
    if len(text) <= _SHORTEST_LINE - _COLUMN:
        return text
    # what to do must not be cut: since when it is due, the verdict says too
    return f"{days_text(replace(course.next, since=course.next.on), course.asked_on)}  {what}"


def _two_dates(course: Course) -> Iterator[str]:
    """What the maker looks forward to: the racking, the bottling, the first glass."""
    for when, what in islice(_dates(course), 2):
        yield f"{when}  {what}"


def _bottling(course: Course, window: Window) -> Iterator[tuple[str, str]]:
    """The window or, if it is past, the day from the plan."""
    today, what = course.asked_on, SHORT[Kind.BOTTLE]
    if window.high < today:
        planned = [step.on for step in course.steps if step.kind is Kind.BOTTLE]
        yield from ((day_text(on, today), what) for on in planned[:1])
        return
    wide = window.high > window.soonest
    more = f" (earliest {day_text(window.soonest, today)})" if wide else ""
    yield window_text(window, today), f"{what}{more}"


def _drinking(course: Course, window: Window) -> str:
    """The window, or, where the bottling was to have been by now, the month of the plan."""
    planned = [step.on for step in course.steps if step.kind is Kind.DRINK]
    if planned and planned[-1] > window.high:
        return f"from {format_day(planned[-1], day=False)}"
    return window_text(window, course.asked_on)


def _dates(course: Course) -> Iterator[tuple[str, str]]:
    today = course.asked_on
    if course.phase is Phase.FERMENTING and course.next.kind is not Kind.RACK:
        rack = next((step for step in course.steps if step.kind is Kind.RACK), None)
        if rack is not None:
            said = "about " if course.facts.known.budget is Budget.CLOSED else "not before "
            tonight = rack.on == today
            yield f"{'' if tonight else said}{day_text(rack.on, today)}", SHORT[Kind.RACK]
    if course.bottling is not None and course.next.kind is not Kind.BOTTLE:
        yield from _bottling(course, course.bottling)
    if course.drinking is not None:
        yield _drinking(course, course.drinking), "first glass"
    if course.phase is Phase.BOTTLED:
        for step in course.steps:
            yield days_text(step, today), short_text(step)


def _bottles(course: Course, figures: Figures) -> str:
    """How many there are, or will be."""
    if course.facts.bottles is not None:
        left = course.facts.bottles.stock
        return "number not noted" if left is None else f"{left} left"
    if figures.volumes is None or course.phase not in _IN_JAR:
        return "not known" if course.phase in _IN_JAR else "none"
    low, high = (bottles(litres, _USUAL_CL) for litres in figures.volumes.in_bottle)
    there = stock(figures.stands.rows)
    filled = "" if there is None else f"{there.left} filled; of the rest "
    number = f"{low}" if low == high else f"{low} to {high}"
    return f"{filled}{number} of {_USUAL_CL} cl, if not topped up"


def _unknown(judgement: Judgement, figures: Figures) -> Iterator[str]:
    """What would make the answer or the numbers surer."""
    course = judgement.course
    if course is None or course.phase not in _IN_JAR:
        return
    facts = course.facts
    if not facts.gravity.readings:
        yield "gravity"
    if course.phase is Phase.CLEARING:
        if facts.cellar.clear_on is None and facts.cellar.cloudy_on is None:
            yield "clear"
        if facts.cellar.still_on is None and facts.cellar.prickle_on is None:
            yield "gas left"
        if facts.cellar.malolactic_open:
            yield "malolactic"
    if figures.stands.litres is None:
        yield "litres"
    if facts.about.style is None:
        yield "style"
    if figures.ph is None:
        yield "pH"


def _step(step: Step, today: date, width: int) -> Iterator[str]:
    """Day, what to do, and what the same visit may settle."""
    yield from textwrap.wrap(f"{days_text(step, today)}: {step.do}", width)
    also = also_text(step)
    yield from textwrap.wrap(also, width, initial_indent="  ", subsequent_indent="  ")


def _cares(course: Course) -> Iterator[str]:
    """The cautions of the next step, of the phase and of the act."""
    if course.next.care:
        yield course.next.care
    yield from _OF_PHASE[course.phase]
    yield from _OF_ACT.get(course.next.kind, ())


def _cut(text: str, width: int) -> str:
    return text if len(text) <= width else f"{text[: width - 2].rstrip()}.."
