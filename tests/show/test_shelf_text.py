import csv
import io
import json
import re
import shutil
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from bubblerate import as_object, judge, read, settings
from bubblerate.cli import main
from bubblerate.diary.folder import Unread, diaries
from bubblerate.ferment.chances import Crossing
from bubblerate.shelf.common_move import CommonMove
from bubblerate.shelf.overview import Bottled, Count, Glance, Judged, Line, due_first, line, unread
from bubblerate.show.shelf_text import move_text, shelf_csv, shelf_text
from bubblerate.show.step_text import SHORT
from bubblerate.text import cell_len
from bubblerate.verdict.decide import Verdict
from bubblerate.verdict.reasons import Kind, NextStep, Phase

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
        next=NextStep(
            Kind.COUNT, "Count them again.", date(2026, 11, 20), since=date(2026, 11, 20)
        ),
    ),
    phase=Phase.FERMENTING,
    asked_on=NOW.date(),
    last=Count(at=NOW - timedelta(hours=1), bubbles=1, seconds=1200.0, per_min=0.05),
    crossing=Crossing.of(
        np.array([5.0, 10.0, 20.0, 40.0, 70.0]),
        np.array([0.05, 0.1, 0.7, 0.1, 0.05]),  # the middles of these stand at the five limits
        NOW,
        1.0,
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
    known = read(EXAMPLES / "russet-cider.csv")
    shown = line(judge(known, at=known.live[-1].when, settings=settings(EXAMPLES)))
    assert isinstance(shown, Judged)
    assert shown.crossing is None


def test_bottled_wine_says_since_when_and_what_is_next():
    bottled = falling("fig", extra=({"day": 12, "event": "bottled"},))
    shown = line(judge(bottled, at=evening(13)))
    assert isinstance(shown, Bottled)
    assert (shown.bottled_at, shown.phase) == (evening(12), Phase.BOTTLED)
    assert shown.verdict.next.kind is Kind.RESCUE  # it still bubbled


def stepping(name, kind, on, *, since=None, until=None):
    """A jar with such a next step."""
    step = NextStep(kind, "Do it.", on, since=since or on, until=until)
    return Glance(
        line=replace(WAITING, verdict=replace(WAITING.verdict, vessel=name, next=step)), as_json={}
    )


def test_the_order_is_rescue_then_what_is_due_then_by_day_then_the_rest():
    def day(n):
        return date(2026, 11, n)

    in_order = [
        stepping("jam", Kind.RESCUE, day(14)),
        stepping("plum", Kind.RACK, day(14), since=day(9), until=day(20)),
        stepping("fig", Kind.WARM, day(14), since=day(8)),
        stepping("quince", Kind.READ, day(14), since=day(12)),
        stepping("apple", Kind.COUNT, day(15)),
        stepping("pear", Kind.COUNT, day(16)),
        unread(Unread(vessel="almond", error="almond.csv: is empty")),
        stepping("cider", Kind.DRINK, day(14), since=day(1)),
        stepping("spare", Kind.NOTHING, day(14)),
    ]
    assert due_first(reversed(in_order)) == in_order


def test_every_diary_of_the_folder_is_read_or_says_why(jars):
    found = [*diaries(jars, settings(jars))]
    assert [one.vessel for one in found] == ["almond", "apple", "perry-pear", "quince"]
    assert isinstance(found[0], Unread)
    assert found[0].error.startswith("almond.csv:2: bubbles is")


# --- the table -----------------------------------------------------------------------------------


@pytest.mark.parametrize("width", [50, 60, 80, 92, 120])
def test_no_line_is_wider_than_the_terminal(width):
    move = CommonMove(on=NOW.date(), jars=("a",) * 4, compared=5, times=1.6, warmer_c=3.0)
    wide = replace(WAITING, verdict=replace(WAITING.verdict, vessel="梅酒" * 20))
    text = shelf_text([wide, *LINES], move, width=width)
    assert max(map(cell_len, text.splitlines())) <= width
    assert re.search(r"ferment +wait +20 Nov +count$", text, re.MULTILINE)
    assert "a few" in " ".join(text.split())


@pytest.mark.parametrize("kind", Kind)
def test_at_fifty_columns_every_step_is_told_whole(kind):
    step = replace(WAITING.verdict.next, kind=kind)
    one = replace(WAITING, verdict=replace(WAITING.verdict, vessel="fig", next=step))
    (row,) = shelf_text([one], None, width=50).splitlines()
    spare = "a spare, for topping up"  # a jar with wine in it of which nothing is asked
    assert row.endswith(spare if kind is Kind.NOTHING else SHORT[kind])


def test_what_is_overdue_says_since_when():
    step = NextStep(Kind.RACK, "Rack it.", NOW.date(), since=date(2026, 11, 9))
    late = replace(WAITING, verdict=replace(WAITING.verdict, vessel="fig", next=step))
    assert shelf_text([late], None, width=50).endswith("today rack (since 9 Nov)")


def test_bottles_that_may_burst_say_stop():
    step = NextStep(Kind.RESCUE, "Open them.", NOW.date(), since=NOW.date())
    one = replace(WAITING, verdict=replace(WAITING.verdict, next=step), phase=Phase.BOTTLED)
    assert " STOP " in shelf_text([one], None, width=50)


def test_in_colour_the_words_are_the_same():
    plain = shelf_text(LINES, None, width=80)
    coloured = shelf_text(LINES, None, width=80, colour=True)
    assert "\x1b[" in coloured
    assert "\x1b[" not in plain
    assert re.sub(r"\x1b\[[\d;]*m", "", coloured) == plain


@pytest.mark.parametrize(
    ("times", "warmer_c", "words"),
    [
        (1.62, 3.0, "sped up together, to 1.6 times their usual: weather or heating, not yeast; "
         "they are 3.0 C warmer."),
        (0.48, -2.5, "slowed down together, to 0.5 times their usual: weather or heating, not "
         "yeast; "
         "they are 2.5 C colder."),
        (2.0, 0.2, "sped up together, to 2.0 times their usual: weather or heating, not yeast."),
        (0.02, None, "slowed down together, to under 0.1 times their usual: weather or heating, "
         "not "
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
    names = [row.split()[0] for row in out.splitlines()]
    assert names[:3] == ["apple", "quince", "perry-pear"]  # bottled while it worked: first
    assert names[3] == "almond.csv:2:"
    assert re.search(r"^apple +bottled +STOP +today +open the bottles", out, re.MULTILINE)
    assert re.search(r"^quince +ferment +go +today +rack \(since 9 Nov\)$", out, re.MULTILINE)
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
    fault = found.pop()
    assert {*fault} == {"vessel", "error"}
    assert fault["vessel"] == "almond"
    assert {one["vessel"]: one for one in found} == expected
    assert re.fullmatch(r"bubblerate: almond\.csv:2: bubbles is [^\n]+\n", err)


def test_the_shelf_can_be_asked_of_a_past_evening(run, jars):
    _, out, _ = run("--json", "--at", "2026-11-01T21:00")
    known = settings(jars)
    at = datetime.fromisoformat(json.loads(out)[0]["asked_at"])
    then = {one["vessel"]: one for one in json.loads(out)}
    assert then["quince"] == as_object(judge(read(jars / "quince.csv"), at=at, settings=known))
    assert then["quince"]["next"] != json.loads(run("--json")[1])[1]["next"]


def test_the_steps_of_all_jars_go_into_one_calendar(run, jars, tmp_path):
    code, out, _ = run("--ics", str(tmp_path / "s.ics"))
    assert code == 0
    assert out.endswith(f"Calendar saved as {tmp_path / 's.ics'}\n")
    text = (tmp_path / "s.ics").read_text()
    for name in ("apple", "quince", "perry-pear"):
        assert f"SUMMARY:{name}: " in text
    assert text.count("BEGIN:VALARM") == 3  # what is next, and no other


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
        f"No diary in {tmp_path / 'shelf'} yet; start one: bubblerate start quince --litres 4.5\n"
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
    assert said.startswith("9 Oct 2026: 4 of 4 jars slowed down together, to 0.")
    assert said.endswith("weather or heating, not yeast; they are 5.0 C colder.")


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
