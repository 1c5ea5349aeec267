"""The gate before bottling: stricter than the verdict in every situation, looser in none."""

from dataclasses import replace
from datetime import timedelta
from itertools import product

import pytest

from bubblerate.course.checklist import AGAINST, BESIDE, IN_FAVOUR, gate, pressure
from bubblerate.course.plan import outlook
from bubblerate.course.standing import standing
from bubblerate.diary.reading import read as read_diary
from bubblerate.diary.settings import Keeping, Settings, VesselSettings
from bubblerate.physics.bottle import bottle_pressure
from bubblerate.physics.gas import saturated_g_per_litre
from bubblerate.verdict.case import Case
from bubblerate.verdict.decide import Verdict, verdict
from bubblerate.verdict.judgement import judge
from bubblerate.verdict.reasons import Code, Kind, NextStep, Reason

from cases import BOTTLING, FALLING, NOTHING_LACKS, NOW, PROVEN, SEEN, STEADY, lacking, read, stated
from scenes import EXAMPLES, diary, evening

LONG_AGO = NOW.date() - timedelta(days=40)
ALL_SEEN = VesselSettings(
    clear_since=LONG_AGO, degassed_on=LONG_AGO, malolactic_settled_on=LONG_AGO
)


def judged(proof, facts):
    """What the verdict says of bottling."""
    return verdict(
        Case(
            vessel="fig",
            asked_at=NOW,
            question="bottling",
            threshold_per_min=1.0,
            facts=stated(**{**SEEN, **facts}),
            proof=proof,
        )
    )


def stands(known, *rows):
    first = {"day": -30, "event": "pitched", "sg": 1.085}
    return standing(diary(first, *rows), on=NOW.date(), known=known)


def asked(proof=NOTHING_LACKS, known=ALL_SEEN, rows=(), gravity=PROVEN, **facts):
    checked = gate(judged(proof, facts), gravity, stands(known, *rows), keeping=Keeping())
    return checked, {line.name: line.mark for line in checked.lines}


# --- never looser than the verdict ---------------------------------------------------------------

SITUATIONS = [row[1:3] for row in BOTTLING]
SEEN_OR_NOT = [
    VesselSettings(clear_since=clear, degassed_on=degassed, malolactic_settled_on=settled)
    for clear, degassed, settled in product(
        (None, NOW.date() - timedelta(days=5), LONG_AGO), (None, LONG_AGO), (None, LONG_AGO)
    )
]


def test_the_gate_opens_only_where_the_verdict_says_go_and_all_was_seen():
    opened = 0
    for (proof, facts), known in product(SITUATIONS, SEEN_OR_NOT):
        checked, _ = asked(proof, known, **facts)
        go = judged(proof, facts).answer == "go"
        assert (checked.answer == "go") == (go and known == ALL_SEEN)
        opened += checked.answer == "go"
    assert opened >= 2  # not by being shut to all


def test_every_reason_against_bottling_shuts_a_line():
    for proof, facts in SITUATIONS:
        found = judged(proof, facts)
        checked, _ = asked(proof, **facts)
        told = " ".join(line.text for line in checked.lines if line.mark != "pass")
        if found.answer == "wait":
            assert all(reason.text in told for reason in found.reasons)


ON_RACKING = {
    Code.JUST_RACKED,
    Code.NO_COUNTS,
    Code.STALE_COUNT,
    Code.COLD_PAUSE,
    Code.ABOVE_THRESHOLD,
    Code.ABOVE_CURVE,
    Code.TOO_FAST,
    Code.NEAR_THRESHOLD,
    Code.NEVER_SEEN_WORKING,
    Code.SUDDEN_QUIET,
    Code.SLOWING_UNSEEN,
    Code.JUST_QUIET,
    Code.BELOW_THRESHOLD,
    Code.GAS_WITHOUT_SUGAR,
    Code.LEAK,
    Code.GRAVITY_FALLING,
    Code.NO_CURVE,
    Code.STORIES_DIFFER,
    Code.STUCK,
    Code.QUIET_BUT_HIGH,
    Code.GRAVITY_HIGH,
    Code.GRAVITY_ROSE,
    Code.FED_LATELY,
    Code.GRAVITY_LOW,
}


