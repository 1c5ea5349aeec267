"""More danger, or a kind of fact gone, never turns a wait into a go.

(a) worse facts, (b) a whole kind of fact gone, (c) the clock alone, (d) a fact that counted for the
go gone: of the proof over every jar of `kept`, and through the whole of the sums over a few of the
diaries of the bench of the same name. And what changes nothing of a wine changes no answer.
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import pytest

from bubblerate.course.judgement import judge
from bubblerate.diary.settings import Settings, VesselSettings
from bubblerate.verdict.lacks import lacks
from bubblerate.verdict.proof import evidence_for_bottling
from bubblerate.verdict.reasons import Question
from bubblerate.verdict.sugar_grid import weigh

from bench.verdict.monotone import finds, fitted_once
from kept import BEFORE, DONE, HURTS, Kept
from scenes import diary, evening

JARS = {**{name: jar for name, (jar, _) in HURTS.items()}, **DONE}
for seconds in (60, 30, 5):  # those of 12 s will do
    for nights in (1, 2, 7):
        del JARS[f"one bubble every {seconds} s, {nights} nights"]
HALF = ("finished dry", "falls 0.10 a day")


def settings(jar: Kept, vessel: str = "fig") -> Settings:
    return Settings(vessels={vessel: VesselSettings(style=jar.style, finish=jar.finish)})


def goes(jar: Kept, rows: list[dict], *, later: float = 0.0, shifted_days: float = 0.0) -> bool:
    """Whether nothing stands against bottling it, by the proof alone."""
    at = evening(max(row["day"] for row in jar.rows) + jar.later + later + shifted_days)
    known = evidence_for_bottling(diary(*rows), at=at, settings=settings(jar))
    return not lacks(known, weigh(known))


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
    moved = [{**row, "day": row["day"] + 99.0} for row in jar.rows]
    assert goes(jar, moved, shifted_days=99.0) == (name not in waiting())


# --- through the whole of the sums -----------------------------------------------------------------


@pytest.mark.parametrize("number", [0, 5, 10, 15, 20, 44])
def test_no_change_for_the_worse_opens_a_diary_of_the_bench(number):
    assert finds(number, most=3) == []


@pytest.mark.parametrize("name", HALF)
def test_another_name_and_the_whole_of_the_sums_give_the_same_answer(name):
    jar = JARS[name]
    at = evening(max(row["day"] for row in jar.rows) + jar.later)
    with fitted_once():
        one, two = (
            judge(diary(*jar.rows, vessel=v), at=at, question="bottling", settings=settings(jar, v))
            for v in ("fig", "quince-2")
        )
    assert one.verdict.answer == two.verdict.answer
    assert one.verdict.reasons == two.verdict.reasons
    assert one.proof == two.proof
    assert (one.verdict.answer == "go") == one.proof.go == (name not in waiting())


# --- counts are pooled by time, not by row ----------------------------------------------------------


NOON = -9.0 / 24.0  # of an evening that is told by nine o'clock
NIGHT = 0.0  # from nine in the evening on: past four in the morning


def cut(rate_per_min, minutes, *, nights, begins=NOON):
    """Counted for twelve hours from noon, or from another hour, in rows of so many minutes."""
    rows = [{"day": 0.0, "event": "pitched", "sg": 1.085, "litres": 4.5}]
    for night in nights:
        total = [round(rate_per_min(night) * m) for m in range(0, 721, minutes)]
        rows += [
            {
                "day": night + begins + (i + 1) * minutes / 1440.0,
                "bubbles": after - before,
                "seconds": 60.0 * minutes,
                "temp_c": 19.0,
            }
            for i, (before, after) in enumerate(pairwise(total))
        ]
    return rows


def decaying(night):
    return 20.0 * 0.5 ** (max(0.0, night - 3.0) / 1.5) + 0.01


CUTS = (1, 10, 60, 720)


@pytest.mark.parametrize(("begins", "answer"), [(NOON, "wait"), (NIGHT, "go")])
def test_a_ferment_cut_into_rows_otherwise_has_the_same_answer_and_next_step(begins, answer):
    found = []
    for minutes in CUTS:
        rows = cut(decaying, minutes, nights=(1, 2, 3, 4, 6, 8, 10, 13, 15), begins=begins)
        one = judge(diary(*rows), at=evening(16.5), settings=settings(Kept()))
        found.append((one.course.go(Question.RACKING), one.verdict.answer, one.verdict.next))
    assert found == [found[0]] * len(CUTS)
    assert found[0][1] == answer


@pytest.mark.parametrize("begins", [NOON, NIGHT, NIGHT - 5.0 / 24.0, NIGHT + 6.9 / 24.0])
@pytest.mark.parametrize(("per_min", "go"), [(0.02, True), (0.3, False)])
def test_silence_cut_into_rows_otherwise_has_the_same_proof(per_min, go, begins):
    jar = Kept(counts=())
    nights = (BEFORE + 14, BEFORE + 27)
    found = []
    for minutes in CUTS:
        counted = cut(lambda _: per_min, minutes, nights=nights, begins=begins)[1:]
        known = evidence_for_bottling(
            diary(*sorted([*jar.rows, *counted], key=lambda row: row["day"])),
            at=evening(BEFORE + 28.8),
            settings=settings(jar),
        )
        found.append(lacks(known, weigh(known)))
    assert found == [found[0]] * len(CUTS)
    assert (found[0] == ()) is go
