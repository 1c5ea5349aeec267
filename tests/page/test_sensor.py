import json
from datetime import timedelta

import pytest

from bubblerate.diary.reading import read
from bubblerate.diary.shelf import shelf_at
from bubblerate.diary.visit import Visit
from bubblerate.diary.writing import append
from bubblerate.errors import DiaryError, InputError
from bubblerate.page.sensor import rows_of, write_rows

from phones import COUNTS, NOW, Phone, pages_of, shelf_in

ROWS = len(COUNTS) + 1
WHEN = "2026-10-20T20:00:00+00:00"
GOOD = {"when": WHEN, "bubbles": 12, "seconds": 300, "temp_c": 18.5}


@pytest.fixture
def folder(tmp_path):
    return shelf_in(tmp_path)


def test_rows_are_read_and_put_in_order():
    later = {"when": "2026-10-20T20:30:00Z", "bubbles": 0, "seconds": 60.5, "pressure_hpa": 1013}
    first, second = rows_of([later, GOOD], now=NOW)
    assert (first.bubbles, first.seconds, first.temp_c) == (12, 300, 18.5)
    assert (second.bubbles, second.seconds, second.pressure_hpa) == (0, 60.5, 1013)


@pytest.mark.parametrize(
    ("data", "why"),
    [
        ({}, "a list"),
        ([], "1 to 10000 rows"),
        ([GOOD] * 10_001, "1 to 10000 rows"),
        (["12"], "row 1: it needs"),
        ([GOOD, {"bubbles": 1}], "row 2: it needs"),
        ([GOOD | {"sg": 1.0}], "it needs"),
        ([GOOD | {"when": 5}], "when must be text"),
        ([GOOD | {"when": "soon"}], "cannot read"),
        ([GOOD | {"when": "2026-10-20T21:00:01+00:00"}], "in the future"),
        ([GOOD | {"bubbles": "12"}], "bubbles must be a number"),
        ([GOOD | {"bubbles": True}], "bubbles must be a number"),
        ([GOOD | {"bubbles": -1}], "bubbles is -1"),
        ([GOOD | {"bubbles": 1.5}], "whole number"),
        ([GOOD | {"bubbles": None}], "whole number"),
        ([GOOD | {"seconds": 0}], "seconds is 0"),
        ([GOOD | {"seconds": float("nan")}], "seconds is nan"),
        ([GOOD | {"temp_c": 99}], "temp_c is 99"),
    ],
)
def test_what_is_no_row_is_refused_by_its_number(data, why):
    with pytest.raises(InputError, match=why):
        rows_of(data, now=NOW)


def test_all_are_written_or_none_and_a_second_sending_adds_nothing(folder):
    phone = Phone(pages_of(folder))
    rows = [GOOD | {"when": f"2026-10-20T{hour}:00:00+00:00"} for hour in range(10, 15)]

    def send(some):
        return phone.post("/jar/fig/rows", json.dumps(some), content_type="application/json")

    assert send([*rows, {}]).status_code == 400
    assert len(read(folder / "fig.csv").visits) == ROWS
    assert send(rows[:3]).json == {"written": 3, "there_already": 0}
    assert send(rows).json == {"written": 2, "there_already": 3}
    assert send(rows).json == {"written": 0, "there_already": 5}
    assert send([GOOD | {"bubbles": 77}] * 2).json == {"written": 1, "there_already": 1}
    assert len(read(folder / "fig.csv").visits) == ROWS + 6


def test_a_row_that_another_hand_wrote_meanwhile_is_kept(folder, monkeypatch):
    shelf = shelf_at(folder)
    opened = type(shelf).open
    other = [Visit(when=NOW - timedelta(minutes=5), bubbles=3)]

    def open_and_write(self, name):
        found = opened(self, name)
        if other:
            append(folder / "fig.csv", other.pop())
        return found

    monkeypatch.setattr(type(shelf), "open", open_and_write)
    assert write_rows(shelf, "fig", rows_of([GOOD], now=NOW)) == 1
    assert [v.bubbles for v in read(folder / "fig.csv").visits[ROWS:]] == [12, 3]


def test_a_diary_that_never_stands_still_is_given_up(folder, monkeypatch):
    def busy(*args, **options):
        raise DiaryError("written by another program")

    shelf = shelf_at(folder)
    monkeypatch.setattr(type(shelf), "extend", busy)
    with pytest.raises(DiaryError, match="another program"):
        write_rows(shelf, "fig", rows_of([GOOD], now=NOW))
