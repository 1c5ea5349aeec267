import errno
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import FrozenInstanceError, replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bubblerate.diary import COLUMNS, EVENTS, Diary, Visit, append, create, read, strike
from bubblerate.errors import DiaryError

EVENING = datetime(2026, 11, 24, 21, 30, tzinfo=timezone(timedelta(hours=1)))
LATER = EVENING + timedelta(days=1)
NOW = datetime(2101, 1, 1, tzinfo=UTC)
HEADER = ",".join(COLUMNS)


@pytest.fixture
def quince(tmp_path: Path) -> Path:
    return tmp_path / "quince.csv"


@pytest.fixture
def berlin(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Local time as in Berlin: clocks go forward on 29 March 2026 and back on 25 October 2026."""
    monkeypatch.setenv("TZ", "Europe/Berlin")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


def refusal(act, *args, **options) -> str:
    with pytest.raises(DiaryError) as caught:
        act(*args, **options)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def read_text(path: Path, text: str, **options) -> Diary:
    path.write_bytes(text.encode())
    return read(path, **options)


def unlined(visits) -> list[Visit]:
    return [replace(visit, line=0) for visit in visits]


# --- values --------------------------------------------------------------------------------------


def test_columns_and_events_stand_in_the_agreed_order():
    assert HEADER == "when,bubbles,seconds,temp_c,pressure_hpa,sg,sample_c,event,litres,note,struck"
    assert " ".join(EVENTS) == (
        "pitched sampled fed stirred moved airlock racked topped-up fined sulphited "
        "stabilised filtered bottled"
    )


def test_a_visit_knows_its_rate_and_cannot_be_changed():
    assert Visit(when=EVENING, bubbles=1, seconds=55.0).per_min == pytest.approx(60 / 55)
    assert Visit(when=EVENING, bubbles=0).per_min == 0.0
    assert Visit(when=EVENING, sg=1.004).per_min is None
    with pytest.raises(FrozenInstanceError):
        Visit(when=EVENING).bubbles = 3


@pytest.mark.parametrize(
    ("nonsense", "message"),
    [
        ({"when": datetime(2026, 11, 24, 21, 30)}, "UTC offset"),
        ({"bubbles": -1}, "bubbles is -1"),
        ({"bubbles": 3.2}, "bubbles is 3.2"),
        ({"bubbles": float("nan")}, "bubbles is nan"),
        ({"seconds": 0.0}, "seconds is 0.0"),
        ({"seconds": float("inf")}, "seconds is inf"),
        ({"temp_c": -10.1}, "temp_c is -10.1"),
        ({"temp_c": 50.1}, "temp_c is 50.1"),
        ({"pressure_hpa": 799.0}, "pressure_hpa is 799.0"),
        ({"pressure_hpa": 1101.0}, "pressure_hpa is 1101.0"),
        ({"sg": 0.69}, "sg is 0.69"),
        ({"sg": float("nan")}, "sg is nan"),
        ({"sg": 1004.0}, "sg is 1004.0"),
        ({"sample_c": 101.0}, "sample_c is 101.0"),
        ({"litres": 0.0}, "litres is 0.0"),
        ({"litres": 10_001.0}, "litres is 10001.0"),
        ({"event": "drunk"}, "event is 'drunk'"),
        ({"note": "a\0b"}, "NUL"),
        ({"note": "x" * 131_073}, "131072 characters"),
        ({"note": "\ud800"}, "surrogates not allowed"),
    ],
)
def test_a_visit_refuses_nonsense(nonsense, message):
    with pytest.raises(ValueError, match=message):
        Visit(**{"when": EVENING, **nonsense})


def test_a_diary_tells_what_is_live_and_what_was_last_known(quince):
    visits = (
        Visit(when=EVENING, event="pitched", litres=4.5),
        Visit(when=EVENING + timedelta(hours=1), event="pitched", litres=9.0, struck="slip"),
        Visit(when=LATER, bubbles=40),
    )
    diary = Diary(path=quince, vessel="quince", visits=visits)
    assert diary.live == (visits[0], visits[2])
    assert (diary.pitched, diary.litres) == (EVENING, 4.5)
    assert diary.until(EVENING).visits == visits[:1]
    assert diary.until(EVENING - timedelta(seconds=1)).pitched is None
    again = replace(diary, visits=(*visits, Visit(when=LATER, event="pitched", litres=5.0)))
    assert (again.pitched, again.litres) == (LATER, 5.0)


def test_a_diary_without_a_pitching_counts_from_its_first_live_row(quince):
    visits = (Visit(when=EVENING, struck="slip"), Visit(when=LATER))
    diary = Diary(path=quince, vessel="quince", visits=visits)
    assert (diary.pitched, diary.litres) == (LATER, None)


# --- reading -------------------------------------------------------------------------------------


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
    ("when", "2026-11-24", "2026-11-24T21:00"),
    ("when", "yesterday", "a time like 2026-11-24T21:00"),
    ("when", "2026-02-30T21:00", "a time like 2026-11-24T21:00"),
    ("bubbles", "none", "0"),
    ("bubbles", "8.0", "8"),
    ("bubbles", "3.2", "a whole number such as 12"),
    ("bubbles", "-1", "a whole number such as 12"),
    ("seconds", "5m", "300"),
    ("seconds", "0", "seconds above 0, such as 300"),
    ("seconds", "1e2", "seconds above 0, such as 300"),
    ("seconds", "inf", "seconds above 0, such as 300"),
    ("temp_c", "65F", "18.3"),
    ("temp_c", "18C", "18"),
    ("temp_c", "70", "Celsius from -10 to 50, such as 18.5"),
    ("temp_c", "nan", "Celsius from -10 to 50, such as 18.5"),
    ("pressure_hpa", "29.9", "hPa from 800 to 1100, such as 1013"),
    ("sg", "1004", "1.004"),
    ("sg", "4", "a gravity such as 1.004"),
    ("sample_c", "warm", "Celsius from -10 to 100, such as 18.5"),
    ("event", "Racked", "racked"),
    ("event", "topped up", "topped-up"),
    ("event", "zzz", f"one of {', '.join(EVENTS)}"),
    ("litres", "1 UK gal", "4.546"),
    ("litres", "750ml", "0.75"),
    ("litres", "1 gal", "litres such as 4.5"),
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
        (b"when;bubbles\n", "1: columns are parted by semicolons; save it as CSV with commas"),
        (b"bubbles\tday\n", "1: columns are parted by tabs; save it as CSV with commas"),
        (b"when,sg, SG\n", '1: column "sg" stands there twice; rename one of them'),
        (b"time,sg\n", "1: has no column when or day; add one with the time of each visit"),
        (
            b"when,bubbles,note\n2026-11-24T21:30,1",
            "2: number of cells is 2, not 3; complete the row, and quote a cell that holds a comma",
        ),
        (
            b"when,temp_c\n2026-11-24T21:30,18,5\n",
            "2: number of cells is 3, not 2; complete the row, and quote a cell that holds a comma",
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
        (b"when,note\n\n2026-11-24T21:30,\0\n", "3: holds a NUL byte; delete or retype this line"),
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
            "2: ',' expected after '\"'; inside a quoted cell write each quote twice",
        ),
        (
            b"when,note\n2026-11-24T21:30," + b"x" * 131_073,
            "2: a cell is far too long; shorten it",
        ),
        (
            b"when,day\n0001-01-01T00:00+00:00,9\n,1\n",
            " a day is beyond the calendar; check the years",
        ),
    ],
)
def test_a_file_that_is_no_diary_is_named_with_what_would_do(quince, data, message):
    quince.write_bytes(data)
    assert refusal(read, quince) == f"quince.csv:{message}"


def test_a_missing_file_and_a_folder_are_told_apart(tmp_path):
    assert refusal(read, tmp_path / "pear.csv") == (
        "pear.csv: there is no such diary; check the name"
    )
    (tmp_path / "shelf").mkdir()
    assert refusal(read, tmp_path / "shelf") == "shelf: is a folder; name a diary in it"


def test_a_file_that_may_not_be_opened_says_so(quince, monkeypatch):
    def forbidden(path):
        raise PermissionError(errno.EACCES, "Permission denied", path)

    monkeypatch.setattr(Path, "read_bytes", forbidden)
    assert refusal(read, quince).startswith("quince.csv: this may not be opened;")


@pytest.mark.usefixtures("berlin")
def test_a_time_without_offset_is_local_on_its_own_side_of_a_clock_change(quince):
    text = "when\n2026-10-24T21:30\n2026-10-25T21:30\n2026-03-29T21:30\n2026-03-28T21:30\n"
    offsets = [visit.when.utcoffset() for visit in read_text(quince, text).visits]
    assert [offset // timedelta(hours=1) for offset in offsets] == [1, 2, 2, 1]


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


def test_the_longest_note_a_visit_may_hold_is_read_back(quince):
    visit = Visit(when=EVENING, note="\N{PEAR}" * 131_072)
    create(quince, visit)
    assert unlined(read(quince).visits) == [visit]


def test_the_clock_is_read_for_days_only_when_nothing_else_tells(quince):
    before = datetime.now(UTC)
    visit = read_text(quince, "day,bubbles\n3,20\n").visits[0]
    assert before <= visit.when <= datetime.now(UTC)


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


# --- writing -------------------------------------------------------------------------------------

OFFSETS = st.integers(-14 * 60, 14 * 60).map(lambda m: timezone(timedelta(minutes=m)))
TIMES = st.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1), timezones=OFFSETS).map(
    lambda when: when.replace(microsecond=0)
)
NOTES = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=40)
VISITS = st.builds(
    Visit,
    when=TIMES,
    bubbles=st.none() | st.integers(0, 10**6),
    seconds=st.just(60.0) | st.floats(1e-6, 1e6),
    temp_c=st.none() | st.floats(-10, 50),
    pressure_hpa=st.none() | st.floats(800, 1100),
    sg=st.none() | st.floats(0.7, 1.3),
    sample_c=st.none() | st.floats(-10, 100),
    event=st.none() | st.sampled_from(EVENTS),
    litres=st.none() | st.floats(0, 10_000, exclude_min=True),
    note=NOTES | st.text(' ,"\r\nx', max_size=8),
    struck=st.just("") | TIMES.map(datetime.isoformat),
)


@settings(max_examples=60, deadline=None)
@given(visits=st.lists(VISITS, min_size=1, max_size=4))
def test_what_is_written_is_read_back_and_old_bytes_stay(visits):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "shelf", "pear.csv")
        create(path, visits[0])
        lines = [2]
        for visit in visits[1:]:
            old = path.read_bytes()
            lines.append(append(path, visit))
            assert path.read_bytes().startswith(old)
        found = read(path).visits
    assert unlined(found) == sorted(visits, key=lambda visit: visit.when)
    assert sorted(visit.line for visit in found) == lines


@settings(max_examples=60, deadline=None)
@given(visits=st.lists(VISITS, min_size=1, max_size=4), data=st.data())
def test_strike_changes_one_cell_of_one_row(visits, data):
    visits = [replace(visit, struck="") for visit in visits]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "pear.csv")
        create(path, visits[0])
        for visit in visits[1:]:
            append(path, visit)
        before, old = read(path), path.read_bytes()
        chosen = data.draw(st.sampled_from(before.visits))
        struck = strike(path, chosen.line, at=NOW)
        after, new = read(path), path.read_bytes()
    stamp = "2101-01-01T00:00:00+00:00"
    assert struck == replace(chosen, struck=stamp)
    assert after.visits == tuple(struck if v is chosen else v for v in before.visits)
    assert new.replace(stamp.encode(), b"") == old


def test_numbers_and_times_are_written_in_their_shortest_plain_form(quince):
    create(quince, Visit(when=EVENING, bubbles=8, sg=1.004, litres=0.00001, temp_c=18.0))
    assert quince.read_bytes() == (
        f"{HEADER}\r\n2026-11-24T21:30:00+01:00,8,60,18,,1.004,,,0.00001,,\r\n".encode()
    )


def test_create_makes_the_folders_and_never_overwrites(tmp_path):
    path = tmp_path / "cellar" / "shelf" / "pear.csv"
    create(path, Visit(when=EVENING, bubbles=8))
    old = path.read_bytes()
    assert refusal(create, path, Visit(when=LATER)) == (
        "pear.csv: already exists; choose another name"
    )
    assert path.read_bytes() == old


@pytest.mark.parametrize(
    ("before", "added"),
    [
        (b"bubbles,when\n", b"8,2026-11-24T21:30:00+01:00\n"),
        (b"bubbles,when\r\n", b"8,2026-11-24T21:30:00+01:00\r\n"),
        (b"bubbles,when", b"\r\n8,2026-11-24T21:30:00+01:00\r\n"),
        (b"when,seconds,x,bubbles\n1,2", b"\n2026-11-24T21:30:00+01:00,60,,8\n"),
        (b"When, Bubbles\nnot a time,\xff\n", b"2026-11-24T21:30:00+01:00,8\n"),
    ],
)
def test_append_keeps_the_column_order_and_line_ends_of_the_file(quince, before, added):
    quince.write_bytes(before)
    line = append(quince, Visit(when=EVENING, bubbles=8))
    assert quince.read_bytes() == before + added
    assert line == len(before.splitlines()) + 1


def test_a_value_without_a_column_is_refused_and_nothing_is_written(quince):
    quince.write_bytes(b"when,bubbles\n")
    assert refusal(append, quince, Visit(when=EVENING, sg=1.004)) == (
        "quince.csv has no column sg; open it in a spreadsheet or text editor, "
        "add the column sg, then enter this again"
    )
    message = refusal(append, quince, Visit(when=EVENING, bubbles=1, seconds=55.0, note="slow"))
    assert message.startswith("quince.csv has no columns seconds, note; ")
    assert quince.read_bytes() == b"when,bubbles\n"


def test_a_diary_of_days_gets_the_day_of_the_visit(quince):
    quince.write_bytes(b"day,bubbles\n1,90\n")
    assert refusal(append, quince, Visit(when=EVENING, bubbles=8)).startswith(
        "quince.csv counts days; say when day 0 was"
    )
    pitched = EVENING - timedelta(days=12, hours=12)
    assert append(quince, Visit(when=EVENING, bubbles=8), pitched=pitched) == 3
    assert quince.read_bytes() == b"day,bubbles\n1,90\n12.5,8\n"
    assert read(quince, pitched=pitched).visits[-1].when == EVENING


def test_append_to_no_diary_makes_none(quince):
    assert refusal(append, quince, Visit(when=EVENING)) == (
        "quince.csv: there is no such diary; check the name"
    )
    assert not quince.exists()


@pytest.mark.parametrize("end", [b"\n", b"\r\n"])
def test_strike_adds_the_column_if_there_is_none_and_keeps_the_rest(quince, end):
    rows = [b"\xef\xbb\xbfwhen,note", b'2026-11-24T21:30,"a', b'b"', b"", b"2026-11-25T21:30, c "]
    quince.write_bytes(end.join(rows))
    quince.chmod(0o640)
    strike(quince, 5, at=NOW)
    rows[0] += b",struck"
    rows[2] += b","
    rows[4] += b",2101-01-01T00:00:00+00:00"
    assert quince.read_bytes() == end.join(rows)
    assert quince.stat().st_mode & 0o777 == 0o640
    assert list(quince.parent.iterdir()) == [quince]


def test_strike_finds_its_cell_among_quoted_and_unknown_ones(quince):
    quince.write_bytes(b',struck,"no,te",when\n,"  ","x"",",2026-11-24T21:30\n')
    strike(quince, 2, at=NOW)
    assert quince.read_bytes() == (
        b',struck,"no,te",when\n,2101-01-01T00:00:00+00:00,"x"",",2026-11-24T21:30\n'
    )


@pytest.mark.parametrize("line", [-1, 0, 1, 3, 4, 99])
def test_strike_refuses_a_line_on_which_no_row_starts(quince, line):
    quince.write_bytes(b'when,note\n2026-11-24T21:30,"a\nb"\n\n')
    old = quince.read_bytes()
    assert refusal(strike, quince, line, at=NOW) == (
        f"quince.csv:{line}: no row starts on this line; check the number"
    )
    assert quince.read_bytes() == old


def test_strike_refuses_a_row_struck_before_and_a_diary_it_cannot_read(quince):
    quince.write_bytes(b"when,struck\n2026-11-24T21:30,slip\n")
    assert refusal(strike, quince, 2, at=NOW) == (
        'quince.csv:2: was struck before ("slip"); leave it so'
    )
    quince.write_bytes(b"when,sg\n2026-11-24T21:30,1004\n")
    assert refusal(strike, quince, 2, at=NOW) == 'quince.csv:2: sg is "1004"; write 1.004'


def test_strike_through_a_link_changes_the_file_it_leads_to(quince, tmp_path):
    target = tmp_path / "cellar" / "real.csv"
    create(target, Visit(when=EVENING, bubbles=8))
    quince.symlink_to(target)
    strike(quince, 2, at=NOW)
    assert quince.is_symlink()
    assert read(target).live == ()


# --- when the disk or the moment is against us ---------------------------------------------------


def half_written(handle: int, data: bytes, write=os.write) -> int:
    return write(handle, data[: len(data) // 2])


def no_room(handle: int, data: bytes, write=os.write) -> int:
    write(handle, data[:3])
    raise OSError(errno.ENOSPC, "No space left on device")


@pytest.mark.parametrize("write", [half_written, no_room])
def test_a_full_disk_leaves_every_file_as_it_was(quince, monkeypatch, write):
    create(quince, Visit(when=EVENING, bubbles=8))
    old = quince.read_bytes()
    monkeypatch.setattr(os, "write", write)
    full = "the disk is full; nothing was changed, mend that and try again"
    assert refusal(append, quince, Visit(when=LATER)) == f"quince.csv: {full}"
    assert refusal(strike, quince, 2, at=NOW) == f"quince.csv: {full}"
    pear = quince.with_name("pear.csv")
    assert refusal(create, pear, Visit(when=EVENING)) == f"pear.csv: {full}"
    assert quince.read_bytes() == old
    assert list(quince.parent.iterdir()) == [quince]


def test_a_row_that_does_not_reach_the_disk_is_taken_back(quince, monkeypatch):
    def broken(handle):
        raise OSError(errno.EIO, "Input/output error", handle)

    create(quince, Visit(when=EVENING, bubbles=8))
    old = quince.read_bytes()
    monkeypatch.setattr(os, "fsync", broken)
    assert refusal(append, quince, Visit(when=LATER)) == (
        "quince.csv: failed (Input/output error); nothing was changed, mend that and try again"
    )
    assert quince.read_bytes() == old


def test_what_a_crash_left_beside_the_diary_does_not_stop_a_strike(quince):
    create(quince, Visit(when=EVENING, bubbles=8))
    quince.with_name(".quince.csv.new").write_bytes(b"half a ro")
    strike(quince, 2, at=NOW)
    assert read(quince).live == ()
    assert list(quince.parent.iterdir()) == [quince]


WRITER = """
import sys
from datetime import datetime, timedelta, timezone
from pathlib import Path
from bubblerate.diary import Visit, append, strike

path, me = Path(sys.argv[1]), int(sys.argv[2])
start = datetime(2026, 11, 24, tzinfo=timezone.utc)
sys.stdin.readline()  # all start together
for n in range(10):
    if me:
        append(path, Visit(when=start + timedelta(minutes=100 * me + n), bubbles=100 * me + n))
    else:
        strike(path, n + 2, at=start)
"""


def test_twenty_processes_appending_and_one_striking_lose_nothing(quince):
    create(quince, Visit(when=EVENING - timedelta(days=9)))
    for n in range(9):
        append(quince, Visit(when=EVENING - timedelta(days=8 - n)))
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, str(quince), str(me)],
            stdin=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for me in range(21)
    ]
    for writer in writers:
        writer.stdin.write("go\n")
        writer.stdin.flush()
    assert [writer.communicate(timeout=60)[1] for writer in writers] == [""] * 21
    visits = read(quince).visits
    counts = sorted(visit.bubbles for visit in visits if visit.bubbles is not None)
    assert counts == [100 * me + n for me in range(1, 21) for n in range(10)]
    assert sorted(visit.line for visit in visits if visit.struck) == list(range(2, 12))
    assert len(quince.read_bytes().splitlines()) == 211


def test_writing_a_count_loads_no_heavy_module():
    code = "import sys, bubblerate.diary, bubblerate.config; print(*sys.modules)"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    heavy = {"numpy", "scipy", "pandas", "matplotlib", "typer", "tomllib", "difflib", "decimal"}
    assert not heavy & set(out.stdout.split())
