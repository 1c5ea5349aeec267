from dataclasses import replace as changed
from datetime import timedelta

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bubblerate.course.judgement import judge
from bubblerate.diary.reading import read
from bubblerate.diary.settings_file import settings as settings_of
from bubblerate.diary.visit import Diary
from bubblerate.shelf import backtest
from bubblerate.shelf.backtest import Evening, LeftOut, Replay, Task, lost, replay, replayed
from bubblerate.shelf.coverage import in_hindsight
from bubblerate.shelf.executors import executor_for, in_order

from scenes import EXAMPLES, diary, evening

KNOWN = settings_of(EXAMPLES)


def told(known: Diary, **options) -> Replay:
    found = replay(known, **options)
    assert isinstance(found, Replay), found
    return found


def forecast_of(one: Evening):
    """What an evening says that does not look back."""
    return one.at, one.low95, one.low80, one.median, one.high80, one.high95, one.go


def falling(name="fig", days=24, *, halves=3.0, extra=()):
    counts = [round(60 * 0.5 ** (d / halves)) for d in range(days)]
    rows = [{"day": d, "bubbles": n, "seconds": 300} for d, n in enumerate(counts)]
    return diary(*rows, *extra, vessel=name)


@pytest.fixture(scope="module")
def fig() -> Replay:
    return told(falling())


# --- one evening, by hand ------------------------------------------------------------------------


def an_evening(**cells) -> Evening:
    """Asked on day 4 of a fall on day 10, forecast for day 11."""
    known = {
        "vessel": "fig",
        "at": evening(4),
        "fell_at": evening(10),
        "low95": evening(7),
        "low80": evening(9),
        "median": evening(11),
        "high80": evening(14),
        "high95": evening(20),
        "go": False,
        "early_go": False,
    }
    return Evening(**(known | cells))


def test_lead_error_and_width_are_those_of_the_calendar():
    one = an_evening()
    assert (one.lead_days, one.error_days, one.width_days) == (6.0, 1.0, 5.0)
    assert one.held80
    assert one.held95


@pytest.mark.parametrize(
    ("cells", "held80", "held95"),
    [
        ({"low80": evening(10.5)}, False, True),
        ({"high80": evening(9.5)}, False, True),
        ({"low95": evening(10.5), "low80": evening(10.6)}, False, False),
        ({"high80": None, "high95": None}, True, True),  # open towards more than 60 days
        ({"low80": None, "median": None, "high80": None, "high95": None}, False, True),
        ({"low80": evening(10), "high80": evening(10)}, True, True),
    ],
)
def test_an_interval_holds_what_lies_between_its_ends(cells, held80, held95):
    one = an_evening(**cells)
    assert (one.held80, one.held95) == (held80, held95)


def test_a_date_too_far_off_to_be_given_is_infinitely_late():
    one = an_evening(median=None, high80=None)
    assert one.error_days == one.width_days == float("inf")


# --- the replay ----------------------------------------------------------------------------------


def test_evenings_are_the_counts_before_the_fall_and_each_is_what_judge_says(fig):
    known = falling()
    assert [one.at for one in fig.evenings] == [
        v.when for v in known.live if evening(2) <= v.when < fig.quiet_day.about
    ]
    for one in fig.evenings[::4]:
        judged = judge(known, at=one.at)
        assert judged.forecast is not None
        assert one.median == judged.forecast.crossing.median
        assert one.high95 == judged.forecast.crossing.high95
        assert one.go == (judged.verdict.answer == "go")


@settings(max_examples=5, deadline=None, derandomize=True)
@given(
    cut=st.integers(6, 9),
    counts=st.lists(st.integers(0, 15), min_size=12, max_size=12),
    sg=st.sampled_from([None, 0.996, 1.02]),
)
def test_no_later_row_changes_what_was_forecast_of(fig, cut, counts, sg):
    later = [
        changed(visit, bubbles=n, sg=sg)
        for visit, n in zip(falling().live[cut : cut + 12], counts, strict=False)
    ]
    end = falling(days=45).live[cut + 12 :]  # so that it has an end to be told by
    other = replay(changed(falling(), visits=(*falling().live[:cut], *later, *end)))
    assume(isinstance(other, Replay))
    until = min(evening(cut), fig.quiet_day.about, other.quiet_day.about)
    before = [forecast_of(one) for one in fig.evenings if one.at < until]
    assert [forecast_of(one) for one in other.evenings if one.at < until] == before
    assert before


