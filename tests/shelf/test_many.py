from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime

import pandas as pd
import pytest

from bubblerate import Settings, forecast_many, judge, judge_many, settings
from bubblerate.diary.folder import Unread, diaries
from bubblerate.shelf import many

from scenes import EXAMPLES, diary, evening

AT = datetime(2026, 11, 14, 22, tzinfo=UTC)
KNOWN = settings(EXAMPLES)


def falling(name, *, scale=60.0, days=9):
    return diary(*({"day": d, "bubbles": round(scale * 0.8**d)} for d in range(days)), vessel=name)


@pytest.fixture(scope="module")
def judged():
    return [judge(one, at=AT, settings=KNOWN) for one in diaries(EXAMPLES, KNOWN)]


def test_a_row_of_verdicts_holds_what_one_judgement_holds(judged):
    found = judge_many(diaries(EXAMPLES, KNOWN), at=AT, settings=KNOWN)
    assert [*found["vessel"]] == [one.verdict.vessel for one in judged]
    assert [*found["verdict"]] == [one.verdict.answer for one in judged]
    assert [*found["firmness"]] == [one.verdict.firmness for one in judged]
    assert [words.split() for words in found["reasons"]] == [
        [reason.code for reason in one.verdict.reasons] for one in judged
    ]
    assert [None if pd.isna(due) else due.date() for due in found["due"]] == [
        one.verdict.next.on for one in judged
    ]
    assert {*found["asked_at"]} == {pd.Timestamp(AT)}
    assert not any(found["error"])


def test_a_row_of_forecasts_holds_what_one_forecast_holds(judged):
    found = forecast_many(diaries(EXAMPLES, KNOWN), at=AT, settings=KNOWN)
    for (_, row), one in zip(found.iterrows(), judged, strict=True):
        crossing = one.forecast.crossing
        assert row["per_min"] == one.forecast.per_min.median
        assert row["p_already"] == crossing.p_already
        for name in ("low95", "low80", "median", "high80", "high95"):
            cell, meant = row[f"below_{name}"], getattr(crossing, name)
            assert pd.isna(cell) if meant is None else abs((cell - meant).total_seconds()) < 1e-3


def test_unless_said_each_vessel_is_asked_of_at_its_own_last_row():
    found = judge_many([falling("fig", days=6), falling("plum", days=9)])
    assert [*found["asked_at"]] == [evening(5), evening(8)]


def test_a_long_table_and_its_diaries_give_the_same():
    rows = [
        {"vessel": name, "when": evening(d), "bubbles": round(scale * 0.8**d)}
        for d in range(9)
        for name, scale in (("fig", 60), ("plum", 200))
    ]
    by_diary = [falling("fig"), falling("plum", scale=200.0)]
    pd.testing.assert_frame_equal(forecast_many(pd.DataFrame(rows)), forecast_many(by_diary))


def test_processes_threads_and_this_one_give_the_same_in_the_order_of_the_input():
    jars = [falling(f"jar-{i:02}", scale=30.0 + i, days=5) for i in range(42)]
    by_pool = judge_many(iter(jars))  # enough for the default, a pool of processes
    with ThreadPoolExecutor(3) as threads:
        by_threads = judge_many(jars, executor=threads)
    here = pd.concat([judge_many(jars[:21]), judge_many(jars[21:])], ignore_index=True)
    pd.testing.assert_frame_equal(by_pool, here)
    pd.testing.assert_frame_equal(by_threads, here)
    assert [*here["vessel"]] == [jar.vessel for jar in jars]
    back = judge_many(jars[20::-1])  # what stands beside a jar, or before it, changes nothing
    pd.testing.assert_frame_equal(back[::-1].reset_index(drop=True), here[:21])


def test_one_bad_vessel_is_a_row_with_its_error(monkeypatch):
    def judge_but_one(one, **asked):
        if one.vessel == "odd":
            raise ZeroDivisionError("a fault of ours")
        return judge(one, **asked)

    monkeypatch.setattr(many, "judge", judge_but_one)
    torn = Unread(vessel="torn", error='torn.csv:2: bubbles is "x"; write 12')
    jars = [falling("fig"), torn, falling("odd"), diary(vessel="new"), falling("plum")]
    found = judge_many(jars).set_index("vessel")
    assert [*found.index] == ["fig", "torn", "odd", "new", "plum"]
    assert found["error"]["torn"] == torn.error
    assert found["error"]["odd"] == "odd: ZeroDivisionError: a fault of ours"
    assert found["error"]["new"] == "new: nothing has been written down yet"
    assert found["verdict"]["fig"] == found["verdict"]["plum"] == "wait"
    assert not found["verdict"]["torn"]


def test_too_few_counts_for_a_forecast_are_said_so():
    found = forecast_many([falling("fig", days=2)])
    assert found["error"][0] == "fig: too few counts since its peak for a forecast"
    assert found["below_median"].isna().all()


@pytest.mark.parametrize("ask", [judge_many, forecast_many])
def test_no_vessels_make_a_table_without_rows_of_the_same_types(ask):
    some, none = ask([falling("fig")]), ask([])
    assert len(none) == 0
    assert [*none.dtypes] == [*some.dtypes]
    assert str(none.dtypes["asked_at"]).endswith("UTC]")


@pytest.mark.parametrize("threshold", [0.0, -1.0, float("nan"), float("inf")])
def test_a_threshold_that_is_none_is_refused(threshold):
    with pytest.raises(ValueError, match="above 0"):
        forecast_many([falling("fig")], threshold_per_min=threshold, settings=Settings())


def test_a_moment_without_its_offset_is_refused():
    with pytest.raises(ValueError, match="UTC offset"):
        judge_many([falling("fig")], at=datetime(2026, 11, 14))
