"""Codes, kinds and steps that programs and people rely on."""

from datetime import date

import pytest

from bubblerate.verdict import reasons
from bubblerate.verdict.facts import Act
from bubblerate.verdict.reasons import COUNT, READ, Code, Kind, NextStep

from scenes import evening

# The whole list, so that a new kind is a decision and not an accident: programs read them.
KINDS = (
    "answer count bung read warm rouse restart rack top-up look chill fine stabilise bottle rescue "
    "lay watch drink nothing"
)


def test_the_kinds_of_step_are_these():
    assert " ".join(Kind) == KINDS


def test_a_code_reads_as_the_word_of_its_name():
    assert all(code == code.name.lower().replace("_", "-") for code in Code)


def test_a_step_is_put_on_its_day():
    day = date(2026, 10, 9)
    assert READ.due(day) == NextStep(Kind.READ, READ.do, day)
    assert COUNT.on is None


def test_every_step_is_of_a_kind_of_its_own_name_or_what_it_asks_for():
    steps = {name: step for name, step in vars(reasons).items() if isinstance(step, NextStep)}
    assert {name: str(step.kind) for name, step in steps.items()} == {
        "READ": "read",
        "WARM": "warm",
        "PRESS": "bung",
        "COUNT": "count",
        "ROUSE": "rouse",
        "RACK": "rack",
        "LOOK_FOR_LEES": "look",
        "BOTTLE": "bottle",
        "NOTHING": "nothing",
    }


@pytest.mark.parametrize(
    ("event", "words"),
    [("racked", "racked on 4 Oct 2026"), ("airlock", "given another airlock on 4 Oct 2026")],
)
def test_an_event_is_told_with_its_day(event, words):
    assert reasons.done(Act(event, evening(3))) == words
