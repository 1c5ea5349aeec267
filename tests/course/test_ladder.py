"""The ladder of a stuck jar, and the first days of a ferment."""

from datetime import date
from itertools import pairwise

import pytest

from bubblerate.course.judgement import judge
from bubblerate.course.ladder import LADDER, ladder
from bubblerate.course.lag import lag
from bubblerate.diary.settings import Settings
from bubblerate.verdict.reasons import Kind

from scenes import diary, evening

PITCHED = {"day": 0, "event": "pitched", "sg": 1.085, "litres": 4.5}
WORKS = [{"day": d, "bubbles": 60, "seconds": 300.0, "temp_c": 16} for d in (2, 4, 6, 8)]
QUIET = [{"day": d, "bubbles": 0, "seconds": 300.0, "temp_c": 16} for d in (14, 16, 18)]
STUCK = [PITCHED, *WORKS, *QUIET, {"day": 19, "sg": 1.020}, {"day": 25, "sg": 1.020}]


def facts(*rows, day):
    course = judge(diary(*rows), at=evening(day), settings=Settings()).course
    return course.facts, course.asked_on


def test_the_rungs_come_in_order_each_after_the_time_of_the_last():
    rungs = ladder(*facts(*STUCK, day=26))
    assert [rung.kind for rung in rungs] == [kind for kind, _ in LADDER]
    assert rungs[0].on == date(2026, 10, 27)
    assert [(rung.until - rung.on).days for rung in rungs] == [7, 7, 14, 14]
    assert all(later.on >= rung.until for rung, later in pairwise(rungs))
    assert all(rung.done_on is None for rung in rungs)


def test_a_rung_that_was_tried_keeps_its_day():
    warmed = [{"day": 26, "event": "warmed", "temp_c": 19}]
    rungs = ladder(*facts(*STUCK, *warmed, {"day": 33, "sg": 1.020}, day=34))
    assert rungs[0].done_on == date(2026, 10, 27)
    assert rungs[1].kind is Kind.ROUSE
    assert rungs[1].on >= rungs[0].until


def test_a_jar_that_is_not_stuck_has_no_ladder():
    assert ladder(*facts(PITCHED, *WORKS, day=9)) == ()


# Common practice, no source: up to three days in the warm, five in the cool.
@pytest.mark.parametrize(
    ("temp_c", "hours", "worry"),
    [(10, (36, 120), 5), (14, (24, 96), 5), (18, (12, 72), 3), (22, (6, 48), 3)],
)
def test_a_lag_is_longer_in_the_cool(temp_c, hours, worry):
    found = lag(facts(PITCHED, {"day": 1, "bubbles": 0, "temp_c": temp_c}, day=2)[0])
    assert found.usual_hours == hours
    assert (found.worry_on - found.began).days == worry


def test_a_ferment_that_was_heard_has_no_lag():
    assert lag(facts(PITCHED, *WORKS, day=9)[0]) is None
