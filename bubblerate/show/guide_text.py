"""Writes the guide for one jar: how to do its next step, with its own days; no sums here."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ..course.ladder import ladder
from ..course.lag import lag
from ..text import as_typed, beside, format_day
from ..verdict.reasons import Kind
from .guides import CARES, GUIDES, Topic
from .step_text import SHORT

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from ..course.engine import Course
    from ..course.lag import Lag

__all__ = ["guide_lines", "guide_pairs", "topic_of"]

_OF_ROW: Final[Mapping[str, Topic]] = {
    "F3": Topic.FIRST_DAYS,
    "F4": Topic.FIRST_DAYS,
    **dict.fromkeys(("F15", "F16", "F17", "F18", "F19"), Topic.STUCK),
    **dict.fromkeys(("C3", "C4", "C11b"), Topic.FININGS),
    **dict.fromkeys(("C9", "C10", "C11"), Topic.HAZE),
    **dict.fromkeys(("C7", "C15"), Topic.STABILISE),
    **dict.fromkeys(("C17", "C18", "C18b", "C19"), Topic.BOTTLING),
}


def topic_of(course: Course) -> Topic | None:
    """Find the guide for the next step of a jar; None if the step needs none."""
    topic = _OF_ROW.get(course.next.row)
    if topic is Topic.FIRST_DAYS and lag(course.facts) is None:
        return None
    return topic


def guide_lines(course: Course, topic: Topic, *, vessel: str, width: int) -> list[str]:
    """Write a guide, with the jar's own days if it has any.

    Parameters
    ----------
    course : Course
    topic : Topic
    vessel : str
        Name of the jar.
    width : int
        Characters a line may hold.

    Returns
    -------
    list of str
    """
    pairs = guide_pairs(course, topic, vessel=vessel)
    return [line for label, text in pairs for line in beside(label, text, width=width, column=12)]


def guide_pairs(course: Course, topic: Topic, *, vessel: str) -> list[tuple[str, str]]:
    """The same as pairs of word and text; a caution starts with a mark and has no word.

    Parameters
    ----------
    course : Course
    topic : Topic
    vessel : str
        Name of the jar.

    Returns
    -------
    list of (str, str)
    """
    own = {Topic.FIRST_DAYS: _first_days, Topic.STUCK: _rungs, Topic.STABILISE: _hold}.get(topic)
    pairs = [] if own is None else [*own(course)]
    pairs += [(label, text.replace("NAME", as_typed(vessel))) for label, text in GUIDES[topic]]
    return pairs + [("", f"! {care}") for care in CARES[topic]]


def _first_days(course: Course) -> Iterator[tuple[str, str]]:
    found = lag(course.facts)
    if found is None:
        return
    yield "usual", _usual(found)
    day = (course.asked_on - found.began).days
    worry = format_day(found.worry_on)
    told = (
        f"This is day {day}: nothing to do before {worry}."
        if course.asked_on < found.worry_on
        else f"This is day {day}: time to look into it (since {worry})."
    )
    yield "now", told


def _usual(found: Lag) -> str:
    low, high = found.usual_hours
    where = "in a warm room" if found.temp_c is None else f"at {found.temp_c:.0f} C"
    return f"{low} to {high} hours from adding the yeast to the first bubbles, {where}."


def _rungs(course: Course) -> Iterator[tuple[str, str]]:
    for n, rung in enumerate(ladder(course.facts, course.asked_on), 1):
        what = "keep it sweet" if rung.kind is Kind.STABILISE else SHORT[rung.kind]
        begun = rung.done_on is not None
        on = format_day(rung.on, year=False)
        over = begun and rung.until <= course.asked_on
        until = f"done on {format_day(rung.until, year=False)}"
        if not over:
            until = f"give it until {format_day(rung.until, year=False)}"
        yield f"step {n}", f"{what}: {'started on' if begun else 'from'} {on}, {until}."


def _hold(course: Course) -> Iterator[tuple[str, str]]:
    held = course.facts.cellar.hold_from
    if held is None:
        return
    day = (course.asked_on - held).days
    left = max(14 - day, 0)
    text = f"day {min(day, 14)} of 14" + (f", {left} to go" if left else ": over, read the gravity")
    yield "wait now", f"{text}."
