import os
import re
import signal
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from bubblerate.diary.reading import read
from bubblerate.diary.visit import BASE_COLUMNS

ROOT = Path(__file__).parent.parent.parent
HEADER = ",".join(BASE_COLUMNS)


# --- answers piped in ----------------------------------------------------------------------------


@pytest.fixture
def jars(tmp_path):
    """Three jars on the shelf, and one that is bottled."""
    folder = tmp_path / "shelf"
    folder.mkdir()
    for name, rest in (("damson", ""), ("fig", ""), ("sloe", ""), ("apple", "bottled")):
        rows = [f"2026-11-{day}T21:00:00+01:00,{40 - day},60,18,,,,,,," for day in (18, 19, 20)]
        last = f"2026-11-20T22:00:00+01:00,,,,,,,{rest},,," if rest else ""
        text = "\r\n".join([HEADER, *rows, *([last] if last else []), ""])
        (folder / f"{name}.csv").write_bytes(text.encode())
    return folder


def contents(folder):
    return {path.stem: path.read_bytes() for path in folder.glob("*.csv")}


# The sums of each jar and of the table take longest, and only some tests look at them.
NO_TABLE = (
    "import bubblerate.cli.rounds as r; r.show = lambda *_: print('the table')\n"
    "r.say_next = lambda *_, **__: None\n"
)


def piped(answers, *, code=NO_TABLE, encoding="utf-8:strict", words=()):
    """The round with its answers on stdin."""
    run = code + "import sys; from bubblerate.cli import main; main(['round', *sys.argv[1:]])"
    return subprocess.run(
        [sys.executable, "-c", run, *words],
        input=answers if isinstance(answers, bytes) else answers.encode(),
        capture_output=True,
        cwd=ROOT,
        env=os.environ | {"PYTHONIOENCODING": encoding},
        timeout=600,
    )


def added(folder, before):
    """What each diary has more than before; nothing else may have changed."""
    now = contents(folder)
    assert all(now[name].startswith(data) for name, data in before.items())
    rows = {name: now[name].removeprefix(data).decode() for name, data in before.items()}
    assert all(text == "" or text.endswith("\r\n") for text in rows.values())
    return {name: [r.split(",", 1)[1] for r in text.splitlines()] for name, text in rows.items()}


def test_every_answer_goes_into_the_row_of_its_jar_and_the_shelf_ends_it(jars):
    before = contents(jars)
    answers = "12 in 90s\n18.5\n\n\n\n65F\n1004 at 17C\n\none every 55s\n\n.998\nRacked\n"
    done = piped(answers, code="")
    assert added(jars, before) == {
        "apple": [],
        "damson": ["12,90,18.5,,,,,,,"],
        "fig": [",,18.3,,1.004,17,sampled,,,"],
        "sloe": ["1,55,,,0.998,,racked,,,"],
    }
    out = done.stdout.decode()
    assert done.returncode == 0
    assert "damson (1 of 3)\n  last         20 in 1 min = 20 a minute, 18 C, on 20 Nov 2026" in out
    assert "damson: 12 in 90 s = 8.0 a minute, 18.5 C, on" in out
    table = out.splitlines()[-4:]
    assert {line.split()[0] for line in table} == {"damson", "fig", "sloe", "apple"}


def test_each_jar_says_what_is_next_before_it_is_asked_and_again_after_an_answer(jars):
    done = piped("9 in 5m\n18\n1.010\nracked\n\n\n\n\n\n\n\n\n", code="")
    damson, fig, _ = done.stdout.decode().split("of 3)")[1:]
    before, after = damson.split("  bubbles")
    assert before.count("  next  ") == after.count("  next  ") == 1
    assert before.split("  next  ")[1] != after.split("  next  ")[1]
    assert fig.count("  next  ") == 1  # nothing was answered
    assert done.returncode == 0


