import csv
import io
import json
import re
import shutil
from dataclasses import replace as changed
from pathlib import Path

import pytest

from bubblerate.diary.reading import read
from bubblerate.diary.settings_file import settings
from bubblerate.shelf.backtest import LeftOut, replay
from bubblerate.shelf.coverage import Backtest, in_hindsight
from bubblerate.shelf.quiet_day import Omission
from bubblerate.show.backtest_text import backtest_csv, backtest_object, backtest_text, lead_text
from bubblerate.text import iso

from scenes import EXAMPLES

BAD = "when,bubbles\n2026-11-01T21:00,a few\n"
ONE = ("--workers", "1")


@pytest.fixture(scope="module")
def found() -> Backtest:
    known = settings(EXAMPLES)
    vessels = [replay(read(EXAMPLES / f"{v}.csv"), settings=known) for v in ("damson", "medlar")]
    out = LeftOut(vessel="sloe", reason=Omission("not-yet", "the diary ends before it is seen"))
    return in_hindsight([*vessels, out])


@pytest.fixture
def jars(tmp_path) -> Path:
    """A shelf of one jar that has ended, one that has not, and one with a fault."""
    folder = tmp_path / "shelf"
    folder.mkdir()
    for name in ("damson.csv", "perry-pear.csv", "bubblerate.toml"):
        shutil.copy(EXAMPLES / name, folder)
    (folder / "almond.csv").write_text(BAD)
    return folder


def many(found: Backtest, held: float) -> Backtest:
    """The same vessel many times over, with so large a part of its vessels right or wrong."""
    right, wrong = found.replays[0], found.replays[0]
    evenings = tuple(
        changed(e, low80=e.at, low95=e.at, high80=None, high95=None) for e in right.evenings
    )
    right = changed(right, evenings=evenings)
    wrong = changed(wrong, evenings=tuple(changed(e, low80=None, low95=None) for e in evenings))
    return in_hindsight([right] * round(20 * held) + [wrong] * round(20 * (1 - held)))


# --- words ---------------------------------------------------------------------------------------


def test_every_vessel_and_every_lead_has_a_line(found):
    text = backtest_text(found, width=92)
    assert re.search(r"^damson +26 Oct 2026 +23 Oct-29 Oct +16$", text, re.MULTILINE)
    leads = [lead_text(row) for row in found.rows]
    assert [line.split("  ")[0] for line in text.splitlines() if re.match(r"\d+-\d+ d", line)] == [
        lead for lead in leads if lead != "over 15 d"
    ]
    assert re.search(r"^all +2 +31 ", text, re.MULTILINE)
    assert "sloe: the diary ends before it is seen" in text
    assert "Never bottle on them alone" in " ".join(text.split())


@pytest.mark.parametrize("width", [60, 80, 92])
def test_no_line_is_wider_than_the_terminal(found, width):
    long = changed(found.replays[0], vessel="a-very-long-name-of-a-vessel-on-the-shelf")
    text = backtest_text(in_hindsight([*found.replays, long, *found.left_out]), width=width)
    assert max(map(len, text.splitlines())) <= width
    assert ("(" in text.split("in 80 %")[1].split("\n")[1]) == (width >= 80)


def test_few_vessels_get_no_judgement(found):
    assert "2 jars: too few to judge the intervals" in backtest_text(found, width=92)


@pytest.mark.parametrize(
    ("held", "words"),
    [(0.8, "held the day on 80 % of evenings, as stated"),
     (0.2, "held the day on 20 % of evenings, less often than stated"),
     (1.0, "held the day on 100 % of evenings, more often than stated")],
)  # fmt: skip
def test_many_vessels_are_judged_by(found, held, words):
    text = " ".join(backtest_text(many(found, held), width=92).split())
    assert f"the 80 % interval {words}" in text


def test_an_early_go_is_told_with_the_name_of_the_jar(found):
    first = found.replays[0]
    early = (changed(first.evenings[0], go=True, early_go=True), *first.evenings[1:])
    text = backtest_text(in_hindsight([changed(first, evenings=early)]), width=92)
    assert "It said go for racking on 1 evening, certainly too early (damson)." in text
    assert "never said go for racking" in backtest_text(found, width=92)


# --- for programs --------------------------------------------------------------------------------


