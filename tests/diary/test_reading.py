import errno
import os
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bubblerate.diary.bottles import Closure
from bubblerate.diary.events import EVENTS
from bubblerate.diary.reading import read
from bubblerate.diary.visit import Visit
from bubblerate.errors import DiaryError

from scenes import EVENING, HEADER, read_text, refusal


def test_the_later_columns_are_read_where_a_diary_has_them(quince):
    text = "when,other,closure,event,bottles,sugar_g,added_l\n2026-11-24T21:30,"
    [visit] = read_text(quince, f"{text} plum 2 ,crown,bottled,5x75+1x37.5,31.5,0.2\n").visits
    assert (visit.added_l, visit.sugar_g, visit.bottles) == (0.2, 31.5, "5x75+1x37.5")
    assert (visit.closure, visit.other) == (Closure.CROWN, "plum 2")
    [visit] = read_text(quince, f"{text},,,,,\n").visits
    assert visit == Visit(when=visit.when, line=2)


def test_a_row_without_a_count_has_no_time_of_counting(quince):
    text = "when,bubbles,seconds\n2026-11-24T21:30,,\n2026-11-25T21:30,8,\n"
    assert [visit.seconds for visit in read_text(quince, text).visits] == [None, 60.0]


def test_a_full_row_is_read_into_a_visit(quince):
    row = '2026-11-24T21:30+01:00,8,300,18.5,1013.2,1.004,20,sampled,4.5,"clear, ""almost""",\n'
    diary = read_text(quince, f"{HEADER}\n{row}")
    assert (diary.path, diary.vessel) == (quince, "quince")
    assert diary.visits == (
        Visit(
            when=EVENING,
            bubbles=8,
            seconds=300.0,
            temp_c=18.5,
            pressure_hpa=1013.2,
            sg=1.004,
            sample_c=20.0,
            event="sampled",
            litres=4.5,
            note='clear, "almost"',
            line=2,
        ),
    )


@pytest.mark.parametrize(
    "text",
    [
        "when,bubbles\n2026-11-24T21:30+01:00,8\n",
        "when,bubbles\r\n2026-11-24T21:30+01:00,8\r\n",
        "when,bubbles\r2026-11-24T21:30+01:00,8\r",
        "\ufeffwhen,bubbles\n2026-11-24T21:30+01:00,8",
        "bubbles,colour,when\n8,amber,2026-11-24T20:30Z\n",
        ' When , BUBBLES \n" 2026-11-24 21:30+01:00", 8 \n',
        "when,day,bubbles\n2026-11-24T21:30+01:00,77,8\n",
        "when,bubbles,seconds,,\n2026-11-24T21:30+01:00,8,,,\n",
    ],
)
def test_the_same_visit_is_read_from_any_layout(quince, text):
    assert read_text(quince, text).visits == (Visit(when=EVENING, bubbles=8, line=2),)


def test_rows_come_in_order_of_time_and_keep_the_line_they_start_on(quince):
    text = (
        'when,note\n\n2026-11-24T21:30Z,"two\r\nlines"\n   \n2026-11-23T21:30Z,b\n'
        "2026-11-23T21:30Z,c\n"
    )
    visits = read_text(quince, text).visits
    assert [(visit.line, visit.note) for visit in visits] == [
        (6, "b"),
        (7, "c"),
        (3, "two\r\nlines"),
    ]


def test_a_header_alone_is_an_empty_diary(quince):
    diary = read_text(quince, "when,bubbles\n")
    assert (diary.visits, diary.pitched, diary.litres) == ((), None, None)


def test_a_struck_row_is_read_and_is_not_live(quince):
    diary = read_text(quince, "when,struck\n2026-11-24T21:30Z,x\n2026-11-25T21:30Z,  \n")
    assert [visit.struck for visit in diary.visits] == ["x", ""]
    assert diary.live == diary.visits[1:]


