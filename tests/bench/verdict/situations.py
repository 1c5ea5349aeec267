"""Situations around those that are a go, for `wrong_goes.py` to try.

A situation is a function without arguments that says whether the answer is go: the go rows of the
table of steps with one fact changed, each in turn, and the rows that are no go.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from course.test_table import ROWS, d

from bubblerate.course.engine import course_of

from one_changed import goes, one_changed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import date

    from bubblerate.course.facts import Facts


def facts_rows() -> Iterator[Callable[[], bool]]:
    """Rows of the test of the table that are no go."""
    for _, kind, day, asked, facts in ROWS:
        if not goes(kind, d(day), d(asked)):
            yield partial(_course_goes, facts, d(asked))


def edges() -> Iterator[Callable[[], bool]]:
    """The go rows of that test with one fact changed, which are written down."""
    for _, kind, day, asked, facts in ROWS:
        if goes(kind, d(day), d(asked)):
            for _, one, on in one_changed(facts, d(asked)):
                yield partial(_course_goes, one, on)


def _course_goes(facts: Facts, on: date) -> bool:
    step = course_of(facts, on).next
    return goes(step.kind, step.since, on)
