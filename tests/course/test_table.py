"""The table row by row: facts just so, and the step and day that they give."""

# ruff: noqa: E501  a table reads by the row

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from bubblerate.course import words
from bubblerate.course.engine import course_of
from bubblerate.course.facts import Facts
from bubblerate.course.inputs import BUBBLING, ODD, READINGS, About, Known
from bubblerate.course.parts import Air, Bottles, Cellar, Cold, Gravity, Reading, Volume
from bubblerate.course.table import TABLE
from bubblerate.verdict.reasons import Kind, Phase

from one_changed import goes, one_changed

DAY_0 = date(2026, 9, 1)
WAITS = Path(__file__).parent.parent / "golden" / "waits.txt"


def d(day):
    return DAY_0 + timedelta(days=day)


def read(*pairs):
    return tuple(Reading(on=d(day), sg=sg) for day, sg in pairs)


WORKED = Air(
    state="slowing", worked_on=d(3), heard_on=d(29), slowed_on=d(30), counted_on=d(31), per_min=1.2
)
QUIET = replace(WORKED, state="quiet", quiet_on=d(34), counted_on=d(34), per_min=0.5)
FIVE_DAYS = replace(QUIET, quiet_five_days_on=d(36), slowing_seen=True)
LAG = Air(state="lag", counted_on=d(2))


def fermenting(**facts):
    usual = {
        "about": About(),
        "known": Known(end_sg=(0.990, 0.998)),
        "began": DAY_0,
        "start_written": True,
        "sugar_in": DAY_0,
        "proof_from": DAY_0,
        "phase": Phase.FERMENTING,
        "phase_on": DAY_0,
        "air": WORKED,
        "gravity": Gravity(slow_since=d(30)),
    }
    return Facts(**{**usual, **facts})


def gravity(*pairs, **more):
    return Gravity(readings=read(*pairs), **{"slow_since": d(30), **more})


def clearing(cellar=None, known=None, **facts):
    cellar = cellar or {}
    usual = {
        "phase": Phase.CLEARING,
        "phase_on": d(35),
        "air": replace(QUIET, five_minutes_on=d(100), counted_on=d(100)),
        "gravity": gravity((35, 0.996), (80, 0.994), (100, 0.994)),
        "cellar": Cellar(**{"racked_on": d(35), "rackings": 1, "unclear_on": DAY_0, **cellar}),
        "known": known or Known(ready=True, end_sg=(0.990, 0.998), still_since=d(80)),
    }
    return fermenting(**{**usual, **facts})


CLEAR = {"clear_on": d(70), "ripe_on": d(100), "still_on": d(70)}
NOT_READY = Known(end_sg=(0.990, 0.998), missing=frozenset({READINGS}), find_earliest=lambda: d(94))
ABOVE = Known(end_sg=(0.990, 0.998), still_since=d(80))
BUSY = Air(state="busy", worked_on=d(3), counted_on=d(10))
STUCK = gravity((36, 1.020), (41, 1.020))
WARM = Cold(warm_since=d(20), temp_c=19.0)


def bottled(on=110, **more):
    return fermenting(
        phase=Phase.BOTTLED, phase_on=d(on), bottles=Bottles(on=d(on), **more), about=About()
    )


