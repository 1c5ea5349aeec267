import re
import signal
import subprocess
import sys
import time
from functools import reduce
from pathlib import Path

import pytest
from scipy.special import gammaincinv

from bubblerate.diary.reading import read
from bubblerate.diary.tapping import DROP, Tapping, after, enough, per_min_80, tapping_text
from bubblerate.diary.visit import BASE_COLUMNS

typist = pytest.importorskip("typist", reason="pseudo-terminals are of POSIX", exc_type=ImportError)
ROOT = Path(__file__).parent.parent.parent


def tapped(keys: str, *, began_s: float = 100.0) -> Tapping:
    """A key a second from the go on."""
    start = Tapping(began_s=began_s)
    return reduce(lambda t, pair: after(t, pair[1], began_s + pair[0]), enumerate(keys, 1), start)


# --- the count, without a terminal ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("keys", "bubbles", "seconds"),
    [
        ("q", 0, 1.0),  # none is a count
        ("   q", 3, 4.0),
        ("  \x7f q", 2, 5.0),
        ("  \b q", 2, 5.0),
        ("\x7f\x7f q", 1, 4.0),  # there is nothing before the first
        ("  \r", 2, 3.0),
        ("  \n", 2, 3.0),
        ("  Q", 2, 3.0),
        (" x\x1b[A q", 2, 7.0),  # a key without a meaning, an arrow
        ("  q   q\x7f\x03", 2, 3.0),  # what comes after the end
    ],
)
def test_every_press_after_go_counts_and_the_clock_stops_at_the_end(keys, bubbles, seconds):
    count = tapped(keys)
    assert (count.bubbles, count.seconds(1e6)) == (bubbles, seconds)
    assert (count.over, count.dropped) == (True, False)


def test_a_dropped_count_has_no_end_and_stays_dropped():
    count = tapped("  " + DROP + " q")
    assert (count.over, count.dropped, count.ended_s) == (True, True, None)


@pytest.mark.parametrize(
    ("bubbles", "at_s", "said"), [(99, 299.9, False), (100, 60.0, True), (0, 300.0, True)]
)
def test_a_hundred_bubbles_or_five_minutes_are_enough(bubbles, at_s, said):
    assert enough(Tapping(began_s=0.0, bubbles=bubbles), at_s) is said
    assert ("enough" in tapping_text(Tapping(began_s=0.0, bubbles=bubbles), at_s, width=79)) is said


# Garwood's limits (Biometrika 28, 1936; from memory) by the incomplete gamma function of scipy.
@pytest.mark.parametrize("n", [0, 1, 2, 3, 5, 12, 40, 100, 1000])
def test_the_interval_is_that_of_a_poisson_count(n):
    low, high = per_min_80(n, 60.0)
    assert low == pytest.approx(gammaincinv(n, 0.1) if n else 0.0, rel=0.015, abs=0.01)
    assert high == pytest.approx(gammaincinv(n + 1, 0.9), rel=0.015)


def test_a_hundred_bubbles_know_their_rate_to_ten_percent():
    low, high = per_min_80(100, 300.0)
    assert (high - low) / 2.0 / 1.2816 == pytest.approx(0.1 * 20.0, rel=0.05)


@pytest.mark.parametrize("seed", range(5))
def test_counting_from_go_is_unbiased_for_even_bubbles_and_for_chance(seed):
    import numpy as np

    rng = np.random.default_rng(seed)
    spacing_s, counted_s = 7.0, 33.0  # not a whole number of bubbles
    phases = rng.uniform(0.0, spacing_s, 4000)  # go is not chosen by a bubble
    even = np.floor((counted_s - phases) / spacing_s) + 1
    chance = rng.poisson(counted_s / spacing_s, 4000)
    for bubbles in (even, chance):
        assert bubbles.mean() / counted_s == pytest.approx(1.0 / spacing_s, rel=0.04)


@pytest.mark.parametrize("width", [12, 20, 30, 40, 59, 79, 200])
def test_the_line_fits_and_the_count_is_on_it_to_the_last(width):
    text = tapping_text(Tapping(began_s=0.0, bubbles=123), 330.0, width=width)
    assert len(text) <= width
    assert text.startswith("123 in 5:30")


def test_the_line_says_count_time_rate_and_reach():
    line = tapping_text(Tapping(began_s=10.0, bubbles=12), 100.5, width=79)
    assert line == "12 in 1:30   8.0 a minute   80 %: 5.2 to 12"


# --- at a terminal -------------------------------------------------------------------------------


@pytest.fixture
def fig(tmp_path):
    path = tmp_path / "shelf" / "fig.csv"
    path.parent.mkdir()
    path.write_text(f"{','.join(BASE_COLUMNS)}\n2026-11-20T21:00:00+01:00,60,60,,,,,,,,\n")
    return path


def begun(person):
    """Wait until the clock runs."""
    person.sees("0 in 0:00")
    person.sees_the_clock_run()


def test_presses_are_counted_live_and_written_once(fig):
    before, began = fig.read_bytes(), time.monotonic()
    with typist.Typist("tap", "fig", "--temp", "18.5", "--note", "torch") as person:
        begun(person)
        for n in range(1, 5):
            person.types(" ")
            person.sees(f"{n} in ")
        person.types("\x7f")
        person.sees("3 in ")
        person.types("qqq q")
        assert person.ends() == 0
        assert person.restored
        lived_s = time.monotonic() - began
    row = fig.read_bytes().removeprefix(before).decode()
    assert re.fullmatch(r"[^,]+,3,[\d.]+,18.5,,,,,,torch,\n", row)
    assert 1.0 <= read(fig).visits[-1].seconds <= lived_s
    echo = r'^fig: 3 in [\d.]+ s = .+, 18.5 C, "torch", on .+\. Line 3\.\r?$'
    assert re.search(echo, person.screen, re.MULTILINE)


