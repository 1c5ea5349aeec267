"""A folder of recordings, listened to and written down at once."""

import json
import os
from datetime import UTC, datetime, timedelta

import pytest

from bubblerate.cli import main
from bubblerate.diary.reading import read
from bubblerate.diary.visit import Visit
from bubblerate.diary.writing import create

from bench.sound import sounds

NOW = datetime(2026, 11, 25, 21, 45, tzinfo=UTC)
EVENINGS = [datetime(2026, 11, day, 21, 30, tzinfo=UTC) for day in (23, 24)]


@pytest.fixture
def shelf(tmp_path, monkeypatch):
    monkeypatch.setenv("BUBBLERATE_SHELF", str(tmp_path))
    create(tmp_path / "fig.csv", Visit(when=EVENINGS[0] - timedelta(days=20), event="pitched"))
    return tmp_path


@pytest.fixture
def folder(tmp_path):
    """Two recordings of a minute and a half, the name of the first one coming last."""
    found = tmp_path / "sounds"
    found.mkdir()
    (found / "list.txt").write_text("not a sound")
    for seed, (name, evening) in enumerate(
        zip(("b.WAV", "a.wav"), EVENINGS, strict=True), start=62
    ):
        sounds.saved(found / name, sounds.airlock(seed, seconds=90.0, snr_db=20.0))
        os.utime(found / name, (evening.timestamp(),) * 2)
    return found


@pytest.fixture
def run(capsys):
    def typed(*words):
        with pytest.raises(SystemExit) as done:
            main(["listen", *(str(word) for word in words)], now=lambda: NOW)
        return (int(done.value.code or 0), *capsys.readouterr())

    return typed


def counts(shelf):
    return [v for v in read(shelf / "fig.csv").visits if v.bubbles is not None]


def test_each_file_is_told_and_written_at_the_time_it_was_saved(run, shelf, folder):
    code, out, err = run(folder, "--into", "fig", "--temp", "18", "--note", "by phone")
    assert (code, err) == (0, "")
    assert [line.split(":")[0] for line in out.splitlines() if " = " in line] == ["a.wav", "b.WAV"]
    assert "fig: 2 rows written, from line 3 on, each at the time its file was saved." in out
    one, two = counts(shelf)
    assert [one.when, two.when] == [evening - timedelta(seconds=90) for evening in EVENINGS]
    assert (one.seconds, one.temp_c, one.note) == (90.0, 18.0, "by phone")
    assert run(folder, "--into", "fig")[1].splitlines()[-1] == (
        "fig: nothing to write; 2 rows already there."
    )
    assert counts(shelf) == [one, two]


def test_json_holds_one_object_for_each_file(run, folder):
    _, out, _ = run(folder, "--json")
    told = json.loads(out)["recordings"]
    assert [one["file"] for one in told] == ["a.wav", "b.WAV"]
    assert all(one["trusted"] for one in told)


def test_a_file_that_cannot_be_heard_is_named_and_nothing_is_written(run, shelf, folder):
    (folder / "c.m4a").write_bytes(b"\0\0\0\x20ftypM4A " + bytes(500))
    (folder / "d.wav").write_bytes(b"RIFF")
    code, out, err = run(folder, "--into", "fig")
    assert code == 2
    assert out.count(" = ") == 2
    first, second, last = err.splitlines()
    assert first.startswith("bubblerate: c.m4a: is compressed sound")
    assert second.startswith("bubblerate: d.wav: ")
    assert last == "bubblerate: nothing was written"
    assert not counts(shelf)


def test_files_whose_times_are_of_a_copy_are_not_written(run, shelf, folder):
    for path in folder.iterdir():
        os.utime(path, (NOW.timestamp(),) * 2)
    code, _, err = run(folder, "--into", "fig")
    assert code == 2
    assert "seem to overlap, so these files have the times of a copy; write each one down" in err
    assert not counts(shelf)


def test_a_folder_without_sound_and_options_of_one_file_are_refused(run, tmp_path, folder):
    empty = tmp_path / "empty"
    empty.mkdir()
    assert "empty: is a folder without sound files" in run(empty)[2]
    assert "go with one sound file" in run(folder, "--plot", "a.png")[2]