BAD_CELLS = [
    ("when", "24/11/2026", "2026-11-24T21:00"),
    ("when", "3/4/2026 9:30", "2026-04-03T09:30 or 2026-03-04T09:30"),
    ("when", "2026-2-3", "2026-02-03T21:00"),
    ("when", "2026-02-30", "a time like 2026-11-24T21:00"),
    ("when", "yesterday", "a time like 2026-11-24T21:00"),
    ("when", "2026-02-30T21:00", "a time like 2026-11-24T21:00"),
    ("bubbles", "none", "0"),
    ("bubbles", "8.0", "8"),
    ("bubbles", "3.2", "a whole number up to 1000000, such as 12"),
    ("bubbles", "-1", "a whole number up to 1000000, such as 12"),
    ("seconds", "5m", "300"),
    ("seconds", "0", "seconds from 1 to 86400, such as 300"),
    ("seconds", "1e2", "seconds from 1 to 86400, such as 300"),
    ("seconds", "inf", "seconds from 1 to 86400, such as 300"),
    ("temp_c", "65F", "18.3"),
    ("temp_c", "18C", "18"),
    ("temp_c", "70", "Celsius from -10 to 50, such as 18.5"),
    ("temp_c", "nan", "Celsius from -10 to 50, such as 18.5"),
    ("pressure_hpa", "29.9", "hPa from 800 to 1100, such as 1013"),
    ("sg", "1004", "1.004"),
    ("sg", "4", "a gravity such as 1.004"),
    ("sample_c", "warm", "Celsius from 0 to 40, such as 18.5"),
    ("sample_c", "-0.1", "Celsius from 0 to 40, such as 18.5"),
    ("sample_c", "40.1", "Celsius from 0 to 40, such as 18.5"),
    ("sample_c", "60F", "15.6"),
    ("sample_c", "110F", "Celsius from 0 to 40, such as 18.5"),
    ("event", "Racked", "racked"),
    ("event", "topped up", "topped-up"),
    ("event", "zzz", f"one of {', '.join(EVENTS)}"),
    ("litres", "1 UK gal", "4.546"),
    ("litres", "750ml", "0.75"),
    ("litres", "1 gal", "litres from 0.05 to 10000, such as 4.5"),
    ("added_l", "300ml", "0.3"),
    ("added_l", "some", "litres from 0.001 to 10000, such as 0.3"),
    ("sugar_g", "0.2 kg", "200"),
    ("sugar_g", "0", "grams from 0.1 to 1000000, such as 200"),
    ("bottles", "6 x 75cl", "6x75"),
    ("sulphite_g", "1 tablet", "0.44"),
    ("sorbate_g", "lots", "grams from 0.01 to 10000, such as 1.2"),
    ("finings_amount", "2.5 mL", "2.5ml"),
    ("finings_amount", "a spoon", "millilitres or grams, such as 2.5ml"),
    ("bottles", "6", "bottles and their size in cl, such as 6x75"),
    ("closure", "Corks", "cork"),
    ("closure", "wax", "one of cork, tapered, cap, crown"),
    ("event", "feed", "fed"),
    ("event", "sweetend", f"one of {', '.join(EVENTS)}"),
    ("day", "twelve", "days since pitching, such as 12.5"),
    ("day", "12 d", "days since pitching, such as 12.5"),
]


@pytest.mark.parametrize(("column", "found", "advice"), BAD_CELLS)
def test_a_bad_cell_is_named_with_what_would_do(quince, column, found, advice):
    header = "when,note,last" if column == "when" else f"when,note,{column}"
    good = '2026-11-23T21:30,"two\nlines",'
    bad = f"{found},," if column == "when" else f"2026-11-24T21:30,,{found}"
    message = refusal(read_text, quince, f"{header}\n{good}\n{bad}\n")
    assert message == f'quince.csv:4: {column} is "{found}"; write {advice}'