def test_a_line_that_cannot_be_read_is_asked_again_with_its_reason(jars):
    before = contents(jars)
    answers = "a few\n12 in soon\n9\nhot\n18\n4\n1.004\nraked\nracked\nq\n"
    done = piped(answers)
    assert added(jars, before)["damson"] == ["9,60,18,,1.004,,racked,,,"]
    out = done.stdout.decode()
    for reason in ("write 12 in 90s, one every", "write 55s, 5m", "18.5 or 65F", "4 Oechsle is"):
        assert reason in " ".join(out.split())
    assert "did you mean racked?" in out
    assert out.count("  bubbles") == 5  # the heading, three for damson, one for fig
    assert (done.returncode, done.stderr) == (0, b"")


@pytest.mark.parametrize("encoding", ["utf-8:strict", "ascii:strict"])
@pytest.mark.parametrize(
    "stray", [b"\xff\xfe", b"\0", b"1\xb05", "½".encode(), b"9" * 100_000, b"\x1b[A\x1b[B"]
)
def test_stray_bytes_are_an_answer_to_ask_again(jars, stray, encoding):
    before = contents(jars)
    done = piped(stray + b"\n9\nq\n", encoding=encoding)
    assert added(jars, before)["damson"] == ["9,60,,,,,,,,"]
    assert (done.returncode, done.stderr) == (0, b"")


@pytest.mark.parametrize("end", ["", "q\n", "Q\n", " q \n"])
def test_q_or_the_end_of_input_ends_the_round_and_keeps_what_was_answered(jars, end):
    before = contents(jars)
    done = piped("9\n18\n\n\n8\n" + end)
    assert added(jars, before) == {
        "apple": [],
        "damson": ["9,60,18,,,,,,,"],
        "fig": ["8,60,,,,,,,,"],
        "sloe": [],
    }
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout.endswith(b"\n\nthe table\n")


def test_skipping_everything_writes_nothing(jars):
    before = contents(jars)
    done = piped("\n" * 12)
    assert contents(jars) == before
    assert done.stdout.decode().count("skipped") == 3


def test_an_empty_or_missing_shelf_says_how_to_begin(tmp_path, jars):
    for path in jars.glob("*.csv"):
        path.unlink()
    assert piped("9\n").stdout.decode().startswith(f"No diary in {jars} yet; start one: ")
    jars.rmdir()
    done = piped("")
    assert done.stdout.decode() == (
        f"No diary in {jars} yet; start one: bubblerate start quince --litres 4.5\n"
    )
    assert (done.returncode, done.stderr) == (0, b"")


def test_a_shelf_of_bottles_has_nothing_to_ask(jars):
    for name in ("damson", "fig", "sloe"):
        (jars / f"{name}.csv").unlink()
    assert piped("9\n").stdout == b"Every jar on the shelf is bottled.\n"


def test_a_diary_with_a_fault_is_named_and_its_count_is_written_all_the_same(jars):
    with (jars / "fig.csv").open("ab") as file:
        file.write(b"2026-11-21T21:00:00+01:00,a few,60,,,,,,,,\r\n")
    before = contents(jars)
    done = piped("\n\n\n\n12\nq\n")
    assert added(jars, before)["fig"] == ["12,60,,,,,,,,"]
    said = " ".join(done.stdout.decode().split())
    assert "fault in the diary: fig.csv:5: bubbles is" in said
    assert b"written, but there is something to fix: fig.csv:5" in done.stderr


def test_bad_settings_cost_no_count(jars):
    (jars / "bubblerate.toml").write_text("finish = [\n")
    before = contents(jars)
    done = piped("9\nq\n", code="")
    assert added(jars, before)["damson"] == ["9,60,,,,,,,,"]
    assert done.returncode == 2
    assert done.stderr.splitlines()[-1].startswith(
        b"bubblerate: bubblerate.toml: is not valid TOML"
    )


def test_a_count_by_the_space_bar_needs_a_terminal(jars):
    before = contents(jars)
    done = piped("t\n9\nq\n")
    assert added(jars, before)["damson"] == ["9,60,,,,,,,,"]
    assert b"tapping needs a terminal" in done.stdout


