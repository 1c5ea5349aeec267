"""Situations around those that are a go, for `mutants.py` and `wrong_goes.py` to try.

A situation is a function without arguments that says whether the answer is go. Those of cases and
diaries are made up at random, from tables that hold every limit exactly, a little less and a little
more. Those of facts are the go rows of the table of steps with one fact changed, each in turn.
"""

from __future__ import annotations

import random
from dataclasses import replace
from functools import partial
from itertools import product
from typing import TYPE_CHECKING, Any

from course.test_table import ROWS, d

from bubblerate.course.engine import course_of
from bubblerate.diary.settings import Hydrometer
from bubblerate.ferment.finish import likely_finish
from bubblerate.ferment.gravity_check import check_gravity
from bubblerate.ferment.tail import find_tail
from bubblerate.verdict.case import Case
from bubblerate.verdict.decide import verdict
from bubblerate.verdict.facts import gather_facts
from bubblerate.verdict.lacks import WORST_FIRST
from bubblerate.verdict.limits import STEADINESS
from bubblerate.verdict.proof import evidence_for_bottling, proof_of
from bubblerate.verdict.reasons import Question

from cases import (
    NOTHING_LACKS,
    NOW,
    PITCHED,
    PROOF,
    SEEN,
    SLOWED,
    Z10,
    bubbling,
    days_ago,
    lacking,
    read,
    stated,
)
from one_changed import goes, one_changed
from scenes import diary, evening

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import date

    from bubblerate.course.facts import Facts


Row = dict[str, Any]
CASES, DIARIES = 5000, 400

AGES = (
    0.0,
    0.5,
    2.9,
    3.0,
    3.1,
    3.9,
    4.0,
    4.1,
    5.0,
    6.9,
    7.0,
    7.1,
    13.9,
    14.0,
    14.1,
    20.9,
    21.0,
    22.0,
)
EVENTS = ("fed", "topped-up", "sulphited", "fined", "stabilised", "airlock", "moved", "racked")
FACTS: dict[str, tuple[Any, ...]] = {
    "counts": (0, 2, 3, 9),
    "last_count_at": (None, *map(days_ago, AGES)),
    "seen_working": (False,),
    "peak_at": (None, *map(days_ago, (2, 16, 18, 40))),
    "bubbling_counts": (0, 2, 3, 4),
    "last_per_min": (0.5, 2.9, 3.0, 3.1, 15.0),
    "quiet_counts": (0, 1, 2, 3, 4),
    "quiet_days": (0.0, 1.9, 2.0, 2.1),
    "quiet_seconds": (0.0, 179.0, 180.0, 181.0),
    "sudden": (True,),
    "temp_c": (None, 8.0, 11.9, 12.0, 14.9, 15.0, 15.1),
    "worked_c": (None, 12.0, 16.0, 20.0, 24.0),
    "fed_at": tuple(map(days_ago, AGES)),
    "racked_at": tuple(map(days_ago, AGES)),
    "stunned": tuple(product(EVENTS[2:5], map(days_ago, (0, 5, 13)))),
    "stabilised_at": tuple(map(days_ago, (3, 15, 19, 20, 21, 40))),
    "bottled_at": (days_ago(2),),
    "broken": tuple(product(EVENTS[5:], map(days_ago, (1, 9)))),
}
CHANCES = (0.0, 0.09, 0.1, 0.11, 0.49, 0.5, 0.79, 0.8, 0.85, 0.89, 0.9, 0.95, 1.0)
RATES = (0.1, 1.0, 2.9, 3.0, 3.1, 5.9, 6.0, 6.1)
SGS = (
    *(0.979, 0.98, 0.997, 0.998, 1.0, 1.001, 1.0025, 1.003, 1.005, 1.006),
    *(1.009, 1.01, 1.011, 1.014, 1.015, 1.016, 1.02, 1.03, 1.06),
)
STARTS = (None, None, 1.085, 1.04, 1.02, 1.007)
FINISHES = (None, 0.996, 1.0, 1.003, 1.008, 1.012, 1.015, 1.02, 1.04)


def _check(rng: random.Random) -> Any:
    """What readings may say, proven for two weeks or not."""
    sg, age = rng.choice(SGS), rng.choice((0.0, 0.0, *AGES))
    span = rng.choice((0.0, 2.0, 3.0, 5.0, 13.0, 14.0, 20.0))
    before = sg + rng.choice(
        (0.0, 0.0, 0.0005, 0.001, 0.0025, 0.004, -0.001, -0.002, -0.003, -0.0035)
    )
    start = rng.choice(STARTS)
    pairs = [(age + span, before)] * (span > 0.0) + [(age, sg)]
    if start is not None:
        pairs.insert(0, (30.0, start))
    return read(
        *pairs,
        steady=rng.choice((True, True, True, None, False)) if len(pairs) > 1 else None,
        finish=rng.choice(FINISHES),
        leak=rng.random() < 0.1,
        gas_only=rng.random() < 0.1,
        steady_days=span,
        most_fallen=rng.choice((None, None, 0.0, 5.0, 27.0, 40.0, 82.0, 90.0)),
    )