@pytest.mark.parametrize(("found", "advice"), [("18,5", "18.5"), ("-2,25", "-2.2")])
def test_a_decimal_comma_in_a_quoted_cell_is_named_with_the_plain_form(quince, found, advice):
    message = refusal(read_text, quince, f'when,temp_c\n2026-11-24T21:30,"{found}"\n')
    assert message == f'quince.csv:2: temp_c is "{found}"; write {advice}'


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "1: is empty; write the names of the columns here, such as when,bubbles"),
        (b"\nwhen\n", "1: is empty; write the names of the columns here, such as when,bubbles"),
        (b"when\tbubbles\n", "1: columns are separated by tabs; save it as CSV with commas"),
        (b"bubbles\tday\n", "1: columns are separated by tabs; save it as CSV with commas"),
        (b"when,sg, SG\n", '1: column "sg" appears twice; rename one of them'),
        (b"time,sg\n", "1: has no column when or day; add one with the time of each visit"),
        (
            b"when,bubbles,note\n2026-11-24T21:30,1",
            "2: number of cells is 2, not 3; complete the row, or delete it if it was cut off",
        ),
        (
            b"when,temp_c\n2026-11-24T21:30,18,5\n",
            "2: number of cells is 3, not 2; quote a cell that holds a comma",
        ),
        (
            b"when,sg\n,1.004\n",
            "2: when is empty; write it like 2026-11-24T21:00, or delete the row",
        ),
        (b"day,sg\n,1.004\n", "2: day is empty; write it like 12.5, or delete the row"),
        (
            b"when,note\n2026-11-24T21:30,\xff\n",
            "2: byte 0xff is not UTF-8 text; save the file as CSV in UTF-8",
        ),
        (
            "when,note\n".encode("utf-16"),
            "1: byte 0xff is not UTF-8 text; save the file as CSV in UTF-8",
        ),
        (b"when,note\n\n2026-11-24T21:30,\0\n", "3: has a NUL byte; delete or retype this line"),
        (
            b'when,note\n2026-11-24T21:30,"open\n2026-11-25T21:30,\n',
            "2: a quote is left open; close it with another",
        ),
        (
            b'note,x,when\n"two\nlines","open,2026-11-24T21:30\n',
            "3: a quote is left open; close it with another",
        ),
        (
            b'when,note\n2026-11-24T21:30,"so "said" he"\n',
            "2: a quote is in the wrong place; inside a quoted cell write each quote twice",
        ),
        (
            b"when,note\n2026-11-24T21:30," + b"x" * 131_073,
            "2: a cell is far too long; shorten it",
        ),
        (
            b"when,day\n0001-01-01T00:00+00:00,9\n,1\n",
            " a date is beyond the calendar; check the years",
        ),
    ],
)
def test_a_file_that_is_no_diary_is_named_with_what_would_do(quince, data, message):
    quince.write_bytes(data)
    assert refusal(read, quince) == f"quince.csv:{message}"


def test_of_two_faults_the_first_in_the_file_is_named(quince):
    message = refusal(read_text, quince, 'when,note\nsoon,\n2026-11-24T21:30,"open\n')
    assert message.startswith("quince.csv:2: when is")


def test_a_missing_file_and_a_folder_are_told_apart(tmp_path):
    assert refusal(read, tmp_path / "pear.csv") == (
        "pear.csv: there is no such diary; check the name"
    )
    (tmp_path / "shelf").mkdir()
    assert refusal(read, tmp_path / "shelf") == "shelf: is a folder; name a diary in it"


def test_a_file_that_may_not_be_opened_says_so(quince, monkeypatch):
    def forbidden(path, *_):
        raise PermissionError(errno.EACCES, "Permission denied", path)

    quince.write_bytes(b"when\n")
    monkeypatch.setattr(Path, "open", forbidden)
    assert refusal(read, quince).startswith("quince.csv: this cannot be opened;")


