import csv
import io
import json
import re
import shutil
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from bubblerate import Settings, as_object, judge, read, settings
from bubblerate.cli import main
from bubblerate.diary.folder import Unread, diaries
from bubblerate.ferment.forecast import Crossing
from bubblerate.shelf.common_move import CommonMove
from bubblerate.shelf.overview import Bottled, Count, Judged, Line, due_first, glance, line
from bubblerate.show.shelf_text import _TO_DO, move_text, shelf_csv, shelf_text
from bubblerate.verdict.decide import Verdict
from bubblerate.verdict.reasons import (
    COUNT,
    LOOK_FOR_LEES,
    PRESS,
    RACK,
    READ,
    ROUSE,
    WARM,
    Kind,
)

from drawings import judged
from scenes import EXAMPLES, diary, evening

NOW = datetime(2026, 11, 14, 22, tzinfo=UTC)
BAD = "when,bubbles\n2026-11-01T21:00,a few\n"
WAITING = Judged(
    verdict=Verdict(
        vessel="chestnut-honey-mead",
        asked_at=NOW,
        question="racking",
        threshold_per_min=1.0,
        answer="wait",
        firmness="bubbles",
        reasons=(),
        next=COUNT.due(date(2026, 11, 20)),
    ),
    last=Count(at=NOW - timedelta(hours=1), bubbles=1, seconds=1200.0, per_min=0.05),
    crossing=Crossing(
        threshold_per_min=1.0,
        low95=NOW + timedelta(days=5),
        low80=NOW + timedelta(days=10),
        median=NOW + timedelta(days=20),
        high80=NOW + timedelta(days=40),
        high95=None,
        p_already=0.0,
        p_not_in_60_days=0.04,
    ),
)
LINES: tuple[Line, ...] = (
    WAITING,
    Unread(vessel="sloe", error="sloe.csv:2: bubbles is a few; write a whole number, such as 12"),
)


@pytest.fixture
def jars(tmp_path, monkeypatch):
    """The example diaries on the shelf, one with a fault, one bottled."""
    folder = tmp_path / "shelf"
    folder.mkdir()
    for name in ("quince.csv", "perry-pear.csv", "bubblerate.toml"):
        shutil.copy(EXAMPLES / name, folder)
    (folder / "almond.csv").write_text(BAD)
    bottled = "when,bubbles,event\n2026-10-01T21:00,3,\n2026-11-12T21:00,,bottled\n"
    (folder / "apple.csv").write_text(bottled)
    (folder / "._quince.csv").write_bytes(b"\0\5\x16\7")  # what one system leaves beside a file
    monkeypatch.setenv("COLUMNS", "92")
    return folder


@pytest.fixture
def run(capsys):
    def typed(*words, at=NOW):
        with pytest.raises(SystemExit) as done:
            main(["shelf", *words], now=lambda: at)
        said = capsys.readouterr()
        return int(done.value.code or 0), said.out, said.err

    return typed


# --- lines and their order -----------------------------------------------------------------------


def falling(name, *, days=12, extra=()):
    rows = [{"day": d, "bubbles": round(200 * 0.8**d), "seconds": 300} for d in range(days)]
    return diary(*rows, *extra, vessel=name)


def test_a_line_holds_what_the_verdict_holds():
    judgement = judge(falling("fig"), at=evening(12))
    shown = line(judgement)
    assert judgement.forecast is not None
    assert isinstance(shown, Judged)
    assert (shown.vessel, shown.verdict) == ("fig", judgement.verdict)
    assert shown.last == Count(
        at=evening(11), bubbles=17, seconds=300.0, per_min=pytest.approx(3.4)
    )
    assert shown.crossing == judgement.forecast.crossing


def test_a_jar_without_counts_or_forecast_has_neither():
    shown = line(judge(diary({"day": 0, "event": "pitched"}), at=evening(1)))
    assert isinstance(shown, Judged)
    assert (shown.last, shown.crossing) == (None, None)
    assert shown.verdict.next.do


def test_a_leak_gives_no_date():
    shown = line(judged(read(EXAMPLES / "russet-cider.csv")))
    assert isinstance(shown, Judged)
    assert shown.crossing is None


def test_bottled_wine_has_no_date_to_come():
    bottled = falling("fig", extra=({"day": 12, "event": "bottled"},))
    shown = line(judge(bottled, at=evening(13)))
    assert isinstance(shown, Bottled)
    assert (shown.bottled_at, shown.verdict.next.on) == (evening(12), None)


