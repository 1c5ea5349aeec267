"""Nothing that was acknowledged is lost; `tests/bench/diary/durability.py` tries each moment.

Here each twentieth is tried. What no lock can keep out is found out and said instead.
"""

import csv
import errno
import io
import json
import os
import stat
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from bubblerate.diary.folder import copies
from bubblerate.diary.reading import read
from bubblerate.diary.striking import strike
from bubblerate.diary.visit import BASE_COLUMNS, Visit
from bubblerate.diary.writing import append, create, extend
from bubblerate.errors import DiaryError

ROOT = Path(__file__).parent.parent.parent
EVENING = datetime(2026, 11, 24, 21, 30, tzinfo=UTC)
LATER = Visit(when=EVENING + timedelta(days=1), bubbles=7)
OLD = b"when,bubbles,note\n2026-11-24T21:30:00+00:00,8,\n"
THEIRS = b"2026-11-24T22:00:00+00:00,9,"

SCENES = (
    *(f"kill-{command}" for command in ("append", "short", "import", "strike", "create")),
    *(f"power-{command}" for command in ("append", "import", "strike", "create")),
    *("limit", "small-disk", "read-only", "two", "twenty", "strikes", "imports"),
)
MINGLED = (  # acts over two diaries, and what phones send
    *(f"{what}-{act}" for what in ("kill", "power", "refused") for act in ("top-up", "tally-post")),
    *("no-lock-split", "no-lock-rows-post", "clock-back-mingled"),
)


@pytest.fixture
def quince(tmp_path: Path) -> Path:
    path = tmp_path / "quince.csv"
    path.write_bytes(OLD)
    return path


@pytest.fixture(scope="module")
def played() -> dict[str, dict[str, object]]:
    """All scenes, played in one clean process: they fork."""
    done = subprocess.run(
        [
            sys.executable,
            "tests/bench/diary/durability.py",
            "--json",
            "--step",
            "20",
            *SCENES,
            *MINGLED,
        ],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    counts = [json.loads(line) for line in done.stdout.splitlines()]
    return {count["name"]: count for count in counts}


@pytest.mark.skipif(not hasattr(os, "fork"), reason="the scenes are played by forked processes")
@pytest.mark.parametrize("scene", SCENES)
def test_nothing_acknowledged_is_lost_and_nothing_else_is_read(played, scene):
    count = played[scene]
    if count["trials"] == 0:
        pytest.skip(f"{count['scene']}: {count['said']}")
    assert count["acknowledged"] >= 3
    assert (count["lost"], count["misread"]) == (0, 0), count
    if scene != "power-append":  # a row cut short before anybody was told of it
        assert count["faulty"] == 0, count


@pytest.mark.skipif(not hasattr(os, "fork"), reason="the scenes are played by forked processes")
@pytest.mark.parametrize("scene", MINGLED)
def test_an_act_over_two_diaries_is_in_both_or_in_none_and_a_form_that_is_sent_again_once(
    played, scene
):
    count = played[scene]
    if count["trials"] == 0:
        pytest.skip(f"{count['scene']}: {count['said']}")
    assert count["trials"] >= 3
    assert (count["lost"], count["misread"], count["faulty"]) == (0, 0, 0), count


def refusal(act, *args, **options) -> str:
    with pytest.raises(DiaryError) as caught:
        act(*args, **options)
    return str(caught.value)


# --- a last row cut short ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("left", "fault"),
    [
        (b"2026-11-24", "3: number of cells is 1, not 3; complete the row, or delete it if it"),
        (b"2026-11-24T22:00,1", "3: number of cells is 2, not 3; complete the row, or delete it"),
        (b"2026-11-24T22:00,12,\0\0\0", "3: has a NUL byte; delete or retype this line"),
        (b'2026-11-24T22:00,12,"sun', "3: a quote is left open; close it with another"),
        (b'2026-11-24T22:00,12,"sun\n', "3: a quote is left open; close it with another"),
    ],
)
def test_a_row_cut_short_is_named_and_the_next_one_stands_on_its_own(quince, left, fault):
    quince.write_bytes(OLD + left)
    assert refusal(read, quince).startswith(f"quince.csv:{fault}")
    line = append(quince, LATER)
    lines = quince.read_bytes().splitlines()
    assert lines[line - 1 :] == [b"2026-11-25T21:30:00+00:00,7,"]
    assert quince.read_bytes().startswith(OLD + left)
    rows = [*csv.reader(io.StringIO(quince.read_text(), newline=""))]
    assert rows[-1] == ["2026-11-25T21:30:00+00:00", "7", ""]
    quince.write_bytes(b"\n".join([*lines[:2], *lines[line - 1 :]]))
    assert [visit.bubbles for visit in read(quince).visits] == [8, 7]


