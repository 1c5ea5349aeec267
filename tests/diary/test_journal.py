"""An act over several files: cut short at any moment, it is found and finished."""

import subprocess
import sys

import pytest

from bubblerate.diary.journal import JOURNAL, Change, mend, put_all, turn
from bubblerate.errors import DiaryError

OLD, NEW = b"when\r\n1\r\n", b"when\r\n1\r\n2\r\n"
CHANGES = [Change("fig.csv", OLD, NEW), Change("pear.csv", OLD, NEW), Change("new.csv", None, NEW)]
KILLED = """
import os, sys
from pathlib import Path
from bubblerate.diary import journal
folder, left = Path(sys.argv[1]), int(sys.argv[2])
put = journal.put
def dying(*args, **more):
    global left
    if left == 0:
        os._exit(9)
    left -= 1
    put(*args, **more)
journal.put = dying
old, new = b"when\\r\\n1\\r\\n", b"when\\r\\n1\\r\\n2\\r\\n"
with journal.turn(folder / "fig.csv") as handle:
    journal.put_all(folder, [
        journal.Change("fig.csv", old, new),
        journal.Change("pear.csv", old, new),
        journal.Change("new.csv", None, new),
    ], handle)
    os._exit(9)
"""


@pytest.fixture
def folder(tmp_path):
    for name in ("fig.csv", "pear.csv"):
        (tmp_path / name).write_bytes(OLD)
    return tmp_path


def held(folder):
    return [(folder / c.name).read_bytes() if (folder / c.name).exists() else None for c in CHANGES]


@pytest.mark.parametrize("puts", range(5))
def test_killed_at_any_moment_all_files_have_it_or_none(folder, puts):
    done = subprocess.run([sys.executable, "-c", KILLED, str(folder), str(puts)], check=False)
    assert done.returncode == 9
    mend(folder)
    assert held(folder) == ([OLD, OLD, None] if puts == 0 else [NEW, NEW, NEW])
    assert {path.name for path in folder.iterdir()} <= {"fig.csv", "pear.csv", "new.csv"}


def test_whoever_writes_next_finishes_it_first_and_says_so(folder, capsys):
    subprocess.run([sys.executable, "-c", KILLED, str(folder), "2"], check=False)
    with turn(folder / "fig.csv"):
        assert held(folder) == [NEW, NEW, NEW]
    assert "an interrupted write to several jars has been completed" in capsys.readouterr().err


def test_rows_that_another_program_added_meanwhile_are_kept(folder):
    subprocess.run([sys.executable, "-c", KILLED, str(folder), "2"], check=False)
    (folder / "pear.csv").write_bytes(OLD + b"by hand\r\n")
    mend(folder)
    assert (folder / "pear.csv").read_bytes() == OLD + b"by hand\r\n2\r\n"


def test_what_cannot_be_finished_is_named_and_kept_aside(folder):
    subprocess.run([sys.executable, "-c", KILLED, str(folder), "2"], check=False)
    (folder / "pear.csv").write_bytes(b"other columns\r\n1\r\n")
    with pytest.raises(DiaryError, match=r"^pear\.csv: .* enter what is missing"):
        mend(folder)
    assert (folder / "pear.csv").read_bytes() == b"other columns\r\n1\r\n"
    assert [path.name for path in folder.glob("*.json")] == ["bubblerate-act-not-finished.json"]
    mend(folder)  # it is said once


def test_a_file_changed_by_another_hand_stops_the_act_before_it_begins(folder):
    (folder / "fig.csv").write_bytes(OLD + b"x\r\n")
    with turn(folder / "fig.csv") as handle, pytest.raises(DiaryError, match="another program"):
        put_all(folder, CHANGES, handle)
    assert held(folder) == [OLD + b"x\r\n", OLD, None]
    assert not (folder / JOURNAL).exists()


def test_one_that_fails_half_way_says_so_and_is_finished_later(folder):
    (folder / "pear.csv").write_bytes(OLD + b"x\r\n")
    with (
        turn(folder / "fig.csv") as handle,
        pytest.raises(DiaryError, match="do not enter it again"),
    ):
        put_all(folder, CHANGES, handle)
    mend(folder)
    assert held(folder) == [NEW, OLD + b"x\r\n2\r\n", NEW]