def _case(rng: random.Random) -> Case:
    facts = dict(SEEN)
    for name in rng.sample([*FACTS], rng.choice((0, 0, 1, 1, 1, 2, 3))):
        facts[name] = rng.choice(FACTS[name])
    forecast = bubbling(rng.choice((0.98, 0.98, *CHANCES)), rng.choice((0.3, 0.3, *RATES)))
    if rng.random() < 0.1:
        forecast = replace(forecast, distrust="rough")
    question = rng.choice([*Question])
    return Case(
        vessel="fig",
        asked_at=NOW,
        question=question,
        threshold_per_min=rng.choice((1.0, 1.0, 1.0, 0.5, 5.0, 30.0)),
        facts=stated(**facts),
        proof=rng.choice((NOTHING_LACKS, lacking(rng.choice(WORST_FIRST)))),
        forecast=None if rng.random() < 0.1 else forecast,
        gravity=None if rng.random() < 0.15 else _check(rng),
    )


def cases() -> Iterator[Callable[[], bool]]:
    """Facts, as they come to the verdict."""
    rng = random.Random(7)
    for _ in range(CASES):
        yield partial(_is_go, _case(rng))


def _is_go(case: Case) -> bool:
    return verdict(case).answer == "go"


def _rows(rng: random.Random) -> list[Row]:
    """A diary that ends well, spoilt in one or two ways."""
    rows: list[Row] = [dict(row) for row in rng.choice((PROOF, PROOF, [PITCHED, *SLOWED, *Z10]))]
    last = rng.choice((18.2, 30.2, 37.2))
    for _ in range(rng.choice((1, 1, 2, 3))):
        day, way = rng.uniform(10.0, 40.0), rng.randrange(8)
        late = [row for row in rows if row["day"] > day]
        if way == 0:
            rows.append({"day": day, "event": rng.choice((*EVENTS, "pitched", "bottled"))})
        elif way == 1:
            rows.append({"day": day, "sg": rng.choice(SGS), "temp_c": 19.0})
        elif way == 2:
            fall = rng.choice((0.00005, 0.0001, 0.0002, -0.0002, 0.001))
            rows += [
                {"day": 10.1 + d, "sg": round(1.0 - fall * d, 4)}
                for d in range(0, 28, rng.choice((3, 7)))
            ]
        elif way == 3:
            for row in late:
                row["temp_c"] = rng.choice((None, 8.0, 12.0, 15.0, 16.9, 17.0))
        elif way == 4:
            for row in late:
                row["seconds"] = rng.choice((10.0, 60.0, 600.0))
        elif way == 5:
            rows = [row for row in rows if row["day"] <= day or "bubbles" not in row]
        elif way == 6:
            rows.append({"day": day, "bubbles": rng.choice((1, 2, 4, 9, 100)), "seconds": 300.0})
        else:
            rows = [row for row in rows if not (day < row["day"] < day + 12.0)]
    return sorted((row for row in rows if row["day"] <= last), key=lambda row: row["day"])


def _of_rows(question: Question, rows: list[Row], later: float, forecast: Any) -> Case:
    """The case of a diary, but for its forecast: no fit, so that thousands can be tried."""
    at, seen = evening((rows[-1]["day"] if rows else 0.0) + later), diary(*rows).batch
    found = check_gravity(
        seen,
        at=at,
        hydrometer=Hydrometer(),
        litres=4.5,
        finish=likely_finish(1.085),
        said_finish_sg=0.997,
        steadiness=STEADINESS[question],
    )
    facts = gather_facts(seen, find_tail(seen), at=at, threshold_per_min=1.0)
    return Case(
        vessel="fig",
        asked_at=at,
        question=question,
        threshold_per_min=1.0,
        facts=facts,
        proof=proof_of(evidence_for_bottling(diary(*rows), at=at)),
        forecast=forecast,
        gravity=found,
    )


def diaries() -> Iterator[Callable[[], bool]]:
    """Rows, from the facts read off them to the verdict."""
    rng = random.Random(7)
    for _ in range(DIARIES):
        rows, later, forecast = _rows(rng), rng.choice((0.1, 1.0, 5.0, 8.0)), bubbling(0.98)
        for question in Question:
            yield partial(_rows_are_go, question, rows, later, forecast)


def _rows_are_go(question: Question, rows: list[Row], later: float, forecast: Any) -> bool:
    return _is_go(_of_rows(question, rows, later, forecast))


# --- facts ---------------------------------------------------------------------------------------


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