# row, kind, its day, the evening asked, facts
# fmt: off
ROWS = [
    ("A1", "nothing", 40, 60, fermenting(phase=Phase.EMPTY, phase_on=d(40))),
    ("A1b", "nothing", 30, 10, fermenting(about=About(spare_for="plum"))),
    ("C0", "read", 102, 102, clearing(CLEAR, sugar_noted_on=d(101))),
    ("A2", "answer", 36, 36, fermenting(gravity=gravity((30, 1.0), (36, 1.04), odd_on=d(36)))),
    ("F1", "rack", 36, 40, fermenting(air=QUIET, gravity=gravity((36, 0.996)))),
    ("F1", "rack", 34, 40, fermenting(air=QUIET, gravity=gravity((32, 0.996)))),
    ("F1", "rack", 33, 33, fermenting(air=replace(WORKED, hushed_on=d(33)), gravity=gravity((31, 1.004)))),
    ("F1", "rack", 36, 40, fermenting(gravity=gravity((31, 1.004), (36, 1.004)))),  # few bubbles
    ("F1", "rack", 36, 40, fermenting(air=Air(), gravity=gravity((31, 1.004), (36, 1.003)))),
    ("F1b", "count", 31, 40, fermenting(air=Air(), gravity=gravity((31, 0.996)))),
    ("F10", "count", 13, 11, fermenting(air=BUSY, gravity=gravity((31, 1.004), (36, 1.004)))),
    ("F2", "rack", 36, 36, fermenting(air=FIVE_DAYS)),
    ("F2", "rack", 36, 36, fermenting(air=FIVE_DAYS, gravity=gravity((10, 1.040)))),
    ("F14", "read", 36, 36, fermenting(air=FIVE_DAYS, gravity=gravity((31, 1.020)))),
    ("F2", "rack", 36, 40, fermenting(air=FIVE_DAYS, cold=Cold(since=d(37)))),  # quiet before the cold
    ("F9", "warm", 36, 40, fermenting(air=FIVE_DAYS, cold=Cold(since=d(36)))),
    ("F12", "read", 34, 40, fermenting(air=FIVE_DAYS, known=Known(sudden=True))),
    ("F12", "read", 34, 40, fermenting(air=FIVE_DAYS, known=Known(curve_failed=True))),
    ("F3", "count", 1, 0, fermenting(air=Air())),
    ("F3", "count", 3, 2, fermenting(air=LAG)),
    ("F3b", "count", 1, 0, fermenting(air=Air(), sweet=True)),
    ("F19", "stabilise", 41, 42, fermenting(air=QUIET, gravity=STUCK, sweet=True)),
    ("F4", "bung", 3, 3, fermenting(air=LAG)),
    ("F4", "bung", 5, 5, fermenting(air=LAG, cold=Cold(temp_c=12.0))),
    ("F5", "bung", 30, 36, fermenting(handled_on=d(29), air=replace(FIVE_DAYS, silent_on=d(30)))),
    ("F5", "bung", 11, 13, fermenting(handled_on=d(10), air=replace(WORKED, heard_on=d(9), slowed_on=d(12), silent_on=d(12)))),
    ("F6", "bung", 20, 21, fermenting(known=Known(leak_on=d(20)))),
    ("F7", "count", 43, 41, fermenting(cold=Cold(warmed_on=d(40)))),
    ("F8", "count", 61, 40, fermenting(cold=Cold(since=d(31), on_purpose=True))),
    ("F9", "warm", 25, 40, fermenting(cold=Cold(since=d(25)))),
    ("F10", "count", 13, 11, fermenting(air=BUSY)),
    ("F11", "read", 42, 38, fermenting(air=QUIET, gravity=gravity((30, 1.020), (37, 1.002)))),
    ("F12", "read", 34, 34, fermenting(air=QUIET)),
    ("F13", "read", 51, 42, fermenting(air=QUIET, gravity=gravity((31, 1.023), (41, 1.014)))),
    ("F14", "read", 41, 36, fermenting(air=QUIET, gravity=gravity((36, 1.020)))),
    ("F15", "warm", 41, 41, fermenting(air=QUIET, gravity=STUCK)),
    ("F16", "rouse", 47, 42, fermenting(air=QUIET, gravity=STUCK, cold=Cold(warm_since=d(40)))),
    ("F17", "read", 49, 43, fermenting(air=QUIET, gravity=STUCK, cold=WARM, done={Kind.ROUSE: d(42)})),
    ("F17", "read", 57, 43, fermenting(air=QUIET, gravity=STUCK, cold=WARM, done={Kind.ROUSE: d(35), Kind.RESTART: d(43)})),
    ("F18", "restart", 41, 42, fermenting(air=QUIET, gravity=STUCK, cold=WARM, done={Kind.ROUSE: d(34)})),
    ("F19", "stabilise", 41, 42, fermenting(air=QUIET, gravity=STUCK, cold=WARM, done={Kind.ROUSE: d(30), Kind.RESTART: d(31)})),
    ("F20", "read", 31, 31, fermenting(air=replace(WORKED, twice_slow_on=d(31)))),
    ("F21", "count", 32, 31, fermenting()),
    ("F21", "count", 33, 31, fermenting(air=replace(WORKED, fast=True))),
    ("C1", "read", 105, 105, clearing(CLEAR, air=replace(QUIET, back_on=d(105)))),
    ("C2", "look", 104, 91, clearing({"prickle_on": d(90)})),
    ("C3", "look", 63, 61, clearing({"fined_on": d(60), "fining_days": 3})),
    ("C3", "look", 67, 61, clearing({"fined_on": d(60)})),
    ("C4", "rack", 64, 64, clearing({"fined_on": d(60), "clear_on": d(64)}, done={Kind.LOOK: d(64)})),
    ("C4", "rack", 74, 74, clearing({"fined_on": d(60)})),
    ("C5", "rack", 60, 61, clearing({"lees_on": d(60)})),
    ("C6", "top-up", 36, 38, clearing(volume=Volume(litres=4.0, full=4.5))),
    ("C7", "read", 110, 100, clearing({"hold_from": d(96), "clear_on": d(96)})),
    ("C7", "read", 110, 100, clearing({"hold_from": d(96), "racked_on": d(90)})),
    ("C8", "look", 109, 100, clearing({"hold_from": d(96), "racked_on": d(79)})),
    ("C9", "look", 109, 107, clearing({"hold_from": d(96), "racked_on": d(80), "cloudy_on": d(105)})),
    ("C7", "read", 110, 107, clearing({"hold_from": d(96), "racked_on": d(80), "cloudy_on": d(106)})),
    ("C8", "look", 65, 40, clearing()),
    ("C8", "look", 87, 85, clearing({"racked_on": d(80), "rackings": 2})),
    ("C9", "look", 74, 71, clearing({"cloudy_on": d(70)})),
    ("C9", "look", 107, 101, clearing({"cloudy_on": d(100), "racked_on": d(80), "rackings": 2})),
    ("C10", "rack", 96, 97, clearing({"cloudy_on": d(96)})),
    ("C12a", "read", 101, 100, clearing(CLEAR, known=Known(missing=frozenset({ODD}), find_earliest=lambda: d(94)))),
    ("C12b", "count", 103, 101, clearing(CLEAR, known=Known(missing=frozenset({BUBBLING}), find_earliest=lambda: d(94)))),
    ("C12d", "count", 101, 100, clearing(CLEAR, known=replace(NOT_READY, recount_on=d(101)))),
    ("C12", "read", 114, 101, clearing(CLEAR, known=NOT_READY)),
    ("C12", "read", 140, 101, clearing(CLEAR, known=replace(NOT_READY, woke_on=d(80)))),
    ("C12c", "look", 100, 101, clearing({"clear_on": d(70), "ripe_on": d(100)})),
    ("C13", "warm", 100, 101, clearing(CLEAR, known=ABOVE)),
    ("C14", "read", 109, 101, clearing(CLEAR, known=ABOVE, cold=Cold(warm_since=d(95)), done={})),
    ("C15", "stabilise", 100, 101, clearing(CLEAR, known=ABOVE, cold=WARM)),
    ("C16", "look", 100, 101, clearing({**CLEAR, "malolactic_open": True}, done={Kind.LOOK: d(70)})),
    ("C17", "bottle", 105, 101, clearing({**CLEAR, "ripe_on": d(105)})),
    ("C18", "read", 131, 131, clearing(CLEAR)),
    ("C18b", "count", 108, 109, clearing(CLEAR)),
    ("C19", "bottle", 100, 101, clearing(CLEAR)),
    ("B1", "rescue", 110, 400, bottled(danger_on=d(110))),
    ("B2", "lay", 115, 111, bottled(corked=True)),
    ("B3", "watch", 124, 111, bottled(sparkling=True)),
    ("B4", "watch", 117, 111, bottled()),
    ("B4", "watch", 166, 139, bottled()),
]
# fmt: on


