"""Each limit of a verdict from both its sides: at the limit still a go, beyond it a wait.

A limit is a number that somebody chose; here it cannot move by a hair unseen. The numbers are common
practice, no source.
"""

import pytest

from bubblerate.verdict.case import Case
from bubblerate.verdict.decide import verdict
from bubblerate.verdict.racking import gravity

from cases import (
    NOTHING_LACKS,
    NOW,
    QUIET,
    SEEN,
    STEADY,
    bubbling,
    counts,
    days_ago,
    facts,
    read,
    stated,
)

R = "racking"
START = (30, 1.085)


def steady(sg, age=0.0, span=5.0, **more):
    return read(START, (age + span, sg), (age, sg), steady=True, steady_days=span, **more)


def fell(points, days):
    return read(START, (days, 1.000 + points / 1000.0), (0, 1.000), steady=False)


def crept(*sgs):
    return read(*((2.0 * n, sg) for n, sg in zip(range(len(sgs) - 1, -1, -1), sgs, strict=True)))


def case(question, forecast, gravity, threshold=1.0, **more):
    return Case(
        vessel="fig",
        asked_at=NOW,
        question=question,
        threshold_per_min=threshold,
        facts=stated(**{**SEEN, **more}),
        proof=NOTHING_LACKS,
        forecast=forecast,
        gravity=gravity,
    )


def at_rate(per_min, p_below=0.98):
    return bubbling(p_below, per_min)


NONE = {"last_count_at": None}
STEADY_ABOVE = read((5, 1.006), (0, 1.006), steady=True)
LIMITS = [
    # the limit                              question, and the two sides: forecast, gravity, facts
    ("three weeks since it was racked", R, (QUIET, STEADY, {"racked_at": days_ago(21.0)}), (QUIET, STEADY, {"racked_at": days_ago(20.9)})),
    ("counts four days old", R, (QUIET, None, {"last_count_at": days_ago(4.0)}), (QUIET, None, {"last_count_at": days_ago(4.1)})),
    ("a low reading two weeks old", R, (None, steady(0.997, 14.0), NONE), (None, steady(0.997, 14.1), NONE)),
    ("sure alone", R, (bubbling(0.9), None, {}), (bubbling(0.89), None, {})),
    ("sure beside gravity", R, (bubbling(0.8), read((0, 1.004)), {}), (bubbling(0.79), read((0, 1.004)), {})),
    ("three quiet counts", R, (QUIET, None, {"quiet_counts": 3}), (QUIET, None, {"quiet_counts": 2})),
    ("two quiet days", R, (QUIET, None, {"quiet_days": 2.0}), (QUIET, None, {"quiet_days": 1.9})),
    ("three minutes of quiet", R, (QUIET, None, {"quiet_seconds": 180.0}), (QUIET, None, {"quiet_seconds": 179.0})),
    ("three counts of a slowing", R, (QUIET, None, {"bubbling_counts": 3}), (QUIET, None, {"bubbling_counts": 2})),
    ("a last count three times the threshold", R, (QUIET, None, {"last_per_min": 3.0}), (QUIET, None, {"last_per_min": 3.1})),
    ("bubbles that are only gas, by their curve", R, (at_rate(3.0, 0.01), STEADY, {}), (at_rate(3.1, 0.01), STEADY, {})),
    ("bubbles that are only gas, by the last count", R, (at_rate(2.0, 0.01), STEADY, {"last_per_min": 3.0}), (at_rate(2.0, 0.01), STEADY, {"last_per_min": 3.1})),
    ("bubbles that are only gas, for a low threshold", R, (at_rate(1.5, 0.01), STEADY, {"threshold": 0.5}), (at_rate(1.6, 0.01), STEADY, {"threshold": 0.5})),
    ("a last count three times a low threshold", R, (QUIET, None, {"last_per_min": 1.5, "threshold": 0.5}), (QUIET, None, {"last_per_min": 1.6, "threshold": 0.5})),
    ("six minutes of quiet for a low threshold", R, (QUIET, None, {"quiet_seconds": 360.0, "threshold": 0.5}), (QUIET, None, {"quiet_seconds": 359.0, "threshold": 0.5})),
    ("cold", R, (QUIET, None, {"temp_c": 12.0, "usual_c": 12.0}), (QUIET, None, {"temp_c": 11.9, "usual_c": 12.0})),
    ("colder than its usual", R, (QUIET, None, {"temp_c": 15.1}), (QUIET, None, {"temp_c": 15.0})),
    ("a gravity to rack at, no finish set", R, (QUIET, steady(1.010), {}), (QUIET, steady(1.011), {})),
    ("a gravity to rack at, a dry finish set", R, (QUIET, steady(1.005, finish=0.996), {}), (QUIET, steady(1.006, finish=0.996), {})),
    ("a gravity to rack at, a sweet finish set", R, (QUIET, steady(1.013, finish=1.008), {}), (QUIET, steady(1.014, finish=1.008), {})),
    ("half its sugar gone", R, (QUIET, read((30, 1.020), (5, 1.010), (0, 1.010), steady=True, steady_days=5), {}), (QUIET, read((30, 1.018), (5, 1.010), (0, 1.010), steady=True, steady_days=5), {})),
    ("so near its finish that cold does not matter", R, (QUIET, steady(1.000), {"temp_c": 8.0}), (QUIET, steady(1.0005), {"temp_c": 8.0})),
    ("the last of a fall, a point a day", R, (QUIET, fell(3.0, 3.0), {}), (QUIET, fell(3.1, 3.0), {})),
    ("a rise of two points at once", R, (QUIET, crept(1.000, 1.002), {}), (QUIET, crept(1.000, 1.0021), {})),
    ("a rise of three points bit by bit", R, (QUIET, crept(0.998, 1.0, 1.001), {}), (QUIET, crept(0.998, 1.0, 1.0011), {})),
    ("sugar added two weeks ago", R, (QUIET, STEADY_ABOVE, {"fed_at": days_ago(14.0)}), (QUIET, STEADY_ABOVE, {"fed_at": days_ago(13.9)})),
    ("the lowest gravity that wine reads", R, (QUIET, read((0, 0.980)), {}), (QUIET, read((0, 0.979)), {})),
    ("a bubble in 10 s, whatever the threshold", R, (at_rate(6.0), None, {"threshold": 30.0}), (at_rate(6.1), None, {"threshold": 30.0})),
]  # fmt: skip


