import errno
import os
import subprocess
import sys
import tempfile
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bubblerate.diary.bottles import Closure
from bubblerate.diary.csv_rows import rows
from bubblerate.diary.events import EVENTS
from bubblerate.diary.reading import read
from bubblerate.diary.striking import strike
from bubblerate.diary.visit import BASE_COLUMNS, Visit
from bubblerate.diary.writing import append, create, extend

from scenes import refusal

EVENING = datetime(2026, 11, 24, 21, 30, tzinfo=timezone(timedelta(hours=1)))
LATER = EVENING + timedelta(days=1)
NOW = datetime(2101, 1, 1, tzinfo=UTC)
HEADER = ",".join(BASE_COLUMNS)
OFFSETS = st.integers(-14 * 60, 14 * 60).map(lambda m: timezone(timedelta(minutes=m)))
TIMES = st.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1), timezones=OFFSETS).map(
    lambda when: when.replace(microsecond=0)
)
NOTES = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=40)
VISITS = st.builds(
    Visit,
    when=TIMES,
    bubbles=st.none() | st.integers(0, 10**6),
    seconds=st.none() | st.floats(1.0, 86_400.0),
    temp_c=st.none() | st.floats(-10, 50),
    pressure_hpa=st.none() | st.floats(800, 1100),
    sg=st.none() | st.floats(0.7, 1.3),
    sample_c=st.none() | st.floats(0, 40),
    event=st.none() | st.sampled_from(EVENTS),
    litres=st.none() | st.floats(0.05, 10_000),
    note=NOTES | st.text(' ,"\r\nx', max_size=8),
    struck=st.just("") | TIMES.map(datetime.isoformat),
)


def unlined(visits) -> list[Visit]:
    return [replace(visit, line=0) for visit in visits]


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
@given(visits=st.lists(VISITS, min_size=1, max_size=4))
def test_what_is_written_with_semicolons_is_read_back_too(visits):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "pear.csv")
        path.write_text("\ufeff" + ";".join(BASE_COLUMNS) + "\n", encoding="utf-8")
        for visit in visits:
            old = path.read_bytes()
            append(path, visit)
            assert path.read_bytes().startswith(old)
        found = read(path).visits
    assert unlined(found) == sorted(visits, key=lambda visit: visit.when)


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


def test_the_longest_note_a_visit_may_hold_is_read_back(quince):
    visit = Visit(when=EVENING, note="\N{PEAR}" * 131_072)
    create(quince, visit)
    assert unlined(read(quince).visits) == [visit]


def test_numbers_and_times_are_written_in_their_shortest_plain_form(quince):
    create(quince, Visit(when=EVENING, bubbles=8, sg=1.004, litres=0.1, temp_c=18.0))
    assert quince.read_bytes() == (
        f"{HEADER}\r\n2026-11-24T21:30:00+01:00,8,60,18,,1.004,,,0.1,,\r\n".encode()
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
        "add what is missing, then enter this again"
    )
    message = refusal(append, quince, Visit(when=EVENING, bubbles=1, seconds=55.0, note="slow"))
    assert message.startswith("quince.csv has no columns seconds and note; ")
    assert quince.read_bytes() == b"when,bubbles\n"


LATER_COLUMNS = st.fixed_dictionaries(
    {},
    optional={
        "added_l": st.floats(0.001, 10_000),
        "sugar_g": st.floats(0.1, 1e6),
        "bottles": st.sampled_from(("6x75", "5x75+1x37.5")),
        "closure": st.sampled_from(Closure),
        "other": st.sampled_from(("plum", "=2", "pear, old")),
        "sulphite_g": st.floats(0.01, 1e4),
        "sorbate_g": st.floats(0.01, 1e4),
        "finings_amount": st.sampled_from(("2.5ml", "5g")),
    },
)