@pytest.mark.parametrize(("row", "kind", "day", "asked", "facts"), ROWS)
def test_facts_give_the_step_and_day_of_their_row(row, kind, day, asked, facts):
    step = course_of(facts, d(asked)).next
    assert (step.row, step.kind, step.since) == (row, kind, d(day))


def test_a_go_with_one_fact_changed_waits_where_it_did(tmp_path):
    """Each go row on another day or with another fact: the waits that come of it."""
    lines = []
    for row, kind, day, asked, facts in ROWS:
        if goes(kind, d(day), d(asked)):
            lines += [f"{row} on day {asked}"]
            for change, one, on in one_changed(facts, d(asked)):
                step = course_of(one, on).next
                if not goes(step.kind, step.since, on):
                    lines += [f"    {change}: {step.row} {step.kind} {(step.since - DAY_0).days}"]
    found = tmp_path / "waits.txt"
    found.write_text("\n".join([*lines, ""]), encoding="utf-8")
    same = found.read_text(encoding="utf-8") == WAITS.read_text(encoding="utf-8")
    assert same, f"if every line that goes is no go: cp {found} {WAITS}"


def test_drinking_follows_the_last_look_at_the_plastic_bottle():
    first = course_of(bottled(), d(170)).next
    assert (first.row, first.since) == ("B6", date(2027, 6, 20))  # six months from 20 December
    late = course_of(bottled(), date(2029, 11, 1)).next
    assert (late.row, late.until) == ("B5", date(2029, 12, 20))


