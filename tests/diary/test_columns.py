"""What is read column by column is what the reader of rows reads, faults and all."""

import csv
import gc
import io
from datetime import UTC, datetime, timedelta
from itertools import islice
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from bubblerate.diary import reading
from bubblerate.diary.columns import in_columns, visits_of
from bubblerate.diary.csv_rows import column_names, rows
from bubblerate.diary.dialect import Dialect, dialect
from bubblerate.diary.reading import of_rows, parse
from bubblerate.diary.visit import COLUMNS, Visit
from bubblerate.errors import DiaryError

PATH, NOW = Path("jar.csv"), datetime(2026, 12, 1, tzinfo=UTC)

MOMENTS = st.one_of(
    st.datetimes(datetime(2020, 1, 1), datetime(2030, 1, 1)).map(
        lambda t: t.replace(microsecond=0, tzinfo=UTC).isoformat()
    ),
    st.sampled_from(
        (
            "2026-11-24T21:00:00-05:30",
            "2026-11-24T21:00+01:00",
            "2026-11-24 21:00:00Z",
            "2026-11-24",
            " 2026-11-24T21:00 ",
            "",
            "2026-02-30T21:00:00+00:00",
            "2026-W48-2T21:00:00+00:00",
            "2026-11-24T21:00:00+99:00",
            "20261124T210000",
            "24.11.2026",
            "0000-01-01T00:00:00+00:00",
        )
    ),
)
NUMBERS = st.one_of(
    st.integers(0, 60).map(str),
    st.decimals(0, 40, places=1).map(str),
    st.sampled_from(
        ("", " ", "1.004", "1,004", "1.5.2", "nan", "1e3", "+7", ".5", "-0", "1013", "x")
    ),
)
TEXTS = st.one_of(
    st.text(alphabet="ab ,;'\"=\n\u2028\u00e9", max_size=8),
    st.sampled_from(
        ("", "'=1+1", "=1", "clear, still", "6x75", "2.5ml", "cork", "racked", "wracked")
    ),
)
WORDS = ("event", "note", "struck", "other", "bottles", "closure", "finings_amount", "more")
CELLS = {"when": MOMENTS, "day": NUMBERS} | dict.fromkeys(WORDS, TEXTS)
NAMES = st.lists(st.sampled_from(("when", "day", "more", *COLUMNS)), unique=True, min_size=1).map(
    lambda names: names if {"when", "day"} & {*names} else ["when", *names]
)


GOOD = {
    "when": st.sampled_from(
        ("2026-11-24T21:00:00+00:00", "2026-11-23T21:00:00-05:30", "2026-11-22")
    ),
    "day": st.just(""),
    "bubbles": st.sampled_from(("", "0", "9", "12")),
    "seconds": st.sampled_from(("", "60", "300.0")),
    "sg": st.sampled_from(("", "1.004", ".998")),
    "pressure_hpa": st.sampled_from(("", "1013", "1000.5")),
    "event": st.sampled_from(("", "racked", " pitched")),
    "bottles": st.sampled_from(("", "6x75")),
    "closure": st.sampled_from(("", "cork ")),
    "finings_amount": st.sampled_from(("", "2.5ml")),
    "other": st.sampled_from(("", "fig", "'=fig ")),
    "note": st.sampled_from(("", "clear, still", "'=1", " as it was ")),
    "struck": st.sampled_from(("", " ", "2026-11-25")),
    "more": st.just("kept"),
}
GOOD |= {name: st.sampled_from(("", "1", "12.5", "7")) for name in {*COLUMNS} - GOOD.keys()}


@st.composite
def files(draw):
    """Bytes of a diary: half of them good, the rest with odd cells, rows or ends."""
    names, good = draw(NAMES), draw(st.booleans())
    cells = [GOOD[name] if good else GOOD[name] | CELLS.get(name, NUMBERS) for name in names]
    table = draw(st.lists(st.tuples(*cells), max_size=5))
    mark = draw(st.sampled_from(",,,;"))
    out = io.StringIO()
    end = draw(st.sampled_from(("\n", "\r\n")))
    csv.writer(out, delimiter=mark, lineterminator=end).writerows([names, *table])
    tails = ("",) if good else ("", "", "", "\n", mark + "\n", '"', "\0", "a")
    text = out.getvalue() + draw(st.sampled_from(tails))
    return text.encode("utf-8-sig" if draw(st.booleans()) else "utf-8")


