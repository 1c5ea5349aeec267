"""A diary that a spreadsheet saved again with semicolons and decimal commas is still a diary.

The files are written by pandas, which knows nothing of this program's own writer.
"""

from dataclasses import replace
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pandas as pd
import pytest

from bubblerate.diary.reading import read
from bubblerate.diary.striking import strike
from bubblerate.diary.visit import Visit
from bubblerate.diary.writing import append, create, extend
from bubblerate.errors import DiaryError

EVENING = datetime(2026, 11, 24, 21, 30, tzinfo=timezone(timedelta(hours=1)))
LATER = EVENING + timedelta(days=1)
FIRST = Visit(
    when=EVENING, bubbles=12, seconds=90.5, temp_c=18.5, sg=1.012, note="clear; still, dry"
)
LAST = Visit(
    when=LATER, bubbles=7, seconds=60.0, temp_c=17.5, sg=1.01, litres=4.5, note="an öld jar"
)
MORE = Visit(when=LATER + timedelta(days=1), bubbles=3, temp_c=16.25, sg=1.004, note="a; b, c")


def saved_again(path: Path, **form) -> bytes:
    """Diary of two rows, written again by another program; its bytes."""
    create(path, FIRST)
    append(path, LAST)
    frame = pd.read_csv(path, dtype={"bubbles": "Int64"})
    frame.to_csv(
        path, index=False, **({"sep": ";", "decimal": ",", "encoding": "utf-8-sig"} | form)
    )
    return path.read_bytes()


@pytest.fixture
def quince(tmp_path: Path) -> Path:
    return tmp_path / "quince.csv"


def held(path: Path) -> list[Visit]:
    return [replace(visit, line=0) for visit in read(path).visits]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("quoting", [0, 1])
def test_it_holds_the_same_visits_in_every_form(quince, encoding, end, quoting):
    form = {"encoding": encoding, "lineterminator": end, "quoting": quoting}
    data = saved_again(quince, **form)
    assert b"18,5" in data
    assert held(quince) == [FIRST, LAST]


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize(
    "write", [append, lambda path, visit: extend(path, [visit], held=read(path).visits)]
)
def test_a_new_row_takes_its_form_and_every_old_byte_stays(quince, write, end):
    before = saved_again(quince, lineterminator=end)
    write(quince, MORE)
    after = quince.read_bytes()
    assert after.startswith(before)
    row = after[len(before) :].decode()
    assert row == f'2026-11-26T21:30:00+01:00;3;60;16,25;;1,004;;;;"a; b, c";{end}'
    assert held(quince) == [FIRST, LAST, MORE]
    table = pd.read_csv(quince, sep=";", decimal=",", encoding="utf-8-sig")
    assert table["sg"].tolist() == [1.012, 1.01, 1.004]


def test_a_struck_row_changes_in_that_cell_alone(quince):
    before = saved_again(quince, lineterminator="\r\n")
    strike(quince, 2, at=LATER)
    lines, old = quince.read_bytes().split(b"\r\n"), before.split(b"\r\n")
    assert lines[1] == old[1] + b"2026-11-25T21:30:00+01:00"
    assert lines[:1] + lines[2:] == old[:1] + old[2:]
    assert [bool(visit.struck) for visit in read(quince).visits] == [True, False]


def test_a_column_it_lacks_is_added_with_its_own_separator(quince):
    before = saved_again(quince)
    sugared = replace(MORE, event="fed", sugar_g=200.5)
    append(quince, sugared)
    head, *old = before.splitlines()
    lines = quince.read_bytes().splitlines()
    assert lines[:3] == [head + b";sugar_g", *(row + b";" for row in old)]
    assert lines[3].endswith(b";200,5")
    assert held(quince) == [FIRST, LAST, sugared]


def test_the_column_struck_is_added_where_it_is_lacking(quince):
    quince.write_bytes(b"when;bubbles;sg\n2026-11-24T21:30:00+01:00;9;1,004\n")
    strike(quince, 2, at=LATER)
    assert quince.read_bytes() == (
        b"when;bubbles;sg;struck\n2026-11-24T21:30:00+01:00;9;1,004;2026-11-25T21:30:00+01:00\n"
    )


def test_decimal_points_stay_where_the_country_has_them_with_semicolons(quince):
    before = saved_again(quince, decimal=".")
    append(quince, MORE)
    row = quince.read_bytes()[len(before) :]
    assert b";16.25;;1.004;" in row
    assert held(quince) == [FIRST, LAST, MORE]


def test_days_are_written_with_the_comma_too(quince):
    quince.write_bytes(b"day;bubbles;seconds\n0;40;60\n1,5;20;60\n")
    append(quince, Visit(when=EVENING + timedelta(days=2.5), bubbles=9), pitched=EVENING)
    assert quince.read_bytes().endswith(b"\n2,5;9;60\n")
    visits = read(quince, pitched=EVENING).visits
    assert [(visit.when - EVENING) / timedelta(days=1) for visit in visits] == [0.0, 1.5, 2.5]


def test_a_row_cut_short_in_a_quote_is_closed_before_a_new_one(quince):
    saved_again(quince)
    with quince.open("ab") as file:
        file.write(b'2026-11-25T22:00:00+01:00;9;60;;;;;;;"half a; no')
    append(quince, MORE)
    assert quince.read_bytes().splitlines()[-1].startswith(b"2026-11-26T21:30:00+01:00;3;60;16,25")


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        (b"9;1004", 'sg is "1004"; write 1,004'),
        (b"9;1,00,4", 'sg is "1,00,4"; write a gravity such as 1,004'),
        (b"9;1,9", 'sg is "1,9"; write a gravity such as 1,004'),
        (b"9,5;1,004", 'bubbles is "9,5"; write a whole number up to 1000000, such as 12'),
        (b"9;1,004;x", "number of cells is 4, not 3; quote a cell that holds a semicolon"),
    ],
)
def test_what_is_wrong_is_said_in_its_own_form(quince, cells, said):
    quince.write_bytes(b"when;bubbles;sg\n2026-11-24T21:30:00+01:00;" + cells + b"\n")
    with pytest.raises(DiaryError) as caught:
        read(quince)
    assert str(caught.value) == f"quince.csv:2: {said}"


def test_a_point_that_may_group_thousands_is_asked_about(quince):
    quince.write_bytes(b"when;temp_c;sugar_g\n2026-11-24T21:30:00+01:00;18,5;1.200\n")
    with pytest.raises(DiaryError) as caught:
        read(quince)
    assert str(caught.value) == 'quince.csv:2: sugar_g is "1.200"; write 1200 or 1,200'