@pytest.mark.parametrize(
    ("question", "within", "beyond"), [r[1:] for r in LIMITS], ids=[r[0] for r in LIMITS]
)
def test_a_limit_holds_from_both_sides(question, within, beyond):
    answers = [
        verdict(case(question, forecast, gravity, **more)).answer
        for forecast, gravity, more in (within, beyond)
    ]
    assert answers == ["go", "wait"]


def test_a_creeping_rise_of_more_than_two_weeks_ago_is_forgotten():
    long_ago = read((20, 0.994), (5, 0.998), (0, 0.998), steady=True, steady_days=5)
    lately = read((13, 0.994), (5, 0.998), (0, 0.998), steady=True, steady_days=5)
    assert verdict(case(R, QUIET, long_ago)).answer == "go"
    found = verdict(case(R, QUIET, lately))
    assert (found.answer, found.reasons[0].code) == ("wait", "gravity-rose")


def test_the_rise_is_told_in_points():
    text = gravity(case(R, QUIET, crept(0.998, 1.000, 1.002))).reason.text
    assert text.startswith("The gravity rose 4 points to 1.002")


def test_only_the_time_of_the_quiet_counts_is_summed():
    late = [{**row, "day": 2.0 + row["day"]} for row in counts(0, 0, seconds=40.0)]
    seen = facts(*counts(9, 7, seconds=300.0), *late).airlock
    assert (seen.quiet.counts, seen.quiet.seconds) == (2, 80.0)