def outcome(read):
    try:
        return read()
    except DiaryError as err:
        return str(err)


def by_rows(data):
    names = column_names(PATH, data)
    body = islice(rows(PATH, data), 1, None)
    return of_rows(PATH, PATH.stem, names, body, pitched=None, now=NOW, form=dialect(data))


@given(files())
@settings(max_examples=200, deadline=None)
@example(b"when,bubbles\n2026-11-24T21:00:00+00:00,9\n2026-11-23T21:00:00+00:00,8\n")
@example(b"when,bubbles,seconds\n2026-11-24T21:00:00+00:00,9,\n2026-11-24T22:00:00+00:00,,\n")
@example(b'when,note\n2026-11-24T21:00:00+00:00,"a\nb"\n2026-11-24T21:00:00+00:00,"c, d"\n')
@example(b"when;sg\n2026-11-24T21:00:00+00:00;1,004\n")
def test_a_file_gives_the_same_diary_or_the_same_fault(data):
    found, wanted = (
        outcome(lambda: parse(PATH, data, pitched=None, now=NOW)),
        outcome(lambda: by_rows(data)),
    )
    assert found == wanted
    if not isinstance(found, str):
        kinds = [[type(getattr(v, name)) for name in COLUMNS] for v in found.visits]
        assert kinds == [[type(getattr(v, name)) for name in COLUMNS] for v in wanted.visits]
        assert [v.when.utcoffset() for v in found.visits] == [
            v.when.utcoffset() for v in wanted.visits
        ]
        assert [v.line for v in found.visits] == [v.line for v in wanted.visits]


def counter(n):
    """The log of a machine, a count a minute."""
    start = datetime(2026, 9, 1, tzinfo=UTC)
    lines = (
        f"{(start + timedelta(minutes=i)).isoformat()},{i % 30},60,{18 + i % 20 / 10:.1f},,note\n"
        for i in range(n)
    )
    return ("when,bubbles,seconds,temp_c,event,note\n" + "".join(lines)).encode()


def test_ten_weeks_of_a_machine_are_read_without_looking_at_a_row(monkeypatch):
    monkeypatch.setattr(reading, "rows", lambda *_: pytest.fail("read row by row"))
    data = counter(10 * 7 * 24 * 60)
    found = parse(PATH, data, pitched=None, now=NOW)
    assert len(found.visits) == 100_800
    first, last = found.visits[0], found.visits[-1]
    assert first == Visit(
        when=datetime(2026, 9, 1, tzinfo=UTC),
        bubbles=0,
        seconds=60.0,
        temp_c=18.0,
        note="note",
        line=2,
    )
    assert (last.line, last.bubbles) == (100_801, 100_799 % 30)


@pytest.mark.parametrize(
    "odd",
    [
        "2026-11-24T21:00:00+00:00,9\n",  # a cell too few
        "2026-11-24T21:00:00+00:00,9,,,,,\n",
        '2026-11-24T21:00:00+00:00,9,60,,,"a\nb"\n',
        "\n",
    ],
)
def test_a_table_with_an_odd_row_is_left_to_the_reader_of_rows(odd):
    assert in_columns(counter(3), 6, Dialect()) is not None
    assert in_columns(counter(3) + odd.encode(), 6, Dialect()) is None


def test_half_a_pair_of_surrogates_is_left_to_the_reader_of_rows():
    names, moment = ("when", "note"), "2026-11-24T21:00:00+00:00"
    assert visits_of(names, ([moment], ["\ud800"]), [2], Dialect()) is None
    assert visits_of(names, ([moment], ["fine"]), [2], Dialect()) is not None


def test_the_collector_of_garbage_is_left_as_it_was():
    in_columns(counter(3), 6, Dialect())
    assert gc.isenabled()
    gc.disable()
    try:
        in_columns(counter(3), 6, Dialect())
        assert not gc.isenabled()
    finally:
        gc.enable()