@settings(max_examples=100, deadline=None)
@given(visits=st.lists(VISITS, min_size=1, max_size=4), later=st.lists(LATER_COLUMNS, max_size=4))
def test_a_later_column_comes_when_it_is_needed_and_every_other_byte_stays(visits, later):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "pear.csv")
        create(path, visits[0])
        for visit in visits[1:]:
            append(path, visit)
        before, old = read(path).visits, path.read_bytes()
        added = [Visit(when=EVENING + timedelta(days=n), **row) for n, row in enumerate(later)]
        lines = [append(path, visit) for visit in added]
        found, new = read(path).visits, path.read_bytes()
    needed = {name for row in later for name in row}
    assert [*map(unlined, [found])] == [sorted([*unlined(before), *added], key=lambda v: v.when)]
    assert [v.line for v in sorted(found, key=lambda v: v.line)][len(before) :] == lines
    head = new.splitlines()[0].decode().split(",")
    assert (head[:11], {*head[11:]}) == ([*BASE_COLUMNS], needed)
    assert len(head) == 11 + len(needed)
    kept = b"".join(new.splitlines(keepends=True)[: len(old.splitlines())])
    ends = [row.last for row in rows(path, old)]
    for n, (was, now) in enumerate(
        zip(old.splitlines(keepends=True), kept.splitlines(keepends=True), strict=True), start=1
    ):
        more = "".join(f",{name}" for name in head[11:]) if n == 1 else "," * len(needed)
        body = was.rstrip(b"\r\n") if n in ends else was
        assert now == (body + more.encode() + was[len(body) :] if n in ends else was)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (b"when,x\n2026-11-20,1\n", b"when,x,other\n2026-11-20,1,\n"),
        (b"\xef\xbb\xbfwhen,x\r\n\r\n", b"\xef\xbb\xbfwhen,x,other\r\n\r\n"),
        (b'when,x\n2026-11-20,"a\n\nb"', b'when,x,other\n2026-11-20,"a\n\nb",\n'),
        (b'when,x\n2026-11-20,"cut', b'when,x,other\n2026-11-20,"cut",\n'),
        (b"when,event,x\n2026-1", b"when,event,x,other\n2026-1,\n"),
        (b"when,other\n2026-11-20,fig\n", b"when,other\n2026-11-20,fig\n"),
    ],
)
def test_old_rows_get_a_blank_cell_and_keep_their_line_ends(quince, before, after):
    quince.write_bytes(before)
    quince.chmod(0o640)
    append(quince, Visit(when=EVENING, other="plum"))
    end = b"\r\n" if b"\r\n" in before else b"\n"
    blanks = b"," * after.splitlines()[0].count(b",")
    row = b"2026-11-24T21:30:00+01:00" + blanks + b"plum" + end
    assert quince.read_bytes() == after + row
    assert quince.stat().st_mode & 0o777 == 0o640
    assert [*quince.parent.iterdir()] == [quince]


def test_a_column_is_not_added_to_a_diary_that_cannot_be_read_and_nothing_changes(quince):
    quince.write_bytes(b'when,x\n2026-11-20,"a" b\n2026-11-21,1\n')
    old = quince.read_bytes()
    assert refusal(append, quince, Visit(when=EVENING, sugar_g=200.0)).startswith("quince.csv:2: ")
    assert quince.read_bytes() == old
    append(quince, Visit(when=EVENING))  # while a plain row needs only the header
    assert quince.read_bytes().startswith(old)


def test_many_rows_bring_their_columns_along(quince):
    create(quince, Visit(when=EVENING, bubbles=8))
    held = read(quince).visits
    extend(quince, [Visit(when=LATER, sugar_g=200.0), Visit(when=LATER, added_l=0.3)], held=held)
    assert quince.read_bytes().splitlines()[0].decode() == f"{HEADER},added_l,sugar_g"
    assert [(v.added_l, v.sugar_g) for v in read(quince).visits] == [
        (None, None),
        (None, 200.0),
        (0.3, None),
    ]


def test_a_diary_may_begin_with_a_later_column_and_a_row_in_it_be_struck(quince):
    create(quince, Visit(when=EVENING, event="split", other="plum", litres=4.5))
    assert quince.read_bytes().splitlines()[0].decode() == f"{HEADER},other"
    assert strike(quince, 2, at=NOW).other == "plum"
    assert read(quince).live == ()


STOPPED = """
import os, sys
from datetime import datetime, timezone
from bubblerate.diary.visit import Visit
from bubblerate.diary.writing import append

def half(handle, data):
    os_write(handle, data[: len(data) // 2])
    os.kill(os.getpid(), 9)  # the machine stops here

os_write, os.write = os.write, half
append(sys.argv[1], Visit(when=datetime(2026, 11, 25, tzinfo=timezone.utc), sugar_g=200.0))
"""


def test_a_stop_while_a_column_is_added_leaves_the_diary_as_it_was(quince):
    create(quince, Visit(when=EVENING, bubbles=8))
    old = quince.read_bytes()
    done = subprocess.run([sys.executable, "-c", STOPPED, str(quince)], capture_output=True)
    assert (done.returncode, quince.read_bytes()) == (-9, old)
    append(quince, Visit(when=LATER, sugar_g=200.0))  # what was left is no hindrance
    assert [visit.sugar_g for visit in read(quince).visits] == [None, 200.0]
    assert [*quince.parent.iterdir()] == [quince]


def test_a_diary_of_days_gets_the_day_of_the_visit(quince):
    quince.write_bytes(b"day,bubbles\n1,90\n")
    assert refusal(append, quince, Visit(when=EVENING, bubbles=8)).startswith(
        "quince.csv counts days; say when day 0 was"
    )
    pitched = EVENING - timedelta(days=12, hours=12)
    assert append(quince, Visit(when=EVENING, bubbles=8), pitched=pitched) == 3
    assert quince.read_bytes() == b"day,bubbles\n1,90\n12.5,8\n"
    assert read(quince, pitched=pitched).visits[-1].when == EVENING