def test_a_full_disk_leaves_every_diary_whole_and_says_what_to_keep(jars):
    before = contents(jars)
    few = len(before["damson"]) + 5  # part of a row would still fit
    full = f"import resource; resource.setrlimit(resource.RLIMIT_FSIZE, ({few}, {few}))\n"
    done = piped("12 in 90s\n18.5\n\n\n\n\n\n\n9\n\n\n\n", code=NO_TABLE + full)
    assert contents(jars) == before
    assert done.returncode == 2
    said = done.stderr.decode()
    assert "Not written, so keep it on paper: 12 in 90s, 18.5\n" in said
    assert "Not written, so keep it on paper: 9\n" in said
    assert "Traceback" not in said


def test_a_screen_that_cannot_be_written_to_tears_no_row(jars):
    before = contents(jars)
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "bubblerate", "round"],
            input=b"9\n\n\n\n8\n\n\n\n",
            stdout=full,
            stderr=subprocess.PIPE,
            cwd=ROOT,
            timeout=600,
        )
    assert done.returncode == 2
    assert b"the answer could not be shown: No space left on device" in done.stderr
    added(jars, before)


def test_two_rounds_at_once_write_whole_rows_one_after_the_other(jars):
    before = contents(jars)
    code = NO_TABLE + "from bubblerate.cli import main; main(['round'])"
    run = [sys.executable, "-c", code]
    rounds = [
        subprocess.Popen(run, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, cwd=ROOT)
        for _ in range(3)
    ]
    for n, one in enumerate(rounds, 1):
        assert one.stdin is not None
        one.stdin.write(f"{n}\n18\n\n\n".encode() * 3)
        one.stdin.flush()
    for one in rounds:
        one.stdin.close()
        assert one.wait(60) == 0
    expected = [f"{n},60,18,,,,,,," for n in (1, 2, 3)]
    rows = added(jars, before)
    assert all(sorted(rows[name]) == expected for name in ("damson", "fig", "sloe"))


def test_writing_the_rows_of_a_round_loads_no_heavy_library(jars):
    code = (
        "import bubblerate.cli.rounds as rounds, sys\n"
        "heavy = {'numpy', 'scipy', 'pandas', 'matplotlib'}\n"
        "rounds.say_next = lambda *_, **__: None\n"
        "rounds.show = lambda *_: print('heavy:', *heavy & {*sys.modules}, 'none')\n"
    )
    assert piped("9\nq\n", code=code).stdout.endswith(b"heavy: none\n")


def test_a_round_is_written_for_the_moment_that_was_named(jars):
    before = contents(jars)
    done = piped("9\nq\n", words=["--when", "day 4"])
    assert done.returncode == 0
    assert added(jars, before)["damson"] == ["9,60,,,,,,,,"]
    row = (jars / "damson.csv").read_text().splitlines()[-1]
    assert datetime.fromisoformat(row.partition(",")[0]) == datetime(2026, 11, 22, 20, tzinfo=UTC)


def test_a_moment_that_is_none_is_refused_before_the_first_question(jars):
    before = contents(jars)
    done = piped("9\nq\n", words=["--when", "soon"])
    assert (done.returncode, done.stdout, contents(jars)) == (2, b"", before)


# --- at a terminal -------------------------------------------------------------------------------

typist = pytest.importorskip("typist", reason="pseudo-terminals are of POSIX", exc_type=ImportError)


def answers(person, *lines):
    """Answer each question as it comes."""
    for name, text in zip(("bubbles", "temperature", "gravity", "event"), lines, strict=False):
        person.sees(f"  {name} ")
        person.types(f"{text}\n")


def test_a_round_at_the_terminal_with_one_jar_tapped(jars):
    before = contents(jars)
    with typist.Typist("round") as person:
        person.sees("damson (1 of 3)")
        answers(person, "12 in 90s", "18.5", "", "")
        person.sees("damson: 12 in 90 s")
        person.sees("fig (2 of 3)")
        person.types("t\n")
        person.sees_the_clock_run()
        person.types("   \x7f")
        person.sees("2 in ")
        person.types("q")
        person.sees("temperature ")
        person.types("18\n")
        person.sees("gravity ")
        person.types("q\n")
        assert person.ends() == 0
        assert person.restored
    rows = added(jars, before)
    assert rows["damson"] == ["12,90,18.5,,,,,,,"]
    assert re.fullmatch(r"2,[\d.]+,18,,,,,,,", rows["fig"][0])
    assert rows["sloe"] == []
    assert re.search(r"^damson +ferment +wait +", person.screen, re.MULTILINE)  # the table


