import json
import re
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from bubblerate.course.as_json import as_object
from bubblerate.course.judgement import Judgement, judge
from bubblerate.diary.reading import read
from bubblerate.diary.settings import Settings
from bubblerate.diary.settings_file import settings
from bubblerate.ferment.chances import Crossing, Span
from bubblerate.ferment.forecast import Basis
from bubblerate.show.verdict_text import as_text, by_text
from bubblerate.text import format_day, iso

from scenes import EXAMPLES, diary, evening

GOLDEN = Path(__file__).parent.parent / "golden"


def judged(vessel: str, question: str | None = None) -> Judgement:
    """An example asked on its last evening."""
    known = read(EXAMPLES / f"{vessel}.csv")
    return judge(
        known,
        at=known.live[-1].when,
        question=question,
        settings=settings(EXAMPLES),
    )


@pytest.fixture(scope="module")
def quince() -> Judgement:
    return judged("quince")


@pytest.fixture(scope="module")
def mead() -> Judgement:
    return judged("chestnut-honey-mead")


def labels(text: str) -> list[str]:
    """What each paragraph is called, in order."""
    heads = [line[:8].strip() for line in text.splitlines()[2:]]
    return [head for head in heads if head]


def with_crossing(judgement: Judgement, *evenings: float) -> Judgement:
    """With these evenings for the lower limits, the median and the upper limits."""
    assert judgement.forecast is not None
    at = judgement.verdict.asked_at
    ahead = np.array([(evening(day) - at) / timedelta(days=1) for day in evenings])
    crossing = Crossing.of(ahead, np.array([0.05, 0.1, 0.7, 0.1, 0.05]), at, 1.0)
    return replace(judgement, forecast=replace(judgement.forecast, crossing=crossing))


def unnumbered(text: str) -> str:
    """Words alone: numbers may move a little with the library that sums, and lines with them."""
    return " ".join(re.sub(r"\d+(?:\.\d+)?", "#", text).split())


# --- a judgement ---------------------------------------------------------------------------------


@pytest.mark.parametrize("vessel", ["quince", "sloe"])
def test_a_judgement_reads_as_it_did(vessel):
    kept = (GOLDEN / f"{vessel}.txt").read_text(encoding="utf-8")
    assert unnumbered(as_text(judged(vessel), more=True)) == unnumbered(kept)


def test_a_judgement_is_laid_out_in_labelled_paragraphs(quince):
    lines = as_text(quince).splitlines()
    assert lines[:3] == [
        "quince: rack it? Yes.                      14 Nov 2026 20:46",
        "",
        "  GO    The gravity has stopped moving: 0.996, within 2 points for 5 days.",
    ]
    assert labels(as_text(quince)) == ["GO", "why", "next", "care"]
    more = labels(as_text(quince, more=True))
    assert more == ["GO", "basis", "why", "when", "slope", "sg", "next", "care"]
    assert all(len(line) <= 92 and line == line.rstrip() for line in lines)


def test_a_wait_says_when_it_should_be_quiet(mead):
    assert labels(as_text(mead)) == ["WAIT", "why", "when", "next", "care"]
    assert "  when  Under 1.0 a minute about " in as_text(mead)


@pytest.mark.parametrize("question", ["racking", "bottling"])
@pytest.mark.parametrize("vessel", ["quince", "russet-cider", "medlar", "damson", "perry-pear"])
@pytest.mark.parametrize("more", [False, True])
def test_every_judgement_fits_fifty_columns_and_says_all_it_should(vessel, question, more):
    judgement = judged(vessel, question)
    text = as_text(judgement, width=50, more=more)
    assert max(map(len, text.splitlines())) <= 50
    v, flat = judgement.verdict, " ".join(text.split())
    assert f" {v.answer.upper()} " in flat
    told = v.reasons if more else v.reasons[:2]
    assert all(reason.text in flat for reason in told)
    assert v.next.do in flat
    assert flat.partition(" care ")[2]


def test_a_name_too_long_for_the_line_leaves_the_moment_a_line_of_its_own(quince):
    long = replace(quince, verdict=replace(quince.verdict, vessel="q" * 30))
    lines = as_text(long, width=50).splitlines()
    assert lines[:2] == [f"{'q' * 30}: rack it? Yes.", "14 Nov 2026 20:46"]


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.5, "by 28 Nov 2026: 50 %."),
        (0.001, "by 28 Nov 2026: under 1 %."),
        (1.0, "by 28 Nov 2026: 99 %."),
        (None, "No chance can be worked out"),
    ],
)
def test_the_chance_by_a_day_is_said(chance, words):
    text = by_text(chance, date(2026, 11, 28), per_min=1.0, width=50)
    assert words in " ".join(text.split())


def test_bottles_that_can_burst_are_spoken_of_with_either_answer_on_bottling():
    go = replace(judged("medlar", "bottling").verdict, answer="go")
    assert "Bottles can burst." in as_text(replace(judged("medlar", "bottling"), verdict=go))
    assert "Bottles can burst:" in as_text(judged("quince", "bottling"))


def test_a_leak_leaves_the_bubbles_no_say_on_dates_and_points():
    text = as_text(judged("russet-cider"), more=True)
    assert "The airlock misses gas, so its slowing down says nothing about the end." in text
    assert "Still to fall" not in text


