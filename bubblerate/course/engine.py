"""The course of one jar: its phase, the open question, the one next step, and the steps after it.

Every screen reads the `Course` of this module and works out nothing itself.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Final

from ..verdict.reasons import Kind, NextStep, Phase, Question
from . import words
from .ahead import after
from .days import days_on, newest
from .fold import fold
from .table import REST_DAYS, Row, row_for
from .waits import LOOK_FRESH_DAYS, LOOKED_READ_DAYS
from .windows import Window, bottling_window, drinking_window

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from ..diary.visit import Visit
    from .facts import Facts
    from .inputs import About
    from .jar import Weigh

__all__ = ["Course", "Step", "any_evening", "course", "course_of"]

_LAST: Final = frozenset({Kind.DRINK, Kind.RESCUE, Kind.NOTHING})
_MOST_STEPS: Final = 60  # more would be a circle in the table
_READ_REST: Final = {Phase.FERMENTING: 5, Phase.CLEARING: 14}


@dataclass(frozen=True, slots=True, kw_only=True)
class Step(NextStep):
    """One step of a course: its days are known.

    Attributes
    ----------
    on : date
        Evening to do it: the later of its day and the day asked.
    since : date
        Its own day.
    row : str
        The row of the table that gave it.
    """

    on: date
    since: date
    row: str


def any_evening(step: NextStep) -> bool:
    """Whether only a fresh look is missing for bottling, so that any evening will do."""
    return isinstance(step, Step) and step.row in ("C18", "C18b")


@dataclass(frozen=True, kw_only=True)  # no slots: cached properties need a dict
class Course:
    """What a jar needs, and when.

    Attributes
    ----------
    asked_on : date
    phase : Phase
    question : Question
        The open one.
    next : Step
    facts : Facts
    """

    asked_on: date
    phase: Phase
    question: Question
    next: Step
    facts: Facts

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """What follows it if all goes well, up to the first glass."""
        _, *later = _walk(self.facts, self.asked_on, self.bottling)
        return tuple(later)

    @cached_property
    def bottling(self) -> Window | None:
        """When to bottle a wine that is in the jar."""
        return _window(self.facts)

    @cached_property
    def drinking(self) -> Window | None:
        """When to drink it."""
        return None if self.bottling is None else drinking_window(self.facts, self.bottling)

    def go(self, question: Question | None = None) -> bool:
        """Whether the next step is the act asked about, and its day has come."""
        act = (question or self.question).act
        return self.next.kind is act and self.next.since <= self.asked_on


def course(rows: Sequence[Visit], about: About, weigh: Weigh, on: date) -> Course:
    """Work out the course of one jar, as of an evening.

    Parameters
    ----------
    rows : sequence of Visit
        Live rows of one wine, as `Diary.batch` gives them; at least one.
    about : About
        What the maker says about the jar.
    weigh : callable
        Gives what the sums say about some of its rows.
    on : date
        Evening asked about (`days.evening_of`).

    Returns
    -------
    Course

    Raises
    ------
    ValueError
        If there are no rows.
    """
    return course_of(fold(rows, about, weigh), on)


def course_of(facts: Facts, on: date) -> Course:
    """Course of one jar from its facts."""
    fermenting = facts.phase is Phase.FERMENTING
    return Course(
        asked_on=on,
        phase=facts.phase,
        question=Question.RACKING if fermenting else Question.BOTTLING,
        next=_step(row_for(facts, on), facts, on),
        facts=facts,
    )


def _walk(facts: Facts, on: date, bottling: Window | None) -> Iterator[Step]:
    """The next step, and those after it if each is done on its day and goes well."""
    for ahead in range(_MOST_STEPS):
        row = row_for(facts, on)
        step = _step(row, facts, on)
        if ahead and step.kind is Kind.BOTTLE:
            step = _planned_bottling(step, bottling)
        yield step
        if step.kind in _LAST:
            return
        facts = after(facts, step.kind, row.code, step.on)
        on = days_on(step.on, 1) if step.kind in (Kind.LAY, Kind.WATCH) else step.on
    raise AssertionError(f"no end after {_MOST_STEPS} steps")


def _planned_bottling(step: Step, window: Window | None) -> Step:
    """A future bottling, in its window; its words are true whatever happens until then."""
    step = replace(step, do=words.BOTTLE_LATER)
    if window is None:
        return step
    low = newest(step.on, window.low)
    return replace(step, on=low, until=newest(low, window.high))


def _step(row: Row, facts: Facts, on: date) -> Step:
    since = newest(row.day(facts), _rested(row, facts))
    until = None if row.until is None else row.until(facts)
    return Step(
        kind=row.kind,
        row=row.code,
        do=words.DO[row.code],
        on=max(since, on),
        since=since,
        until=None if until is None else max(until, since),
        also=_also(row, facts, max(since, on)),
        care=words.CARE.get(row.code, ""),
    )


def _rested(row: Row, facts: Facts) -> date | None:
    """When this kind of step may be asked for again."""
    on = facts.done.get(row.kind)
    if on is None:
        return None
    if row.rest is not None:
        return days_on(on, row.rest)
    if row.kind is Kind.READ:
        spared = facts.samples_spent and facts.phase is Phase.FERMENTING
        return days_on(on, _READ_REST[facts.phase] * (2 if spared else 1))
    return days_on(on, REST_DAYS.get(row.kind, 0))


def _also(row: Row, facts: Facts, on: date) -> tuple[str, ...]:
    """What else the visit should settle, without what is known and will still be true."""
    five = facts.air.five_minutes_on
    holds = LOOK_FRESH_DAYS if facts.phase is Phase.CLEARING else 0
    counted = five is not None and (on - five).days <= holds
    read = facts.gravity.read_on
    unread_days = None if read is None else (on - read).days
    read_holds = 1 if row.kind is Kind.BOTTLE else LOOKED_READ_DAYS.get(row.code, 0)
    fresh = unread_days is not None and unread_days < read_holds
    pressed = facts.done.get(Kind.BUNG)
    known = {
        "count": counted,
        "press": pressed is not None and (on - pressed).days < REST_DAYS[Kind.BUNG],
        "temperature": facts.cold.noted_on == on,
        "malolactic": not facts.cellar.malolactic_open,
        "read": fresh,
        "read-if-clear": fresh,
        "shake": facts.cellar.still_on is not None and row.kind is not Kind.BOTTLE,
    }
    keys = [key for key in row.also if not known.get(key, False)]
    if row.kind is Kind.READ and facts.samples_spent:
        keys.append("float")
    if facts.doubted_on is not None and row.kind is not Kind.RESCUE:
        keys.insert(0, "bottles")
    return tuple(words.ALSO[key] for key in dict.fromkeys(keys))


def _window(facts: Facts) -> Window | None:
    """Window of bottling, from the days of the facts only, so only a new row moves it."""
    if facts.phase not in (Phase.FERMENTING, Phase.CLEARING):
        return None
    by_facts = _walk(facts, facts.began, None)
    soonest = [step.on for step in by_facts if step.kind is Kind.BOTTLE]
    return bottling_window(facts, soonest[0]) if soonest else None