def test_the_csv_reads_back_with_what_the_evenings_hold(found):
    rows = list(csv.DictReader(io.StringIO(backtest_csv(found.evenings))))
    assert len(rows) == len(found.evenings)
    for row, one in zip(rows, found.evenings, strict=True):
        assert row["vessel"] == one.vessel
        assert row["at"] == iso(one.at)
        assert float(row["lead_days"]) == pytest.approx(one.lead_days, abs=5e-4)
        assert row["held80"] == ("yes" if one.held80 else "no")
        assert row["high95"] == ("" if one.high95 is None else iso(one.high95))


def test_a_date_that_is_not_given_is_blank_in_csv_and_null_in_json(found):
    one = changed(found.evenings[0], median=None, high80=None, high95=None)
    (row,) = csv.DictReader(io.StringIO(backtest_csv([one])))
    assert (row["median"], row["error_days"], row["width_days"]) == ("", "", "")
    laid = backtest_object(in_hindsight([changed(found.replays[0], evenings=(one,))]))
    text = json.dumps(laid, allow_nan=False)
    assert json.loads(text)["vessels"][0]["evenings"][0]["median"] is None


def test_the_object_holds_vessels_leads_and_what_is_left_out(found):
    laid = backtest_object(found)
    assert [one["vessel"] for one in laid["vessels"]] == ["damson", "medlar"]
    assert sum(row["evenings"] for row in laid["by_lead"]) == laid["all"]["evenings"] == 31
    assert laid["all"]["enough_vessels"] is False
    assert [one["code"] for one in laid["left_out"]] == ["not-yet"]


# --- the command ---------------------------------------------------------------------------------


def test_the_whole_shelf_is_asked_and_a_bad_diary_stops_no_other(run, jars):
    said = run("backtest", *ONE)
    assert said.code == 0
    assert re.search(r"^damson +26 Oct 2026", said.out, re.MULTILINE)
    assert "perry-pear: too few evenings" in said.out
    assert re.fullmatch(r"bubblerate: almond\.csv:2: bubbles is [^\n]+\n", said.err)


def test_two_workers_print_what_one_prints(run, jars):
    assert run("backtest", "--workers", "2") == run("backtest", *ONE)


def test_the_order_of_the_names_does_not_matter_and_a_name_given_twice_is_one(run, jars):
    first = run("backtest", "damson", "perry-pear", *ONE)
    again = run("backtest", "perry-pear", str(jars / "damson.csv"), "damson", *ONE)
    assert first == again


def test_a_missing_diary_is_a_line_and_the_rest_is_answered(run, jars):
    said = run("backtest", "damsen", "damson", *ONE)
    assert said.code == 0
    assert said.err.count("\n") == 1
    assert "did you mean damson?" in said.err


def test_csv_and_json_keep_to_their_form(run, jars):
    table = run("backtest", "--csv", *ONE)
    assert {row["vessel"] for row in csv.DictReader(io.StringIO(table.out))} == {"damson"}
    assert "left out perry-pear" in table.err
    laid = run("backtest", "--json", *ONE)
    assert [one["vessel"] for one in json.loads(laid.out)["left_out"]] == ["perry-pear"]


def test_a_picture_is_drawn_and_said(run, jars, tmp_path):
    said = run("backtest", "damson", "-o", str(tmp_path / "trust.png"), *ONE)
    assert said.out.endswith(f"Picture saved as {tmp_path / 'trust.png'}\n")
    assert (tmp_path / "trust.png").read_bytes().startswith(b"\x89PNG")


def test_another_threshold_is_another_day(run, jars):
    said = run("backtest", "damson", "--below", "3", *ONE)
    assert "below 3.0 a minute" in " ".join(said.out.split())
    assert "26 Oct" not in said.out


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("--csv", "--json"), "choose --json or --csv"),
        (("--below", "0"), "--below is 0; write bubbles a minute"),
        (("--workers", "0"), "workers is 0; write 1 or more"),
        (("--workers", "2", "--scheduler", "tcp://a:1"), "choose --workers"),
        (("-o", "trust.doc"), "a picture ends in .png"),
        (("perry-pear", "--workers", "1"), "no forecast could be checked"),
        (("nosuch",), "no forecast could be checked"),
        (("a/b",), "a jar's name"),
    ],
)
def test_what_cannot_be_answered_is_a_line_and_exit_code_two(run, jars, words, line):
    said = run("backtest", *words)
    assert (said.code, said.out) == (2, "")
    assert line in said.err
    assert all(text.startswith("bubblerate: ") for text in said.err.splitlines())


def test_an_empty_shelf_says_how_to_begin(run, tmp_path):
    said = run("backtest")
    assert said.code == 2
    assert "start one: bubblerate start quince" in said.err
