"""What is next on bottling: one visit, its day, and nothing that no evening can give."""

from dataclasses import replace
from datetime import timedelta

import pytest

from bubblerate.verdict.bottling import next_step, reasons
from bubblerate.verdict.earliest import Earliest, Tell
from bubblerate.verdict.lacks import WORST_FIRST
from bubblerate.verdict.reasons import BOTTLE, Code, Kind

from cases import NOTHING_LACKS, NOW, lacking

TODAY = NOW.date()
LATER = TODAY + timedelta(days=14)
PLAN = Earliest(on=LATER, read_on=(LATER,), look_on=(LATER,))


def test_a_go_is_to_be_bottled_today():
    assert next_step(NOTHING_LACKS) == BOTTLE.due(TODAY)


def test_what_can_be_had_in_one_evening_is_one_line_and_one_visit():
    found = next_step(
        lacking(Code.OLD_READING, Code.FEW_COUNTS, Code.STILL_UNSAID, Code.CLEAR_UNSAID)
    )
    assert (found.kind, found.on) == (Kind.READ, TODAY)
    assert found.do == (
        "Read the gravity, count for 5 minutes and note the temperature, shake a sample for gas "
        "and shine a torch through it."
    )


def test_a_wait_that_only_days_can_end_is_put_on_its_day():
    found = next_step(replace(lacking(Code.GRAVITY_UNPROVEN), find_earliest=lambda: PLAN))
    assert (found.kind, found.on) == (Kind.READ, LATER)
    assert found.do.startswith("It could be bottled on 14 Nov 2026 if nothing changes.")


def test_a_jar_that_bubbles_is_only_counted_again_and_not_every_evening_anew():
    first = next_step(
        replace(lacking(Code.STILL_BUBBLING, Code.CLEAR_UNSAID), find_earliest=lambda: PLAN)
    )
    assert (first.kind, first.on) == (Kind.COUNT, TODAY + timedelta(days=7))
    asked = replace(lacking(Code.STILL_BUBBLING), asked=TODAY + timedelta(days=3))
    assert next_step(asked).on == first.on


def test_nobody_is_sent_to_look_at_a_wine_that_may_work_still():
    found = next_step(
        replace(
            lacking(Code.FIZZ, Code.CLEAR_UNSAID), find_tells=lambda: (Tell.STRIP, Tell.STABILISE)
        )
    )
    assert found.kind is Kind.READ
    assert "torch" not in found.do
    assert found.do.startswith("Any one of these would settle it: a sugar strip")


@pytest.mark.parametrize("code", WORST_FIRST)
def test_every_lack_has_a_reason_and_a_step(code):
    proof = lacking(code)
    (reason,) = reasons(proof)
    assert reason.code is code
    found = next_step(proof)
    assert found.do.endswith((".", "?"))
    assert found.on is not None
    assert found.on >= TODAY