def test_a_row_that_ends_in_a_number_is_never_on_the_disk_in_part(tmp_path, monkeypatch):
    path = tmp_path / "quince.csv"
    path.write_bytes(b"when,bubbles\n")
    seen = set()

    def watched(handle: int, data: bytes, write=os.write) -> int:
        write(handle, data[:-2])
        seen.add(path.read_bytes())
        return write(handle, data[-2:]) + len(data) - 2

    monkeypatch.setattr(os, "write", watched)
    append(path, Visit(when=EVENING, bubbles=12))
    assert seen == {b"when,bubbles\n"}
    assert path.read_bytes() == b"when,bubbles\n2026-11-24T21:30:00+00:00,12\n"


# --- another program at the same moment ----------------------------------------------------------


def saving(path: Path, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another program saves a row of its own just before the next call of that name."""
    real = getattr(os, name)

    def call(*args, **options):
        monkeypatch.setattr(os, name, real)
        theirs = path.with_name("theirs")
        theirs.write_bytes(path.read_bytes() + THEIRS)
        theirs.replace(path)
        return real(*args, **options)

    monkeypatch.setattr(os, name, call)


NOT_WRITTEN = (
    "quince.csv: was changed by another program just now; nothing was written, so check it and "
    "try again"
)


@pytest.mark.parametrize(
    ("act", "call", "message"),
    [
        (lambda path: append(path, Visit(when=EVENING, note="x")), "fsync", NOT_WRITTEN),
        (lambda path: strike(path, 2, at=EVENING), "fsync", NOT_WRITTEN),
        (lambda path: extend(path, [LATER], held=read(path).visits), "fsync", NOT_WRITTEN),
        (
            lambda path: append(path, LATER),
            "write",
            "quince.csv: was changed by another program at the same moment; check whether this "
            "row is there, and if not enter it again",
        ),
    ],
)
def test_the_save_of_another_program_is_kept_and_said(quince, monkeypatch, act, call, message):
    saving(quince, call, monkeypatch)
    assert refusal(act, quince) == message
    assert quince.read_bytes() == OLD + THEIRS
    assert not quince.with_name(".quince.csv.new").exists()


def test_rows_chosen_from_what_a_diary_no_longer_holds_are_not_added(quince):
    held = read(quince).visits
    append(quince, LATER)  # another hand, while the question was open
    old = quince.read_bytes()
    assert refusal(extend, quince, [LATER], held=held) == (
        "quince.csv: rows were written by another program just now; nothing was added, so check "
        "it and try again"
    )
    assert quince.read_bytes() == old


def test_a_disk_that_does_not_confirm_a_new_name_is_no_reason_to_enter_it_twice(
    tmp_path, monkeypatch
):
    def failing(handle: int, real=os.fsync) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(number, os.strerror(number))
        real(handle)

    monkeypatch.setattr(os, "fsync", failing)
    number = errno.EIO
    assert refusal(create, tmp_path / "fig.csv", LATER) == (
        "fig.csv: is written, but the disk did not confirm it (Input/output error); "
        "check it before you enter this again"
    )
    assert len(read(tmp_path / "fig.csv").visits) == 1
    number = errno.EINVAL  # fsync(2): what the descriptor stands for cannot be synchronized
    create(tmp_path / "pear.csv", LATER)


def test_half_a_row_that_cannot_be_taken_back_is_said(quince, monkeypatch):
    def failing(*_):
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(os, "fsync", failing)
    monkeypatch.setattr(os, "ftruncate", failing)
    assert refusal(append, quince, LATER) == (
        "quince.csv: failed halfway (Input/output error); check its last line, then try again"
    )


def test_a_diary_open_in_another_program_is_written_and_its_maker_warned(quince, run):
    quince.with_name(".~lock.quince.csv#").touch()
    said = run("tally", str(quince), "7", "--when", "2026-11-25T21:30")
    assert said.code == 0
    assert (
        "bubblerate: written, but quince.csv is open in another program; reload it there before "
        "you save, or saving there will undo this\n"
    ) in said.err
    assert len(read(quince).visits) == 2
    assert "is open in another program" in run("strike", str(quince), "3").err


# --- a synced folder -----------------------------------------------------------------------------

COPIES = (
    "quince (conflicted copy).csv",
    "quince.sync-conflict-20261101-210000.csv",
    "quince 2.csv",
)


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    path = tmp_path / "quince.csv"
    for n in range(3):
        visit = Visit(when=EVENING + timedelta(days=n), bubbles=9 - n)
        append(path, visit) if n else create(path, visit)
    return tmp_path


@pytest.mark.parametrize("name", COPIES)
def test_the_copy_of_a_diary_is_named_and_what_only_it_holds_can_be_taken_over(shelf, run, name):
    copy, quince = shelf / name, shelf / "quince.csv"
    copy.write_bytes(quince.read_bytes())
    append(copy, Visit(when=EVENING + timedelta(days=8), bubbles=1))
    append(quince, Visit(when=EVENING + timedelta(days=9), bubbles=0))
    said = run("shelf", "--shelf", str(shelf))
    line = (
        f"bubblerate: {copy.name} begins with the rows of quince.csv, like the copy that a synced "
        "folder makes; rename it, or import what only it holds and delete it: "
        "bubblerate import "
    )
    assert line in said.err
    assert line in run("verdict", str(quince)).err
    assert run("import", str(copy), "--into", str(quince), "--yes").code == 0
    assert [visit.bubbles for visit in read(quince).visits] == [9, 8, 7, 1, 0]


def test_jars_pitched_together_are_no_copies_of_each_other(shelf):
    header = ",".join(BASE_COLUMNS)
    pitched = "2026-10-01T21:00:00+00:00,,,,,1.084,,pitched,4.5,,"
    for name, bubbles in (("plum", 40), ("plum 2", 50), ("plums", 40)):
        row = f"2026-10-02T21:00:00+00:00,{bubbles},60,,,,,,,,"
        (shelf / f"{name}.csv").write_text(f"{header}\r\n{pitched}\r\n{row}\r\n")
    (shelf / "quince 3.csv").write_text("not a diary")
    assert copies(shelf) == {}


# --- what lies in the way ------------------------------------------------------------------------


def test_a_folder_in_the_way_of_a_rewrite_is_called_what_it_is(quince):
    (quince.parent / ".quince.csv.new").mkdir()
    acts = [
        lambda: strike(quince, 2, at=EVENING),
        lambda: append(quince, replace(LATER, note="kept")),
        lambda: extend(quince, [LATER], held=read(quince).visits),
    ]
    for act in acts:
        said = refusal(act)
        assert said.startswith("quince.csv: the folder .quince.csv.new next to it is in the way")
        assert quince.read_bytes() == OLD


# --- a lock that another program holds -----------------------------------------------------------


class Hours:
    """A clock that sleeping moves on, and nothing else; at some moment it may do a thing."""

    def __init__(self, at_s=float("inf"), do=None):
        self.now_s, self.at_s, self.do = 0.0, at_s, do

    def monotonic(self):
        return self.now_s

    def sleep(self, seconds):
        self.now_s += seconds
        if self.now_s >= self.at_s and self.do is not None:
            do, self.do = self.do, None
            do()


@pytest.fixture
def holder(quince):
    fcntl = pytest.importorskip("fcntl")
    handle = os.open(quince.parent, os.O_RDONLY)
    fcntl.flock(handle, fcntl.LOCK_EX)
    yield lambda: fcntl.flock(handle, fcntl.LOCK_UN)
    os.close(handle)


def test_a_held_lock_is_told_after_two_seconds_and_given_up_after_thirty(
    quince, holder, monkeypatch, capsys
):
    acts = [
        lambda: append(quince, LATER),
        lambda: strike(quince, 2, at=EVENING),
        lambda: extend(quince, [LATER], held=read(quince).visits),
        lambda: create(quince.with_name("new.csv"), LATER),
    ]
    for act in acts:
        clock = Hours()
        monkeypatch.setattr("bubblerate.diary.locking.time", clock)
        said = refusal(act)
        assert "csv: another program has been using" in said
        assert said.endswith(
            "for 30 s; nothing was written, close that program and enter this again"
        )
        assert 30.0 <= clock.now_s < 30.1
        err = capsys.readouterr().err
        assert err.count("\n") == 1
        assert "waiting, as another program is writing in" in err
    assert quince.read_bytes() == OLD
    assert [path.name for path in quince.parent.iterdir()] == ["quince.csv"]


@pytest.mark.parametrize(("freed_s", "lines"), [(1.9, 0), (2.1, 1), (29.0, 1)])
def test_a_lock_that_is_freed_in_time_costs_nothing(
    quince, holder, monkeypatch, capsys, freed_s, lines
):
    monkeypatch.setattr("bubblerate.diary.locking.time", Hours(freed_s, holder))
    append(quince, LATER)
    assert len(read(quince).visits) == 2
    assert capsys.readouterr().err.count("\n") == lines