def test_a_tapped_count_that_is_dropped_is_asked_again(jars):
    before = contents(jars)
    with typist.Typist("round", code=NO_TABLE) as person:
        person.sees("damson (1 of 3)")
        person.types("t\n")
        person.sees_the_clock_run()
        person.types(" \x03")
        person.sees("the count was dropped")
        person.types("7\n")
        person.types("q\n")
        assert person.ends() == 0
    assert added(jars, before)["damson"] == ["7,60,,,,,,,,"]


def test_ctrl_c_keeps_what_was_said_back_and_says_so(jars):
    before = contents(jars)
    with typist.Typist("round") as person:
        person.sees("damson (1 of 3)")
        answers(person, "9", "18", "", "")
        person.sees("fig (2 of 3)")
        person.types("8\n")
        person.sees("temperature ")
        person.types("\x03")
        assert person.ends() == 130
        assert person.restored
    assert added(jars, before) == {
        "apple": [],
        "damson": ["9,60,18,,,,,,,"],
        "fig": [],
        "sloe": [],
    }
    said = "round stopped; already written: damson; not yet written: fig\r\n"
    assert person.screen.endswith(f"bubblerate: {said}")
    assert "Traceback" not in person.screen


def test_ctrl_c_at_the_first_question_says_that_nothing_was_written(jars):
    before = contents(jars)
    with typist.Typist("round") as person:
        person.sees("damson (1 of 3)")
        person.sees("bubbles ")
        person.types("\x03")
        assert person.ends() == 130
    assert "round stopped; nothing was written" in person.screen
    assert contents(jars) == before


@pytest.mark.parametrize("name", ["SIGKILL", "SIGHUP"])
def test_a_round_that_is_killed_leaves_whole_rows_only(jars, name):
    before = contents(jars)
    with typist.Typist("round") as person:
        person.sees("damson (1 of 3)")
        answers(person, "9", "18", "", "")
        person.sees("fig (2 of 3)")
        person.types("8\n")
        person.sees("temperature")
        person.is_sent(getattr(signal, name))
        assert person.ends() == -getattr(signal, name)
    assert added(jars, before)["damson"] == ["9,60,18,,,,,,,"]
    assert contents(jars)["fig"] == before["fig"]
    assert piped("q\n").returncode == 0  # no lock is left behind


SLOW_DISK = (
    "import os, time\n"
    "fsync = os.fsync\n"
    "def slowly(handle):\n"
    "    print('writing', flush=True); time.sleep(0.3); fsync(handle)\n"
    "os.fsync = slowly\n"
)


@pytest.mark.parametrize("after_s", [0.0, 0.15])
def test_ctrl_c_while_a_row_is_written_waits_until_it_is_down(jars, after_s):
    before = contents(jars)
    with typist.Typist("round", code=NO_TABLE + SLOW_DISK) as person:
        person.sees("damson (1 of 3)")
        answers(person, "9", "18", "", "")
        person.sees("writing")
        time.sleep(after_s)
        person.types("\x03")
        assert person.ends() == 130
    assert added(jars, before)["damson"] == ["9,60,18,,,,,,,"]
    assert "already written: damson\r\n" in person.screen


def test_a_round_killed_while_it_writes_leaves_a_whole_row_or_none(jars):
    before = contents(jars)
    with typist.Typist("round", code=SLOW_DISK) as person:
        person.sees("damson (1 of 3)")
        answers(person, "9", "18", "", "")
        person.sees("writing")
        person.is_sent(signal.SIGKILL)
        assert person.ends() == -signal.SIGKILL
    assert added(jars, before)["damson"] in ([], ["9,60,18,,,,,,,"])
    assert len(read(jars / "damson.csv").visits) >= 3
