"""Guides: each with its cautions, and with the jar's own days."""

import pytest

from bubblerate.course.judgement import judge
from bubblerate.diary.settings import Settings
from bubblerate.show.guide_text import guide_lines, topic_of
from bubblerate.show.guides import CARES, GUIDES, Topic

from scenes import diary, evening

PITCHED = {"day": 0, "event": "pitched", "sg": 1.085, "litres": 4.5}
WORKS = [{"day": d, "bubbles": 60, "seconds": 300.0, "temp_c": 16} for d in (2, 4, 6, 8)]
QUIET = [{"day": d, "bubbles": 0, "seconds": 300.0, "temp_c": 16} for d in (14, 16, 18)]
STUCK = [*WORKS, *QUIET, {"day": 19, "sg": 1.020}, {"day": 25, "sg": 1.020}]
HELD = [
    *(*WORKS, *QUIET, {"day": 19, "sg": 0.995}, {"day": 20, "event": "racked", "litres": 4.3}),
    {"day": 22, "event": "stabilised"},
]


def course(*rows, day):
    return judge(diary(PITCHED, *rows), at=evening(day), settings=Settings()).course


def text(topic, found, width=80):
    return "\n".join(guide_lines(found, topic, vessel="plum", width=width))


@pytest.mark.parametrize("topic", Topic)
def test_every_guide_has_its_steps_and_its_cautions_and_fits(topic):
    shown = text(topic, course(day=1), width=50)
    assert all(line.strip() for line in shown.splitlines())
    assert max(map(len, shown.splitlines())) <= 50
    assert GUIDES[topic]
    assert CARES[topic]
    assert "NAME" not in shown


@pytest.mark.parametrize(
    ("rows", "day", "topic"),
    [
        ([], 1, Topic.FIRST_DAYS),
        (STUCK, 26, Topic.STUCK),
        (HELD, 29, Topic.STABILISE),
        (WORKS, 9, None),
    ],
)
def test_the_guide_is_that_of_the_next_step(rows, day, topic):
    assert topic_of(course(*rows, day=day)) is topic


def test_the_first_days_say_when_to_worry():
    assert "This is day 1: nothing to do before 4 Oct 2026." in text(
        Topic.FIRST_DAYS, course(day=1)
    )
    late = text(Topic.FIRST_DAYS, course({"day": 1, "bubbles": 0, "temp_c": 18}, day=5))
    assert "12 to 72 hours" in late
    assert "time to look into it (since 4 Oct 2026)" in late


def test_a_stuck_jar_has_its_rungs_with_days():
    shown = text(Topic.STUCK, course(*STUCK, day=26))
    assert "step 1    warm it: from 27 Oct, give it until 3 Nov." in shown
    assert "step 4    keep it sweet: from 24 Nov, give it until 8 Dec." in shown


def test_the_hold_counts_down():
    assert "wait now  day 9 of 14, 5 to go." in text(Topic.STABILISE, course(*HELD, day=31))
    assert "day 14 of 14: over, read the gravity." in text(Topic.STABILISE, course(*HELD, day=40))


# Common practice, no source: what each haze is told by.
@pytest.mark.parametrize("word", ["yeast", "pectin", "protein"])
def test_each_haze_has_its_own_test(word):
    assert word in {label for label, _ in GUIDES[Topic.HAZE]}