@pytest.mark.usefixtures("berlin")
def test_a_time_without_offset_is_local_on_its_own_side_of_a_clock_change(quince):
    text = "when\n2026-10-24T21:30\n2026-10-25T21:30\n2026-03-29T21:30\n2026-03-28T21:30\n"
    offsets = [visit.when.utcoffset() for visit in read_text(quince, text).visits]
    assert [offset // timedelta(hours=1) for offset in offsets] == [1, 2, 2, 1]


@pytest.mark.usefixtures("berlin")
def test_a_date_alone_is_local_midnight_and_comes_before_the_evening(quince):
    text = "when,bubbles\n2026-10-25T21:30,8\n2026-10-25,9\n2026-10-26,7\n"
    visits = read_text(quince, text).visits
    assert [(visit.when.isoformat(), visit.bubbles) for visit in visits] == [
        ("2026-10-25T00:00:00+02:00", 9),
        ("2026-10-25T21:30:00+01:00", 8),
        ("2026-10-26T00:00:00+01:00", 7),
    ]


@pytest.mark.parametrize("sample_c", [0.0, 40.0])
def test_a_sample_at_either_end_of_the_range_is_read(quince, sample_c):
    text = f"when,sg,sample_c\n2026-11-24T21:30Z,1.004,{sample_c}\n"
    assert read_text(quince, text).visits[0].sample_c == sample_c


@pytest.mark.parametrize(
    "text",
    [
        "when,day,event,bubbles\n2026-11-01T12:00Z,,pitched,\n,3.5,racked,8\n",
        "when,day,event,bubbles\n2026-11-02T12:00Z,1,,\n,3.5,,8\n",
        "when,day,event,bubbles\n2026-11-01T12:00Z,,pitched,\n2026-11-03T12:00Z,1,,\n,3.5,,8\n",
        "when,day,event,bubbles\n2026-10-01T12:00Z,,pitched,\n2026-11-01T12:00Z,,pitched,\n,3.5,,8\n",
    ],
)
def test_days_count_from_a_row_that_tells_when_day_0_was(quince, text):
    assert read_text(quince, text).visits[-1].when == datetime(2026, 11, 5, tzinfo=UTC)


def test_days_count_from_the_pitching_given_before_all_else(quince):
    text = "when,day,event\n2026-11-01T12:00Z,,pitched\n,3.5,\n"
    diary = read_text(quince, text, pitched=EVENING)
    assert diary.visits[-1].when == EVENING + timedelta(days=3.5)


def test_without_any_anchor_the_last_live_day_is_now(quince):
    text = "day,bubbles,struck\n0,,\n3.5,20,\n99,4,slip\n"
    diary = read_text(quince, text, now=EVENING)
    assert [visit.when - EVENING for visit in diary.live] == [timedelta(days=-3.5), timedelta(0)]


def test_days_of_struck_rows_anchor_a_diary_only_when_no_live_row_has_one(quince):
    text = "when,day,struck\n2026-11-01T12:00Z,,\n,3,slip\n,2,slip\n"
    struck = [visit for visit in read_text(quince, text, now=EVENING).visits if visit.struck]
    assert [visit.when - EVENING for visit in struck] == [timedelta(days=-1), timedelta(0)]


def test_the_last_of_mere_days_is_when_the_file_was_saved(quince):
    read_text(quince, "day,bubbles\n1,20\n3,20\n")
    saved = datetime(2026, 10, 4, 21, 30, tzinfo=UTC)
    os.utime(quince, (saved.timestamp(),) * 2)
    assert [visit.when for visit in read(quince).visits] == [saved - timedelta(days=2), saved]


@settings(max_examples=300)
@given(data=st.binary(max_size=80) | st.text('when,day"\n\r;\t 0123.:-TZ', max_size=80))
def test_any_file_is_read_or_refused_in_one_line_that_names_it(data):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "pear.csv")
        path.write_bytes(b"when,bubbles\n" + (data if isinstance(data, bytes) else data.encode()))
        try:
            answer = read(path).vessel
        except DiaryError as err:
            answer = str(err)
    assert answer.startswith("pear")
    assert answer.isprintable()


def test_day_0_of_a_diary_that_counts_days_is_kept_though_no_row_stands_there(tmp_path):
    path = tmp_path / "fig.csv"
    path.write_text("day,bubbles\n3,12\n7,5\n")
    now = datetime(2026, 11, 10, 21, tzinfo=UTC)
    assert read(path, now=now).pitched == now - timedelta(days=7)
