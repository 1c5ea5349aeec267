"""Windows and macOS, as far as they can be played here: their lock, their console, their names."""

import os
import subprocess
import sys
import types
import unicodedata
from datetime import UTC, datetime

import pytest

from bubblerate.diary import locking, safe_write
from bubblerate.diary.reading import read
from bubblerate.diary.striking import strike
from bubblerate.diary.visit import Visit
from bubblerate.diary.writing import append, create
from bubblerate.errors import DiaryError

from scenes import EXAMPLES

EVENING = datetime(2026, 11, 24, 21, tzinfo=UTC)


@pytest.fixture
def fig(tmp_path):
    path = tmp_path / "fig.csv"
    create(path, Visit(when=EVENING, bubbles=9))
    return path


class Windows:
    """The lock of the C library of Windows: a byte of a file, refused while another holds it."""

    LK_NBLCK = 2

    def __init__(self, refusals=0):
        self.refusals, self.asked = refusals, 0

    def locking(self, handle, mode, size):
        assert (mode, size) == (self.LK_NBLCK, 1)
        os.fstat(handle)  # an open file
        self.asked += 1
        if self.asked <= self.refusals:
            raise PermissionError(13, "Permission denied")


@pytest.fixture
def windows(monkeypatch):
    """A machine whose lock is refused so many times."""

    def plays(refusals=0):
        lock = Windows(refusals)
        monkeypatch.setitem(sys.modules, "msvcrt", lock)
        for module in (locking, safe_write):
            monkeypatch.setattr(module, "sys", types.SimpleNamespace(platform="win32", stderr=None))
        monkeypatch.setattr(locking, "print", lambda *_, **__: None, raising=False)
        return lock

    return plays


def test_on_windows_a_file_in_the_folder_is_locked_and_rows_are_written(fig, windows):
    lock = windows(refusals=3)
    assert append(fig, Visit(when=EVENING, bubbles=8)) == 3
    assert lock.asked == 4
    append(fig, Visit(when=EVENING, bubbles=7, note="kept"))
    assert strike(fig, 3, at=EVENING).struck
    assert [visit.bubbles for visit in read(fig).visits] == [9, 8, 7]
    assert sorted(path.name for path in fig.parent.iterdir()) == [".bubblerate.lock", "fig.csv"]
    create(fig.parent / "new" / "plum.csv", Visit(when=EVENING, bubbles=1))


def test_on_windows_a_lock_that_is_never_freed_costs_nothing(fig, windows, monkeypatch):
    windows(refusals=10**9)
    clock = types.SimpleNamespace(now=0.0)
    clock.monotonic = lambda: clock.now
    clock.sleep = lambda seconds: setattr(clock, "now", clock.now + seconds)
    monkeypatch.setattr(locking, "time", clock)
    before = fig.read_bytes()
    with pytest.raises(DiaryError, match=r"has been using .* for 30 s; nothing was written"):
        append(fig, Visit(when=EVENING, bubbles=8))
    assert fig.read_bytes() == before


@pytest.mark.parametrize("encoding", ["cp1252", "cp437", "cp932", "ascii"])
def test_a_console_that_lacks_a_letter_shows_something_in_its_place(tmp_path, encoding):
    create(tmp_path / "айва.csv", Visit(when=EVENING, bubbles=9, note="wärmer, 梅 \u200b"))
    code = (
        "from bubblerate.cli import main\n"
        "for words in (['diary', 'айва'], ['tally', 'айва', '3'], ['diary', 'слива']):\n"
        "    try: main([*words, '--shelf', SHELF])\n"
        "    except SystemExit as left: print('code', left.code or 0)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", f"SHELF = {str(tmp_path)!r}\n{code}"],
        env=os.environ | {"PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"},
        capture_output=True,
        timeout=600,
    )
    assert b"Traceback" not in done.stderr
    codes = [line for line in done.stdout.splitlines() if line.startswith(b"code")]
    assert codes == [b"code 0", b"code 0", b"code 2"]


@pytest.mark.parametrize("other", ["Fig", "FIG", "\uff26ig"])
def test_a_name_that_is_the_same_file_on_another_system_is_refused(run, fig, other):
    said = run("start", other, "--shelf", str(fig.parent))
    assert said.code == 2
    assert "there is already a diary fig" in said.err


def test_a_name_is_the_same_however_its_accents_are_put_together(run, tmp_path):
    whole, parts = "poir\u00e9", unicodedata.normalize("NFD", "poir\u00e9")  # as macOS keeps names
    assert run("start", whole, "--shelf", str(tmp_path)).code == 0
    said = run("start", parts, "--shelf", str(tmp_path))
    assert said.code == 2
    assert run("tally", whole, "3", "--shelf", str(tmp_path)).code == 0


def test_a_path_with_blanks_and_marks_is_quoted_in_the_line_to_type(run, tmp_path):
    folder = tmp_path / "My Wine & More"
    folder.mkdir()
    copy = (EXAMPLES / "quince.csv").read_bytes()
    (folder / "quince.csv").write_bytes(copy)
    (folder / "quince 2.csv").write_bytes(copy)
    said = run("verdict", "quince", "--shelf", str(folder), "--at", "2026-11-15")
    assert f"import '{folder / 'quince 2.csv'}'" in said.err