def test_every_code_has_its_place_in_the_checklist_or_is_of_racking_alone():
    places = [*AGAINST, *IN_FAVOUR, *BESIDE, *ON_RACKING]
    assert sorted(places) == sorted(Code)


@pytest.mark.parametrize("code", [Code.SLIP, Code.WEATHER])
def test_what_is_only_said_beside_the_reasons_shuts_no_line(code):
    bottling = judged(NOTHING_LACKS, {})
    said = replace(bottling, reasons=(*bottling.reasons, Reason(code, "Something odd.")))
    found = gate(said, PROVEN, stands(ALL_SEEN), keeping=Keeping())
    assert found.answer == "go"
    assert not any("Something odd" in line.text for line in found.lines)


def test_a_reason_that_nobody_foresaw_shuts_the_gate():
    strange = Verdict(
        vessel="fig",
        asked_at=NOW,
        question="bottling",
        threshold_per_min=1.0,
        answer="wait",
        firmness="none",
        reasons=(Reason("never-heard-of", "The jar hums."),),
        next=NextStep(Kind.LOOK, "Listen."),
    )
    checked = gate(strange, PROVEN, stands(ALL_SEEN), keeping=Keeping())
    assert checked.answer == "wait"
    assert [line.text for line in checked.lines if line.mark == "fail"] == ["The jar hums."]


# --- the lines -----------------------------------------------------------------------------------

LINES = [
    # situation                            line                    mark
    ({}, "gravity steady", "pass"),
    ({"proof": lacking(Code.GRAVITY_UNPROVEN), "gravity": FALLING}, "gravity steady", "fail"),
    ({"proof": lacking(Code.GRAVITY_UNPROVEN)}, "gravity steady", "unknown"),
    ({"proof": lacking(Code.NO_GRAVITY)}, "gravity steady", "unknown"),
    ({"proof": lacking(Code.NO_GRAVITY)}, "at its finish", "unknown"),
    ({"proof": lacking(Code.NO_GRAVITY)}, "warm enough", "unknown"),
    ({"proof": lacking(Code.OLD_READING)}, "gravity steady", "unknown"),
    ({"proof": lacking(Code.FIZZ)}, "at its finish", "fail"),
    ({"proof": lacking(Code.STUNNED)}, "treatment settled", "unknown"),
    ({"proof": lacking(Code.STILL_BUBBLING)}, "airlock quiet", "fail"),
    ({"proof": lacking(Code.FEW_COUNTS)}, "airlock quiet", "unknown"),
    ({"known": VesselSettings()}, "clear", "unknown"),
    ({"known": VesselSettings()}, "degassed", "unknown"),
    ({"known": VesselSettings()}, "malolactic considered", "unknown"),
    ({"known": VesselSettings(clear_since=NOW.date())}, "clear", "fail"),
    ({"rows": [{"day": 5, "event": "stirred"}]}, "clear", "unknown"),
    ({"rows": [{"day": 5, "event": "fed"}]}, "degassed", "unknown"),
    ({"rows": [{"day": 5, "event": "racked"}]}, "clear", "pass"),
]


@pytest.mark.parametrize(("situation", "name", "mark"), LINES)
def test_a_line(situation, name, mark):
    checked, marks = asked(**situation)
    assert marks[name] == mark
    assert checked.answer == ("go" if {*marks.values()} == {"pass"} else "wait")


@pytest.mark.parametrize(("days", "mark"), [(29, "fail"), (30, "pass")])
def test_it_must_be_clear_for_thirty_days(days, mark):
    known = VesselSettings(clear_since=NOW.date() - timedelta(days=days))
    assert asked(known=known)[1]["clear"] == mark


