import io
import sys
from datetime import timedelta
from pathlib import Path

import pytest

from bubblerate.cli import gravities
from bubblerate.diary.reading import read
from bubblerate.diary.settings_file import settings

from scenes import START, Said

WHEN = "--when", "2026-11-20 21:00"


@pytest.fixture
def fig(tmp_path: Path, run) -> Path:
    """A diary whose must was read by refractometer, and that has bubbled since."""
    run("start", "fig", "--when", START.isoformat())
    after = (START + timedelta(hours=2)).isoformat()
    said = run("gravity", "fig", "--brix", "21", "--refractometer", "--when", after)
    assert "gravity 1.0875, 21 Brix by refractometer" in said.out
    run("tally", "fig", "30", "--when", (START + timedelta(days=4)).isoformat())
    return tmp_path / "shelf" / "fig.csv"


def last(path: Path):
    return read(path).visits[-1]


def test_once_there_is_alcohol_a_refractometer_gives_an_estimate_and_no_gravity(run, fig):
    said = run("gravity", "fig", "--brix", "7,4", "--refractometer", *WHEN)
    assert (said.code, said.err) == (0, "")
    assert "The gravity is about 0.996 (0.992 to 1.004)" in said.out
    assert "It proves nothing for bottling" in said.out
    assert (last(fig).sg, last(fig).refractometer_brix) == (None, 7.4)
    assert last(fig).event == "sampled"
    assert "7.4 Brix" in run("diary", "fig").out


@pytest.mark.parametrize("event", ["fed", "diluted", "joined"])
def test_what_was_added_since_leaves_no_estimate(run, fig, event):
    run("event", "fig", event, "--when", "2026-11-10")
    said = run("gravity", "fig", "--brix", "7.4", "--refractometer", *WHEN)
    assert "That gives no gravity" in said.out
    assert last(fig).refractometer_brix == 7.4


@pytest.mark.parametrize("brix", ["22", "2"])
def test_what_no_wine_of_that_must_shows_is_kept_without_an_estimate(run, fig, brix):
    said = run("gravity", "fig", "--brix", brix, "--refractometer", *WHEN)
    assert "That gives no gravity" in said.out
    assert last(fig).refractometer_brix == float(brix)


def test_a_must_read_late_is_no_must(run, fig):
    run("start", "plum", "--when", START.isoformat())
    run("gravity", "plum", "1.050", "--when", (START + timedelta(days=3)).isoformat())
    said = run("gravity", "plum", "--brix", "7.4", "--refractometer", *WHEN)
    assert "That gives no gravity" in said.out


def test_brix_that_nobody_can_be_asked_about_is_written_and_never_in_silence(run, fig):
    said = run("gravity", "fig", "--brix", "1.0", *WHEN)
    assert said.code == 0
    assert last(fig).sg == 1.0039
    assert (
        "Saved as a hydrometer reading. If you used a refractometer: bubblerate strike" in said.err
    )
    assert "Saved as" in run("gravity", "fig", "1.0 Brix", *WHEN).err
    for words in (["--brix", "1.0", "--hydrometer"], ["1.004"], ["--oechsle", "4"]):
        assert "Saved as" not in run("gravity", "fig", *words, *WHEN).err


def answered(monkeypatch, *lines: str) -> None:
    """Have a person at the keys give these answers."""
    left = [f"{line}\n" for line in lines]
    monkeypatch.setattr(gravities, "is_terminal", lambda: True)
    monkeypatch.setattr(sys, "stdin", io.StringIO("".join(left)))


def test_the_instrument_is_asked_for_once(run, fig, monkeypatch):
    answered(monkeypatch, "", "what", "refr")
    said = run("gravity", "fig", "--brix", "7.4", *WHEN)
    assert said.out.count("[h/r]") == 3
    assert settings(fig.parent).vessel("fig").brix_by == "refractometer"
    assert last(fig).refractometer_brix == 7.4
    said = run("gravity", "fig", "--brix", "7.3", *WHEN)
    assert "[h/r]" not in said.out
    assert last(fig).refractometer_brix == 7.3


def test_an_answer_keeps_what_the_settings_held(run, fig, monkeypatch):
    toml = fig.parent / "bubblerate.toml"
    old = "# mine\n[vessel.fig]\nlitres = 4.5  # to the neck\n\n[threshold]\nper_min = 2\n"
    toml.write_text(old)
    answered(monkeypatch, "h")
    run("gravity", "fig", "--brix", "1.0", *WHEN)
    kept = [line for line in toml.read_text().splitlines() if not line.startswith("brix_by")]
    assert kept == old.splitlines()
    found = settings(fig.parent)
    assert (found.vessel("fig").brix_by, found.vessel("fig").litres) == ("hydrometer", 4.5)


@pytest.mark.parametrize("toml", ["not toml", "[vessel.fig]\nbrix_by = 'spoon'\n"])
def test_settings_that_cannot_be_read_cost_no_reading(run, fig, toml):
    (fig.parent / "bubblerate.toml").write_text(toml)
    said = run("gravity", "fig", "--brix", "1.0", *WHEN)
    assert said.code == 0
    assert last(fig).sg == 1.0039
    said = run("gravity", "fig", "--brix", "7.0", "--refractometer", *WHEN)
    assert said.code == 0
    assert read(fig).visits[-1].refractometer_brix == 7.0


def test_nobody_there_after_all_is_as_nobody_to_ask(run, fig, monkeypatch):
    answered(monkeypatch)
    assert "Saved as a hydrometer reading" in run("gravity", "fig", "--brix", "1.0", *WHEN).err


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["1.004", "--refractometer"], "a refractometer shows Brix"),
        (["--brix", "8", "--refractometer", "--sample-temp", "17"], "leave it out"),
        (["--brix", "45", "--refractometer"], "write Brix from 0 to 40"),
        (["--brix", "sweet", "--refractometer"], "plain number"),
        (["1.004", "--brix", "1"], "give one gravity"),
    ],
)
def test_what_no_refractometer_shows_is_refused(run, fig, words, why):
    before = fig.read_bytes()
    said: Said = run("gravity", "fig", *words)
    assert (said.code, said.err.count("\n")) == (2, 1)
    assert why in said.err
    assert fig.read_bytes() == before


def test_no_verdict_goes_by_a_refractometer(run, fig):
    run("tally", "fig", "0", "--over", "5m", "--when", "2026-11-18 21:00")
    asked = ["verdict", "fig", "--at", "2026-11-21", "--json"]
    without = run(*asked).out
    for day in (19, 20, 21):
        run("gravity", "fig", "--brix", "7", "--refractometer", "--when", f"2026-11-{day} 20:00")
    said = run(*asked).out
    for key in ('"latest_sg"', '"verdict"', '"steady"', '"chance_fizz"'):
        lines = [[x for x in text.splitlines() if key in x] for text in (without, said)]
        assert lines[0] == lines[1]


def test_a_column_by_refractometer_is_taken_over_as_one(run, tmp_path):
    table = tmp_path / "notes.csv"
    table.write_text(
        "Date,What,Bubbles per minute,Refractometer\n"
        "2026-10-01,pitched,,21\n2026-10-09,,12,12.5\n2026-10-20,,3,7.4 Brix\n"
    )
    said = run("import", str(table), "--into", "plum", "--yes")
    assert said.code == 0, said.err
    assert "Brix by refractometer" in said.out
    rows = read(tmp_path / "shelf" / "plum.csv").visits
    assert [row.refractometer_brix for row in rows] == [21.0, 12.5, 7.4]
    assert [row.sg for row in rows] == [1.0875, None, None]