@pytest.mark.parametrize(
    ("evenings", "words"),
    [
        ((60, *[115] * 4), "Not below 1.0 a minute within 60 days (chance 95 %)."),
        ((52, 53, 59, 90, 120), "to 30 Dec; 95 %: 22 Nov to more than 60 days away)."),
        ((52, 60, 60.05, 60.1, 70), "(80 %: 30 Nov; 95 %:"),
        ((1, 1.5, 2, 52, 60), "Fell below 1.0 a minute about 3 Oct (80 %:"),
        ([-30] * 5, "Below 1.0 a minute since 1 Sep or earlier."),
    ],
)
def test_the_dates_of_the_crossing_are_put_in_words(mead, evenings, words):
    found = as_text(with_crossing(mead, *evenings), more=True)
    assert words in " ".join(found.split())


def test_where_only_other_ferments_speak_a_range_is_given_and_what_would_tell_more():
    young = judge(
        diary(
            {"day": -2.0, "event": "pitched", "sg": 1.085, "litres": 4.5},
            *({"day": d, "bubbles": n} for d, n in enumerate((4, 15, 22))),
        ),
        at=evening(2.1),
    )
    assert (young.fit, young.forecast.basis) == (None, Basis.WHOLE)
    c = young.forecast.crossing
    short, long = (" ".join(as_text(young, more=more).split()) for more in (False, True))
    low, high = (format_day(when, year=False) for when in (c.low80, c.high80))
    tells = "going by other ferments; three counts past its peak will narrow it down."
    assert f"when Under 1.0 a minute: {low} to {high}, {tells}" in short
    assert f"Under 1.0 a minute: {low} to {high} (80 %)" in long
    assert "about" not in short.partition("when ")[2].partition("next ")[0]
    found = as_object(young)
    assert found["bubble_ml"] is None
    assert found["crossing"]["basis"] == "whole ferments"


def test_a_forecast_that_cannot_be_believed_says_why(mead):
    assert mead.forecast is not None
    doubted = replace(mead, forecast=replace(mead.forecast, distrust="the counts jump about"))
    assert "rough The forecast is rough: the counts jump about." in as_text(doubted, more=True)
    assert "rough" not in as_text(mead, more=True)


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (0.04, 0.72, "0.0 to 0.7"),
        (-1e-14, 0.01, "0.0"),
        (0.31, 0.33, "0.3"),
        (9.4, 9.6, "9.4 to 10"),
        (10.2, 64.4, "10 to 64"),
    ],
)
def test_a_spread_is_given_the_digits_it_deserves(mead, low, high, words):
    assert mead.forecast is not None
    span = Span(low80=low, median=(low + high) / 2.0, high80=high)
    assert mead.gravity is not None
    near = replace(mead.gravity, said_finish_sg=mead.gravity.latest.sg)
    forecast = replace(mead.forecast, points_to_fall=span)
    text = as_text(replace(mead, forecast=forecast, gravity=near), more=True)
    assert f"Still to fall: {words} points." in " ".join(text.split())


def test_what_bubbles_forecast_is_left_out_where_the_gravity_belies_it(mead):
    assert mead.forecast is not None
    none = Span(low80=0.0, median=0.1, high80=0.2)  # at a gravity 12 points above its finish
    text = as_text(replace(mead, forecast=replace(mead.forecast, points_to_fall=none)), more=True)
    assert "Still to fall" not in text


# --- the same for a program ----------------------------------------------------------------------


@pytest.mark.parametrize("vessel", ["quince", "russet-cider", "sloe", "perry-pear"])
def test_text_and_object_come_from_the_same_values(vessel):
    judgement = judged(vessel)
    found = json.loads(json.dumps(as_object(judgement), allow_nan=False))
    v, f, g = judgement.verdict, judgement.forecast, judgement.gravity
    assert f is not None
    assert g is not None
    assert (found["verdict"], found["firmness"]) == (v.answer, v.firmness)
    assert [r["text"] for r in found["reasons"]] == [r.text for r in v.reasons]
    assert found["rate"]["per_min"] == f.per_min.median
    assert found["gravity"]["latest_sg"] == g.latest.sg
    assert found["crossing"].pop("basis") == f.basis
    for name, said in found["crossing"].items():
        value = getattr(f.crossing, name)
        assert said == (iso(value) if isinstance(value, datetime) else value)


def test_the_finish_and_the_points_forecast_are_those_of_the_forecast(mead):
    gravity = as_object(mead)["gravity"]
    assert mead.forecast is not None
    assert mead.forecast.finish_sg is not None
    finish = gravity["predicted_finish"]
    assert finish["low80"] < finish["median"] < finish["high80"] <= gravity["latest_sg"] == 1.016
    assert finish["median"] == mead.forecast.finish_sg.median
    assert gravity["points_left"]["high80"] == mead.forecast.points_to_fall.high80


def test_an_empty_diary_leaves_blanks_and_no_number():
    nothing = judge(diary(), at=evening(3), settings=Settings())
    found = as_object(nothing)
    assert [found[key] for key in ("rate", "crossing", "gravity", "bubble_ml")] == [None] * 4
    assert found["verdict"] == "wait"
    assert labels(as_text(nothing)) == ["WAIT", "why", "next", "care"]
