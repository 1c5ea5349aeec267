"""A diary as a DataFrame and back again."""

import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bubblerate.diary.bottles import Closure
from bubblerate.diary.events import EVENTS
from bubblerate.diary.reading import read
from bubblerate.diary.visit import COLUMNS, Diary, Visit
from bubblerate.errors import DiaryError

from scenes import EXAMPLES

OFFSETS = st.integers(-14 * 60, 14 * 60).map(lambda m: timezone(timedelta(minutes=m)))
VISITS = st.builds(
    Visit,
    when=st.datetimes(datetime(1000, 1, 1), datetime(3000, 1, 1), timezones=OFFSETS),
    bubbles=st.none() | st.integers(0, 10**6),
    seconds=st.none() | st.floats(1.0, 86_400.0),
    sg=st.none() | st.floats(0.7, 1.3),
    event=st.none() | st.sampled_from(EVENTS),
    closure=st.none() | st.sampled_from([*Closure]),
    litres=st.none() | st.floats(0.05, 10_000),
    note=st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=20),
    bottles=st.sampled_from(["", "6x75"]),
)
WHEN = pd.to_datetime(["2026-11-24 21:00", "2026-11-25 21:00"], utc=True)


def unlined(diary):
    return [replace(visit, line=0) for visit in diary.visits]


@settings(max_examples=60, deadline=None)
@given(visits=st.lists(VISITS, max_size=4))
def test_what_goes_into_a_frame_comes_out_again(visits):
    visits.sort(key=lambda visit: visit.when)
    diary = Diary(path="fig.csv", vessel="fig", visits=tuple(visits))
    again = Diary.from_frame(diary.to_frame(), vessel="fig")
    assert again.visits == diary.visits
    assert {type(visit.bubbles) for visit in again.visits} <= {int, type(None)}


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.csv")), ids=lambda path: path.stem)
def test_an_example_comes_out_as_it_went_in_and_the_index_is_its_line(path):
    diary = read(path)
    frame = diary.to_frame()
    assert frame.columns.tolist() == list(COLUMNS)
    assert frame.index.tolist() == [visit.line for visit in diary.visits]
    assert unlined(Diary.from_frame(frame.sample(frac=1.0, random_state=1), vessel="x")) == sorted(
        unlined(diary), key=lambda visit: visit.when
    )


def test_the_types_are_those_pandas_users_expect_even_of_no_rows():
    for visits in ((), (Visit(when=datetime(2026, 11, 24, 21, tzinfo=UTC), bubbles=9),)):
        frame = Diary(path="fig.csv", vessel="fig", visits=visits).to_frame()
        assert str(frame["when"].dt.tz) == "UTC"
        assert frame["bubbles"].dtype == "Int64"
        assert frame["event"].dtype == pd.CategoricalDtype(list(EVENTS))
        assert {frame[name].dtype.name for name in ("seconds", "temp_c", "sg")} == {"float64"}
        assert len(frame) == len(visits)


def test_frames_of_other_makers_are_taken_in_the_types_they_come_in():
    frame = pd.DataFrame(
        {
            "per_min": [9.0, 8.0],  # no column of a diary
            "when": ["2026-11-25T21:00+01:00", "2026-11-24T21:00Z"],
            "bubbles": [np.nan, 8.0],
            "sg": np.array([1.004, np.nan], dtype="float32"),
            "event": [None, "racked"],
        }
    )
    one, two = Diary.from_frame(frame, vessel="fig").visits
    assert (one.bubbles, one.seconds, one.event, one.sg) == (8, 60.0, "racked", None)
    assert two.sg == pytest.approx(1.004, abs=1e-6)
    assert two.when == datetime(2026, 11, 25, 20, tzinfo=UTC)


@pytest.mark.parametrize(
    ("frame", "said"),
    [
        ([1, 2], "fig: is not a DataFrame but list; give a DataFrame"),
        (pd.DataFrame({"bubbles": [1]}), "fig: has no column when; add one"),
        (pd.DataFrame([[1, 1]], columns=["when", "when"]), "fig: a column appears twice"),
        (pd.DataFrame({"when": [WHEN[0], pd.NaT]}), "fig: iloc[1]: when is empty; fill it"),
        (pd.DataFrame({"when": [3]}), "fig: iloc[0]: when is 3; give a time such as 2026-11-24T21"),
        (pd.DataFrame({"when": ["soon"]}), "fig: iloc[0]: when is 'soon'; give a time such as"),
        (pd.DataFrame({"when": WHEN, "bubbles": [9, -1]}), "fig: iloc[1]: bubbles is -1; a row"),
        (
            pd.DataFrame({"when": WHEN, "bubbles": [9, 8.5]}),
            "fig: iloc[1]: bubbles is 8.5; a row n",
        ),
        (pd.DataFrame({"when": WHEN, "sg": ["a", "b"]}), "fig: iloc[0]: sg is 'a'; give a column"),
        (pd.DataFrame({"when": WHEN, "event": ["raked", None]}), "iloc[0]: event is 'raked'; a r"),
        (pd.DataFrame({"when": WHEN, "sg": [True, False]}), "iloc[0]: sg is True; give a number"),
        (pd.DataFrame({"when": WHEN, "note": [1, 2]}), "iloc[0]: note is 1; give a column of ano"),
    ],
)
def test_a_frame_that_is_no_diary_says_where_and_what_would_do(frame, said):
    with pytest.raises(DiaryError) as caught:
        Diary.from_frame(frame, vessel="fig")
    assert said in str(caught.value)


def test_pandas_is_loaded_by_the_call_alone():
    code = (
        "import sys; from bubblerate.diary.visit import Diary; import bubblerate.diary.frames;"
        "assert 'pandas' not in sys.modules; Diary(path='a', vessel='a', visits=()).to_frame();"
        "assert 'pandas' in sys.modules"
    )
    assert subprocess.run([sys.executable, "-c", code]).returncode == 0