def test_the_order_is_due_then_name_then_unread_then_bottled():
    at = evening(12)
    found = [
        falling("apple", extra=({"day": 12, "event": "bottled"},)),
        Unread(vessel="almond", error="almond.csv: is empty"),
        falling("pear"),
        falling("fig"),
        falling("medlar", days=9),
    ]
    ordered = due_first(glance(one, at=at, settings=Settings()) for one in found)
    lines = [one.line for one in ordered]
    assert [one.vessel for one in lines][-2:] == ["almond", "apple"]
    due = [(one.verdict.next.on, one.vessel) for one in lines if isinstance(one, Judged)]
    assert due == sorted(due)
    assert len(due) == 3
    assert [one.vessel for one in lines if one.vessel in {"fig", "pear"}] == ["fig", "pear"]


def test_every_diary_of_the_folder_is_read_or_says_why(jars):
    found = [*diaries(jars, settings(jars))]
    assert [one.vessel for one in found] == ["almond", "apple", "perry-pear", "quince"]
    assert isinstance(found[0], Unread)
    assert found[0].error.startswith("almond.csv:2: bubbles is")


# --- the table -----------------------------------------------------------------------------------


@pytest.mark.parametrize("width", [55, 60, 70, 80, 92, 120])
def test_no_line_is_wider_than_the_terminal(width):
    move = CommonMove(on=NOW.date(), jars=("a",) * 4, compared=5, times=1.6, warmer_c=3.0)
    text = shelf_text(LINES, move, width=width)
    assert max(map(len, text.splitlines())) <= width
    assert "24 Nov-24 Dec" in text
    assert "20 Nov: Count the" in text
    assert "a few" in " ".join(text.split())


def test_at_eighty_columns_a_vessel_is_one_line():
    text = shelf_text(LINES[:1], None, width=80)
    assert len(text.splitlines()) == 2


@pytest.mark.parametrize("step", [COUNT, LOOK_FOR_LEES, PRESS, RACK, READ, ROUSE, WARM])
def test_what_to_do_begins_as_the_verdict_does(step):
    next_ = replace(WAITING.verdict, next=step.due(NOW.date()))
    shown = shelf_text([replace(WAITING, verdict=next_)], None, width=140)
    words = shown.splitlines()[1].partition("today: ")[2]
    assert words
    assert step.do.startswith(words)


def test_every_kind_of_step_has_its_few_words():
    assert {*_TO_DO} == {*Kind}
    assert all(0 < len(words) <= 40 for words in _TO_DO.values())


def test_in_colour_the_words_are_the_same():
    plain = shelf_text(LINES, None, width=80)
    coloured = shelf_text(LINES, None, width=80, colour=True)
    assert "\x1b[" in coloured
    assert "\x1b[" not in plain
    assert re.sub(r"\x1b\[[\d;]*m", "", coloured) == plain


@pytest.mark.parametrize(
    ("times", "warmer_c", "words"),
    [
        (1.62, 3.0, "quickened together, to 1.6 times their usual: weather or heating, not yeast; "
         "they stand 3.0 C warmer."),
        (0.48, -2.5, "slowed together, to 0.5 times their usual: weather or heating, not yeast; "
         "they stand 2.5 C colder."),
        (2.0, 0.2, "quickened together, to 2.0 times their usual: weather or heating, not yeast."),
        (0.02, None, "slowed together, to under 0.1 times their usual: weather or heating, not "
         "yeast."),
    ],
)  # fmt: skip
def test_a_common_move_is_one_sentence(times, warmer_c, words):
    move = CommonMove(
        on=NOW.date(), jars=("a", "b", "c"), compared=4, times=times, warmer_c=warmer_c
    )
    assert move_text(move) == f"14 Nov 2026: 3 of 4 jars {words}"


def test_the_csv_reads_back_with_what_the_lines_hold():
    first, second = csv.DictReader(io.StringIO(shelf_csv(LINES)))
    assert first["vessel"] == "chestnut-honey-mead"
    assert float(first["per_min"]) == 0.05
    assert WAITING.crossing is not None
    assert datetime.fromisoformat(first["below_about"]) == WAITING.crossing.median
    assert first["next"] == WAITING.verdict.next.do
    assert date.fromisoformat(first["due"]) == WAITING.verdict.next.on
    assert second["error"].startswith("sloe.csv:2: bubbles is a few")
    assert {value for name, value in second.items() if name not in {"vessel", "error"}} == {""}


# --- the command ---------------------------------------------------------------------------------


