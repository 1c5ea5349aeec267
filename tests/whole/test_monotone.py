"""More danger, or a kind of fact gone, never turns a wait on bottling into a go.

(a) worse facts, (b) a whole kind of fact gone, (c) the clock alone, (d) a fact that counted for the
go gone; over every jar of `kept`. And what changes nothing of a wine changes no answer.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from functools import cache

import pytest

from bubblerate.course.judgement import judge
from bubblerate.diary.settings import Settings, VesselSettings
from bubblerate.verdict.judgement import conclude, situation

from kept import BEFORE, DONE, HURTS, Kept
from scenes import diary, evening

JARS = {**{name: jar for name, (jar, _) in HURTS.items()}, **DONE}
for seconds in (60, 30, 5):  # those of 12 s will do
    for nights in (1, 2, 7):
        del JARS[f"one bubble every {seconds} s, {nights} nights"]
HALF = ("finished dry", "falls 0.10 a day", "perry at 1.010, 94 days", "at its end, in the cold")


def settings(jar: Kept, vessel: str = "fig") -> Settings:
    return Settings(vessels={vessel: VesselSettings(style=jar.style, finish=jar.finish)})


def goes(jar: Kept, rows: list[dict], *, later: float = 0.0) -> bool:
    at = evening(max(row["day"] for row in jar.rows) + jar.later + later)
    made = diary(*rows)
    return conclude(situation(made, at, settings(jar)), None, "bottling").verdict.answer == "go"


@cache
def waiting() -> tuple[str, ...]:
    return tuple(name for name, jar in JARS.items() if not goes(jar, jar.rows))


def at_the_end(change):
    """Change the rows of the last weeks, those that the proof is of."""
    return lambda rows: [change(dict(row)) if row["day"] >= BEFORE else row for row in rows]


def put(row: dict, name: str, change) -> dict:
    return {**row, name: change(row[name])} if row.get(name) is not None else row


def without(*names: str):
    return lambda rows: [{k: v for k, v in row.items() if k not in names} for row in rows]


def unsaid(*events: str):
    return lambda rows: [row for row in rows if row.get("event") not in events]


def steeper(row: dict) -> dict:
    return put(row, "sg", lambda sg: sg + 0.0002 * max(0.0, BEFORE + 28 - row["day"]) / 7.0)


WORSE = {
    "every reading of the end a point higher": at_the_end(lambda r: put(r, "sg", lambda sg: sg + 0.001)),
    "a steeper fall to the same last reading": at_the_end(steeper),
    "three more bubbles each time": at_the_end(lambda r: put(r, "bubbles", lambda n: n + 3)),
    "twice the bubbles": at_the_end(lambda r: put(r, "bubbles", lambda n: 2 * n)),
    "three degrees colder": at_the_end(lambda r: put(r, "temp_c", lambda c: c - 3.0)),
}  # fmt: skip
GONE = {
    "no temperatures": without("temp_c"),
    "no counts": without("bubbles", "seconds"),
    "no readings": without("sg"),
    "nothing seen": unsaid("clear", "still", "malolactic-over"),
}
FOR_THE_GO = {
    f"{word} unsaid": unsaid(word)
    for word in ("clear", "still", "malolactic-over", "sugar-low", "filtered")
} | {"silent evenings unseen": lambda rows: [r for r in rows if r.get("bubbles") != 0]}


@pytest.mark.parametrize("name", [*WORSE, *GONE, *FOR_THE_GO])
def test_it_never_turns_a_wait_into_a_go(name):
    change = {**WORSE, **GONE, **FOR_THE_GO}[name]
    opened = [jar for jar in waiting() if goes(JARS[jar], change(JARS[jar].rows))]
    assert opened == []


# A wait of fixed length, announced with its day, may end by the clock: clear for 30 days.
ANNOUNCED = {"clear for a week"}


@pytest.mark.parametrize("later", [2.0, 6.0, 60.0])
def test_the_clock_alone_never_turns_a_wait_into_a_go(later):
    opened = {jar for jar in waiting() if goes(JARS[jar], JARS[jar].rows, later=later)}
    assert opened <= ANNOUNCED


def test_there_are_waits_and_goes_to_try_this_on():
    assert len(waiting()) >= 40
    assert len(JARS) - len(waiting()) >= 15


@pytest.mark.parametrize("name", JARS)
def test_litres_and_bubbles_in_proportion_and_the_day_of_the_year_flip_nothing(name):
    jar = JARS[name]
    rows = [
        put(put(r, "litres", lambda v: 2.0 * v), "added_l", lambda v: 2.0 * v) for r in jar.rows
    ]
    rows = [put(put(r, "bubbles", lambda n: 2 * n), "sugar_g", lambda g: 2.0 * g) for r in rows]
    if name in waiting():  # twice as many bubbles are surer, and may only close
        assert not goes(jar, rows)
    made = diary(*jar.rows)
    moved = replace(
        made, visits=tuple(replace(v, when=v.when + timedelta(days=99)) for v in made.visits)
    )
    at = evening(max(row["day"] for row in jar.rows) + jar.later) + timedelta(days=99)
    found = conclude(situation(moved, at, settings(jar)), None, "bottling").verdict
    assert (found.answer == "go") == (name not in waiting())


@pytest.mark.parametrize("name", HALF)
@pytest.mark.parametrize("question", ["racking", "bottling"])
def test_another_name_and_the_whole_of_the_sums_give_the_same_answer(name, question):
    jar = JARS[name]
    at = evening(max(row["day"] for row in jar.rows) + jar.later)
    one, two = (
        judge(diary(*jar.rows, vessel=v), at=at, question=question, settings=settings(jar, v))
        for v in ("fig", "quince-2")
    )
    assert one.verdict.answer == two.verdict.answer
    assert one.verdict.reasons == two.verdict.reasons
    assert one.proof == two.proof
    if question == "bottling":
        assert (one.verdict.answer == "go") == one.proof.go == (name not in waiting())


def hour(minutes: int, n: int) -> list[dict]:
    """An hour of counting each evening, n bubbles in all, cut into rows of so many minutes."""
    rows = 60 // minutes
    return [
        {
            "day": BEFORE + d + 0.05 + i * minutes / 1440.0,
            "bubbles": n // rows + (i < n % rows),
            "seconds": 60.0 * minutes,
        }
        for d in range(15, 29)
        for i in range(rows)
    ]


@pytest.mark.parametrize("n", [0, 1, 4, 12, 60])
def test_rows_cut_otherwise_give_the_same_answer(n):
    jar = Kept(counts=())
    found = [
        conclude(
            situation(
                diary(*sorted([*jar.rows, *hour(minutes, n)], key=lambda row: row["day"])),
                evening(BEFORE + 28.2),
                settings(jar),
            ),
            None,
            "bottling",
        )
        for minutes in (1, 10, 60)
    ]
    answers = {one.verdict.answer for one in found}
    assert len(answers) == 1
    assert len({one.verdict.reasons for one in found}) == 1
    assert answers == {"go" if n <= 4 else "wait"}  # 0.1 a minute is weather