def test_the_line_is_written_over_itself_and_never_wraps(fig):
    with typist.Typist("tap", "fig", columns=40) as person:
        begun(person)
        person.types(" \r")
        assert person.ends() == 0
    live = [part for part in person.screen.split("\r") if re.match(r"\d+ in \d:\d\d", part)]
    assert len(live) >= 3
    assert all(len(part.rstrip("\n")) < 40 for part in live)


def test_none_is_a_count_and_enter_ends(fig):
    with typist.Typist("tap", "fig") as person:
        begun(person)
        person.types("\r")
        assert person.ends() == 0
    assert read(fig).visits[-1].bubbles == 0


def test_an_odd_count_is_written_and_asked_about_as_tally_does(fig):
    with typist.Typist("tap", "fig") as person:
        begun(person)
        person.types(" " * 90)
        person.sees("90 in")
        person.types("q")
        assert person.ends() == 0
    assert (
        "Is that right? That is ten or more times the last count that had bubbles" in person.screen
    )
    assert "If not: bubblerate strike fig 3" in person.screen


@pytest.mark.parametrize("how", ["key", "SIGINT", "SIGTERM"])
def test_a_count_broken_off_is_not_written_and_says_so(fig, how):
    before = fig.read_bytes()
    with typist.Typist("tap", "fig") as person:
        begun(person)
        person.types("   ")
        person.sees("3 in")
        if how == "key":
            person.types("\x03")
        else:
            person.is_sent(getattr(signal, how))
        assert person.ends() == 130
        assert person.restored
    assert person.screen.endswith("bubblerate: fig: the count was dropped; nothing is written\r\n")
    assert "Traceback" not in person.screen
    assert fig.read_bytes() == before


def test_a_closed_window_drops_the_count_and_says_so_where_it_can(fig, tmp_path):
    before = fig.read_bytes()
    with (tmp_path / "said").open("wb") as said, typist.Typist("tap", "fig", stderr=said) as person:
        end = time.monotonic() + typist.PATIENCE_S
        while not re.search(r"0 in \d+:(0[1-9]|[1-5]\d)", (tmp_path / "said").read_text()):
            assert time.monotonic() < end
            time.sleep(0.05)
        person.types("  ")
        time.sleep(0.3)
        person.hangs_up()
        assert person.ends() == 130
    last = (tmp_path / "said").read_text().splitlines()[-1]
    assert last == "bubblerate: fig: the count was dropped; nothing is written"
    assert fig.read_bytes() == before


def test_a_full_disk_leaves_the_diary_as_it_was_and_the_count_on_the_screen(fig):
    before = fig.read_bytes()
    few = len(before) + 5  # part of a row would still fit
    full = f"import resource; resource.setrlimit(resource.RLIMIT_FSIZE, ({few}, {few}))\n"
    with typist.Typist("tap", "fig", code=full) as person:
        begun(person)
        person.types("  ")
        person.sees("2 in")
        person.types("q")
        assert person.ends() == 2
        assert person.restored
    assert fig.read_bytes() == before
    last = person.screen.splitlines()[-1]
    assert re.search(r"then write the count down: bubblerate tally fig 2 --over [\d.]+s", last), (
        last
    )


def test_two_people_at_one_jar_write_a_row_each(fig):
    before = fig.read_bytes()
    with typist.Typist("tap", "fig") as one, typist.Typist("tap", "fig") as other:
        for person, presses in ((one, " "), (other, "  ")):
            begun(person)
            person.types(presses)
            person.sees(f"{len(presses)} in")
        for person in (one, other):
            person.types("q")
        assert (one.ends(), other.ends()) == (0, 0)
    assert fig.read_bytes().startswith(before)
    assert sorted(visit.bubbles for visit in read(fig).visits[1:]) == [1, 2]


def test_what_cannot_be_counted_is_said_before_it_is_counted(fig):
    for words, advice in (
        (["figg"], "did you mean fig?"),
        (["fig", "--temp", "warm"], "write 18.5 or 65F"),
    ):
        with typist.Typist("tap", *words) as person:
            assert person.ends() == 2
            assert advice in " ".join(person.screen.split())
            assert "go!" not in person.screen


def test_without_a_terminal_it_names_the_other_way(fig):
    done = subprocess.run(
        [sys.executable, "-m", "bubblerate", "tap", "fig"],
        input="   q",
        capture_output=True,
        text=True,
        cwd=ROOT,
        timeout=600,
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert re.fullmatch(
        r"bubblerate: tap .+ terminal .+; .+: bubblerate tally fig 12 --over 90s\n", done.stderr
    )


def test_counting_loads_no_heavy_library(fig):
    code = (
        "import atexit\n"
        "heavy = {'numpy', 'scipy', 'pandas', 'matplotlib'}\n"
        "atexit.register(lambda: print('heavy:', *heavy & {*sys.modules}, 'none'))\n"
    )
    with typist.Typist("tap", "fig", code=code) as person:
        begun(person)
        person.types(" q")
        assert person.ends() == 0
    assert person.screen.rstrip().endswith("heavy: none")