def test_three_rackings_that_did_not_clear_it_lead_to_cold_and_then_to_finings():
    hazy = {"cloudy_on": d(200)}
    facts = clearing(hazy)
    facts = replace(facts, cellar=replace(facts.cellar, rackings=3, racked_on=d(130)))
    cooled = course_of(facts, d(200)).next
    assert (cooled.row, cooled.kind, cooled.since) == ("C11", "chill", d(200))
    fined = course_of(replace(facts, done={Kind.CHILL: d(201)}), d(202)).next
    assert (fined.row, fined.kind, fined.since) == ("C11b", "fine", d(231))


def test_every_row_is_tried_here():
    codes = {row.code for rows in TABLE.values() for row in rows}
    assert codes == {row for row, *_ in ROWS} | {"B5", "B6", "C11", "C11b"}


def test_every_kind_of_step_has_a_row():
    assert {row.kind for rows in TABLE.values() for row in rows} == {*Kind}


def test_every_row_has_its_words_and_no_words_are_left_over():
    codes = {row.code for rows in TABLE.values() for row in rows}
    assert {*words.DO} == codes
    assert {*words.CARE} <= codes
    assert {key for rows in TABLE.values() for row in rows for key in row.also} <= {*words.ALSO}


@pytest.mark.parametrize("text", [*words.DO.values(), *words.CARE.values(), *words.ALSO.values()])
def test_a_sentence_has_at_most_25_words(text):
    assert all(len(sentence.split()) <= 25 for sentence in text.split(". "))


@pytest.mark.parametrize("asked", [0, 31, 33, 500])
def test_a_step_that_is_overdue_stays_as_it_is(asked):
    step = course_of(fermenting(), d(asked)).next
    assert step.since == d(32)
    assert step.on == max(d(32), d(asked))


def test_a_jar_that_can_spare_no_more_wine_is_told_where_to_float_it_and_waits_no_longer():
    facts = clearing(CLEAR, known=NOT_READY, done={Kind.READ: d(100)})
    spent = replace(facts, gravity=replace(facts.gravity, asked=3))
    step = course_of(spent, d(101)).next
    assert step.since == d(114)
    assert words.ALSO["float"] in step.also