@settings(max_examples=25, deadline=None)
@given(visits=st.lists(VISITS, min_size=2, max_size=5), held=st.booleans())
def test_many_rows_at_once_are_the_bytes_of_as_many_appends(visits, held):
    with tempfile.TemporaryDirectory() as folder:
        path, other = Path(folder, "shelf", "pear.csv"), Path(folder, "fig.csv")
        create(other, visits[0])
        for visit in visits[1:]:
            append(other, visit)
        if held:
            create(path, visits[0])
        first = extend(path, visits[held:], held=read(path).visits if held else ())
        assert path.read_bytes() == other.read_bytes()
        lines = sorted(visit.line for visit in read(path).visits)
        assert lines[held:][:1] == [first]
        assert [*path.parent.iterdir()] == [path]


def test_many_rows_take_the_columns_line_ends_and_mode_of_the_diary(quince):
    quince.write_bytes(b"bubbles,when\n9,2026-11-23T21:30:00+01:00")
    quince.chmod(0o640)
    rows = [Visit(when=EVENING, bubbles=8), Visit(when=LATER, bubbles=7)]
    extend(quince, rows, held=read(quince).visits)
    assert quince.read_bytes() == (
        b"bubbles,when\n9,2026-11-23T21:30:00+01:00\n"
        b"8,2026-11-24T21:30:00+01:00\n7,2026-11-25T21:30:00+01:00\n"
    )
    assert quince.stat().st_mode & 0o777 == 0o640


def test_of_many_rows_none_is_written_if_one_does_not_fit(quince):
    quince.write_bytes(b"when,bubbles\n")
    rows = [Visit(when=EVENING, bubbles=8), Visit(when=LATER, sg=1.004)]
    assert refusal(extend, quince, rows).startswith("quince.csv has no column sg;")
    assert quince.read_bytes() == b"when,bubbles\n"
    assert [*quince.parent.iterdir()] == [quince]


HALF_WAY = """
import os, sys
from datetime import datetime, timedelta, timezone
from bubblerate.diary.reading import read
from bubblerate.diary.visit import Visit
from bubblerate.diary.writing import extend

def half(handle, data):
    written = os_write(handle, data[: len(data) // 2])
    os.kill(os.getpid(), 9)  # the machine stops here
    return written

os_write, os.write = os.write, half
start = datetime(2026, 11, 24, tzinfo=timezone.utc)
held = read(sys.argv[1]).visits if os.path.exists(sys.argv[1]) else ()
rows = [Visit(when=start + timedelta(days=n), bubbles=n) for n in range(50)]
extend(sys.argv[1], rows, held=held)
"""


@pytest.mark.parametrize("held", [True, False])
def test_a_stop_half_way_leaves_no_half_of_many_rows(quince, held):
    if held:
        create(quince, Visit(when=EVENING, bubbles=8))
    before = quince.read_bytes() if held else None
    done = subprocess.run([sys.executable, "-c", HALF_WAY, str(quince)], capture_output=True)
    assert done.returncode == -9
    assert (quince.read_bytes() if quince.exists() else None) == before
    there = read(quince).visits if held else ()
    extend(quince, [Visit(when=LATER, bubbles=7)], held=there)  # what was left is no hindrance
    assert [visit.bubbles for visit in read(quince).visits] == [8, 7][not held :]
    assert [*quince.parent.iterdir()] == [quince]


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
        'quince.csv:2: was already struck ("slip"); nothing to do'
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
    full = "the disk is full; nothing was changed; fix that and try again"
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
        "quince.csv: failed (Input/output error); nothing was changed; fix that and try again"
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
from bubblerate.diary.visit import Visit
from bubblerate.diary.striking import strike
from bubblerate.diary.writing import append

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
    said = [writer.communicate(timeout=600)[1].splitlines() for writer in writers]
    # on a busy machine one may wait for the others, which it says
    assert [line for lines in said for line in lines if "waiting, as another" not in line] == []
    assert [writer.returncode for writer in writers] == [0] * 21
    visits = read(quince).visits
    counts = sorted(visit.bubbles for visit in visits if visit.bubbles is not None)
    assert counts == [100 * me + n for me in range(1, 21) for n in range(10)]
    assert sorted(visit.line for visit in visits if visit.struck) == list(range(2, 12))
    assert len(quince.read_bytes().splitlines()) == 211


def test_writing_a_count_loads_no_heavy_module():
    code = "import sys, bubblerate.diary.writing, bubblerate.diary.settings; print(*sys.modules)"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    heavy = {"numpy", "scipy", "pandas", "matplotlib", "typer", "tomllib", "difflib", "decimal"}
    assert not heavy & set(out.stdout.split())