def test_rows_after_the_watch_change_nothing_at_all(fig):
    later = ({"day": 25, "event": "racked"}, {"day": 26, "bubbles": 900}, {"day": 27, "sg": 0.99})
    other = told(falling(extra=later))
    assert other.evenings == fig.evenings


def test_another_threshold_is_asked_about(fig):
    early = told(falling(), threshold_per_min=3.0)
    assert early.quiet_day.about < fig.quiet_day.about
    assert early.evenings[3].median < fig.evenings[3].median


def test_a_leak_is_left_out_by_name():
    found = replay(read(EXAMPLES / "russet-cider.csv"), settings=KNOWN)
    assert isinstance(found, LeftOut)
    assert (found.vessel, found.reason.code) == ("russet-cider", "leak")


def test_a_fall_with_no_forecast_before_it_is_left_out():
    rates = {0: 40, 6: 12, 12: 0.2, 18: 0, 24: 0, 30: 0}  # two counts before it, three are needed
    rows = [{"day": d, "bubbles": round(5 * r), "seconds": 300} for d, r in rates.items()]
    found = replay(diary(*rows))
    assert isinstance(found, LeftOut)
    assert found.reason.code == "no-forecast"


def test_a_gravity_that_falls_by_more_than_the_bubbles_say_is_a_leak():
    known, read_on = falling(), {evening(d): 1.09 - 0.008 * d for d in range(0, 12, 2)}
    visits = tuple(
        changed(v, litres=500.0, sg=read_on[v.when]) if v.when in read_on else v
        for v in known.visits
    )
    found = replay(changed(known, visits=visits))
    assert isinstance(found, LeftOut)
    assert found.reason.code == "leak"


def test_a_go_long_before_the_fall_is_an_early_go(monkeypatch):
    # no go is known to come so early, so one is made up: every second evening
    really = judge

    def sometimes(diary, *, at, **asked):
        judged = really(diary, at=at, **asked)
        answer = "go" if at.day % 2 else "wait"
        return changed(judged, verdict=changed(judged.verdict, answer=answer))

    monkeypatch.setattr(backtest, "judge", sometimes)
    found = replay(falling(days=40, halves=6.0))
    assert isinstance(found, Replay)
    gone = [one for one in found.evenings if one.go]
    assert 0 < len(gone) < len(found.evenings)
    for one in found.evenings:
        assert one.early_go == (one.go and one.at < found.quiet_day.surely_from)
    assert any(one.early_go for one in gone)


# --- many ----------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def tasks() -> list[Task]:
    known = [
        falling("fig"),
        falling("sloe", halves=2.5),
        diary({"day": 0, "bubbles": 3}, vessel="pear"),
    ]
    return [Task(diary=one, settings=KNOWN, threshold_per_min=None) for one in known]


def test_two_processes_tell_what_one_tells(tasks):
    here = [replayed(task) for task in tasks]
    with executor_for(workers=2) as pool:
        assert list(in_order(replayed, tasks, executor=pool, lost=lost)) == here


def test_the_order_of_the_diaries_does_not_matter(tasks):
    results = [replayed(task) for task in tasks]
    assert in_hindsight(results) == in_hindsight(reversed(results))


def test_a_vessel_that_a_worker_lost_is_left_out_by_name(tasks):
    found = lost(tasks[0], "MemoryError: ")
    assert (found.vessel, found.reason.code) == ("fig", "lost")
    assert "--workers 1" in found.reason.text


def test_the_fall_of_an_example_is_near_the_one_it_was_made_with():
    # damson dies at 1.024; its counts go from 1.5 to 0.8 a minute about 24 to 28 October
    found = told(read(EXAMPLES / "damson.csv"), settings=KNOWN)
    assert abs(found.quiet_day.about - read(EXAMPLES / "damson.csv").live[17].when) < timedelta(
        days=4
    )