def test_the_shelf_shows_a_line_for_every_jar(run, jars):
    code, out, err = run()
    assert (code, err) == (0, "")
    head, *rest = out.splitlines()
    assert head.split("  ")[0] == "vessel"
    names = [row.split()[0] for row in rest]
    assert names[-1] == "apple"
    assert names[-2] == "almond.csv:2:"
    assert {*names[:-2]} == {"quince", "perry-pear"}
    assert re.search(
        r"^quince +0/min 14 Nov +\d-\d Nov +go +today: Rack it off its lees$", out, re.MULTILINE
    )
    assert "\x1b" not in out


def test_json_is_the_list_of_what_verdict_prints(run, jars):
    code, out, err = run("--json")
    assert code == 0
    known = settings(jars)
    expected = {
        name: as_object(judge(read(jars / f"{name}.csv"), at=NOW, settings=known))
        for name in ("quince", "perry-pear", "apple")
    }
    found = json.loads(out)
    assert {one["vessel"]: one for one in found} == expected
    assert found[-1]["vessel"] == "apple"
    assert re.fullmatch(r"bubblerate: almond\.csv:2: bubbles is [^\n]+\n", err)


def test_csv_holds_the_fault_in_a_cell_of_its_own(run, jars):
    code, out, err = run("--csv")
    rows = list(csv.DictReader(io.StringIO(out)))
    assert (code, err, len(rows)) == (0, "", 4)
    assert [row["vessel"] for row in rows if row["error"]] == ["almond"]


@pytest.mark.parametrize("words", [(), ("--csv",), ("--json",)])
def test_where_nothing_can_be_read_the_exit_code_says_so(run, jars, words):
    for name in ("quince", "perry-pear", "apple"):
        (jars / f"{name}.csv").unlink()
    code, out, err = run(*words)
    assert code == 2
    assert "almond.csv:2: bubbles is" in out + err


@pytest.mark.parametrize(
    ("words", "out"), [((), None), (("--csv",), "vessel,counted_at"), (("--json",), "[]\n")]
)
@pytest.mark.parametrize("missing", [True, False])
def test_an_empty_shelf_says_how_to_begin(run, tmp_path, words, out, missing):
    if not missing:
        (tmp_path / "shelf").mkdir()
    code, printed, err = run(*words)
    kind = (
        f"No diary in {tmp_path / 'shelf'} yet; begin one: bubblerate start quince --litres 4.5\n"
    )
    assert code == 0
    assert (printed if out is None else err) == kind
    assert out is None or printed.startswith(out)


def test_one_form_at_a_time(run, jars):
    assert run("--csv", "--json") == (2, "", "bubblerate: choose --json or --csv\n")


def test_jars_that_moved_together_are_spoken_of(run, tmp_path):
    folder = tmp_path / "shelf"
    folder.mkdir()
    for n, name in enumerate(("fig", "pear", "sloe", "medlar"), 1):
        counts = [round((40 + 10 * n) * 0.85**day) for day in range(8)]
        rows = [f"{evening(d).isoformat()},{c},300,18" for d, c in enumerate(counts)]
        rows.append(f"{evening(8).isoformat()},{round(0.4 * counts[-1])},300,13")
        (folder / f"{name}.csv").write_text("\n".join(["when,bubbles,seconds,temp_c", *rows, ""]))
    _, out, _ = run(at=evening(8.05))
    said = " ".join(out.partition("\n\n")[2].split())
    assert said.startswith("9 Oct 2026: 4 of 4 jars slowed together, to 0.")
    assert said.endswith("weather or heating, not yeast; they stand 5.0 C colder.")


typist = pytest.importorskip("typist", reason="pseudo-terminals are of POSIX", exc_type=ImportError)


@pytest.mark.parametrize(
    ("code", "coloured"),
    [("", True), ("import os; os.environ['NO_COLOR'] = '1'\n", False)],
)
def test_colour_is_for_a_terminal_that_has_not_said_no(jars, code, coloured):
    with typist.Typist("shelf", code=code, columns=60) as person:
        assert person.ends() == 0
    assert ("\x1b[" in person.screen) is coloured
    bare = re.sub(r"\x1b\[[\d;]*m", "", person.screen)
    assert max(map(len, bare.splitlines())) <= 60


# --- many jars -----------------------------------------------------------------------------------


def test_workers_give_the_same_shelf(jars, run):
    alone, together = run("--csv", "--workers", "1"), run("--csv", "--workers", "2")
    assert alone == together
    assert alone[1].count("\n") == 5


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--workers", "0"), "workers is 0; write 1 or more"),
        (("--workers", "2", "--scheduler", "tcp://x:1"), "choose --workers, of this machine, or"),
    ],
)
def test_workers_that_cannot_be_are_one_line(jars, run, words, said):
    code, out, err = run(*words)
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert said in err