def test_a_line_that_only_the_maker_can_answer_says_what_to_write():
    checked, _ = asked(known=VesselSettings())
    told = {line.name: line.text for line in checked.lines}
    assert "clear_since = 2026-10-31" in told["clear"]
    assert "degassed_on = 2026-10-31" in told["degassed"]
    assert "malolactic_settled_on = 2026-10-31" in told["malolactic considered"]
    undone = asked(rows=[{"day": 5, "event": "stirred"}])[0]
    assert "but stirred on 6 Oct 2026" in {line.name: line.text for line in undone.lines}["clear"]


def test_no_line_calls_a_bottle_safe():
    for proof, facts in SITUATIONS:
        checked, _ = asked(proof, **facts)
        assert not any("safe" in line.text.lower() for line in checked.lines)


# --- what the sugar left would press -------------------------------------------------------------


@pytest.mark.parametrize(
    ("gravity", "points"),
    [
        (STEADY, 2.0),  # below its finish: only the error of a reading
        (read((0, 1.003)), 7.0),
        (read((0, 1.024)), 28.0),
    ],
)
def test_the_pressure_is_that_of_the_points_above_the_finish_and_of_the_error(gravity, points):
    found = pressure(gravity, og=None)
    expected = [
        bottle_pressure(
            points,
            temp_c=temp_c,
            abv_pct=12.0,
            dissolved_g_per_litre=saturated_g_per_litre(20.0, abv_pct=12.0),
        ).over_bar
        for temp_c in (20.0, 30.0)
    ]
    assert [found.cellar_bar, found.warm_bar] == pytest.approx(expected)
    assert found.points == pytest.approx(points)
    assert not found.abv_known


# Common practice, no source: 2 points add 1.4 bar at 20 C, to a wine that holds its gas.
def test_two_points_press_as_makers_reckon():
    without = bottle_pressure(
        0.0,
        temp_c=20.0,
        abv_pct=12.0,
        dissolved_g_per_litre=saturated_g_per_litre(20.0, abv_pct=12.0),
    ).over_bar
    assert pressure(STEADY, og=None).cellar_bar - without == pytest.approx(1.4, abs=0.1)


@pytest.mark.parametrize(("og", "known"), [(1.085, True), (None, False), (0.99, False)])
def test_the_strength_is_that_of_the_readings_where_they_tell_it(og, known):
    found = pressure(STEADY, og=og)
    assert found.abv_known == known
    assert found.abv_pct == pytest.approx(12.0, abs=0.5)


def test_without_gravity_no_pressure_is_made_up():
    assert pressure(None, og=1.085) is None


# --- whole diaries -------------------------------------------------------------------------------


@pytest.mark.parametrize("rows", [[], [{"day": 3, "bubbles": 40}], [{"day": 3, "sg": 1.050}]])
def test_a_young_diary_has_a_gate_that_is_shut(rows):
    first = {"day": 0, "event": "pitched", "litres": 4.5}
    seen = outlook(diary(first, *rows), at=evening(4))
    assert seen.gate.answer == "wait"


@pytest.mark.parametrize("vessel", sorted(path.stem for path in EXAMPLES.glob("*.csv")))
def test_whatever_the_gate_lets_pass_the_verdict_does_too(vessel):
    found = read_diary(EXAMPLES / f"{vessel}.csv")
    pitched_on = found.live[0].when.date()
    early = pitched_on + timedelta(days=1)
    said = VesselSettings(
        finish=0.996, clear_since=early, degassed_on=early, malolactic_settled_on=early
    )
    known = Settings(vessels={vessel: said})
    answers = set()
    for visit in found.live[:: -len(found.live) // 5]:
        opened = outlook(found, at=visit.when, settings=known).gate.answer
        asked_of = judge(found, at=visit.when, question="bottling", settings=known)
        ripe = (visit.when.date() - early).days >= 30
        assert opened == ("go" if asked_of.verdict.answer == "go" and ripe else "wait")
        answers.add(opened)
    assert ("go" in answers) == (vessel == "medlar")
