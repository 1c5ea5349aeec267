"""after, label and diary --as tag, as a person types them."""

import json
import re
import shlex
import shutil
from datetime import date, timedelta
from pathlib import Path

import pytest

from bubblerate.diary.reading import read
from bubblerate.diary.settings import Keeping
from bubblerate.diary.settings_file import settings
from bubblerate.show.calendar import step_uid
from bubblerate.text import format_day

from scenes import EXAMPLES, Run, Said, evening, written

GUIDE = Path(__file__).parent.parent.parent / "examples" / "guide"
LAST = {"quince": "2026-11-14T21:00+00:00", "medlar": "2026-11-16T22:00+00:00"}
SEEN = """
[vessel.medlar]
finish = 0.996
litres = 4.5
clear_since = 2026-10-08
degassed_on = 2026-11-10
malolactic_settled_on = 2026-11-10
style = "plum wine"
ph = 3.4
full_litres = 4.6
"""


def after(run: Run, jars: Path, vessel: str, *more: str) -> Said:
    return run("after", vessel, "--shelf", str(jars), "--at", LAST[vessel], *more)


def flat(text: str) -> str:
    return " ".join(text.split())


# --- after ---------------------------------------------------------------------------------------


def test_after_says_where_the_wine_stands_in_six_lines(run, jars, monkeypatch):
    monkeypatch.setenv("COLUMNS", "50")
    said = after(run, jars, "quince")
    assert (said.code, said.err) == (0, "")
    assert said.out.splitlines() == [
        "quince   fermenting. Rack it? GO",
        "next     today (since 9 Nov), by 30 Nov  rack",
        "then     Feb to May  bottle (earliest 8 Jan)",
        "then     Aug 2027 to May 2028  first glass",
        "bottles  3 to 5 of 75 cl, if not topped up",
        "unknown  style, pH",
    ]


@pytest.mark.parametrize("vessel", LAST)
def test_all_of_it_begins_with_the_short_answer_and_dates_every_step(run, jars, vessel):
    short = after(run, jars, vessel).out
    said = after(run, jars, vessel, "--all").out
    assert 4 <= len(short.splitlines()) <= 6
    assert said.startswith(short)
    steps = json.loads(after(run, jars, vessel, "--json").out)["steps"]
    assert steps
    assert all(step["do"] in flat(said) for step in steps)


def test_a_wine_of_which_all_was_seen_may_be_bottled(run, jars):
    (jars / "bubblerate.toml").write_text(SEEN, encoding="utf-8")
    found = json.loads(after(run, jars, "medlar", "--json").out)
    assert (found["phase"], found["verdict"], found["next"]["kind"]) == (
        *("clearing", "go", "bottle"),
    )
    assert [step["kind"] for step in found["steps"]] == [*["watch"] * 4, "drink"]
    assert "Bottle it? GO" in after(run, jars, "medlar").out


def test_one_thing_not_seen_is_a_wait_on_every_screen(run, jars):
    rows = (jars / "medlar.csv").read_text().splitlines()
    kept = [row for row in rows if ",clear," not in row]
    assert len(kept) == len(rows) - 1
    (jars / "medlar.csv").write_text("\n".join([*kept, ""]))
    assert "Bottle it? WAIT" in after(run, jars, "medlar").out
    words = ("--check", "--shelf", str(jars), "--at", LAST["medlar"])
    assert run("verdict", "medlar", *words).code == 1


def test_figures_come_with_their_caution_and_the_packet(run, jars):
    (jars / "bubblerate.toml").write_text(SEEN, encoding="utf-8")
    text = flat(after(run, jars, "medlar", "--all").out)
    assert "sulphite 26 to 40 mg/L free at pH 3.4, good to 0.1 [published table]" in text
    assert "Follow the packet. ! People with asthma may react to it." in text
    assert "top up 0.30 L (10.6 UK fl oz, 10.1 US fl oz) to be full (as you set it)" in text
    assert "litres 4.3 L (0.95 UK gal, 1.14 US gal). Lost so far: 0.20 L when racked." in text
    assert "bottles 5 of 75 cl, or 8 of 50 cl" in text


def test_no_dose_but_of_sulphite_is_printed(run, jars):
    (jars / "bubblerate.toml").write_text(SEEN, encoding="utf-8")
    for vessel in LAST:
        text = flat(after(run, jars, vessel, "--all").out)
        for found in re.finditer(r"\d ?(?:m?g\b(?!/L)|mg/L|ml\b|tablets?|tsp|teaspoon)", text):
            sulphite = text[text.rindex(" sulphite ", 0, found.start()) :]
            assert found.start() - (len(text) - len(sulphite)) < 220
        assert not re.search(r"\b(?:safe|safely)\b", text)


@pytest.mark.parametrize("vessel", sorted(path.stem for path in EXAMPLES.glob("*.csv")))
@pytest.mark.parametrize("columns", [50, 92])
def test_no_line_of_any_jar_is_too_long_to_read(run, jars, monkeypatch, vessel, columns):
    monkeypatch.setenv("COLUMNS", str(columns))
    at = read(EXAMPLES / f"{vessel}.csv").live[-1].when.isoformat()
    for more in ([], ["--all"]):
        said = run("after", vessel, *more, "--shelf", str(jars), "--at", at)
        assert said.code == 0
        assert max(map(len, said.out.splitlines())) <= columns


def test_the_whole_way_of_a_jar_from_go_to_glass(run, jars):
    """Every step that is done is an event, and what comes next moves on."""

    def at(day: str) -> tuple[str, str, str]:
        said = run("after", "quince", "--json", "--shelf", str(jars), "--at", day)
        assert said.code == 0
        found = json.loads(said.out)
        return found["phase"], found["next"]["kind"], found["next"]["on"]

    def did(event: str, day: str, *more: str) -> None:
        words = ("--when", f"{day}T21:00", "--shelf", str(jars), *more)
        assert run("event", "quince", event, *words).code == 0

    def wrote(command: str, day: str, *words: str) -> None:
        words = (*words, "--when", f"{day}T21:00", "--shelf", str(jars))
        assert run(command, "quince", *words).code == 0

    assert at("2026-11-15") == ("fermenting", "rack", "2026-11-15")
    did("racked", "2026-11-15", "--litres", "4.4")
    assert at("2026-11-16") == ("clearing", "look", "2026-12-15")
    did("clear", "2026-12-15")
    did("still", "2026-12-15")
    assert at("2026-12-16") == ("clearing", "read", "2026-12-31")
    wrote("gravity", "2026-12-31", "0.996")
    wrote("tally", "2026-12-31", "none", "--over", "5m")
    assert at("2026-12-31") == ("clearing", "read", "2027-01-14")
    wrote("gravity", "2027-01-14", "0.996")
    wrote("tally", "2027-01-14", "none", "--over", "5m")
    assert at("2027-01-14") == ("clearing", "bottle", "2027-01-14")
    did("bottled", "2027-01-14")
    assert at("2027-01-15")[:2] == ("bottled", "watch")
    assert at("2027-04-15")[:2] == ("bottled", "drink")
    label = run("label", "quince", "--shelf", str(jars), "--at", "2027-02-01").out.splitlines()
    assert "Bottled 14 Jan 2027" in label


def test_after_writes_a_calendar_and_says_where(run, jars, tmp_path):
    said = after(run, jars, "quince", "--ics", str(tmp_path / "q.ics"))
    assert said.out.endswith(f"quince: calendar saved as {tmp_path / 'q.ics'}\n")
    text = (tmp_path / "q.ics").read_bytes().decode().replace("\r\n ", "")
    pitched_on = read(EXAMPLES / "quince.csv").live[0].when.date()
    assert f"UID:{step_uid('quince', pitched_on, 'bottle', 1)}" in text
    assert text.count("BEGIN:VEVENT") == len(set(re.findall(r"UID:.*", text))) > 6


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("after", "quinse"), "did you mean quince?"),
        (("after", "quince", "--ics", "q.txt"), "q.txt: a calendar ends in .ics"),
        (("after", "quince", "--at", "2099-01-01"), "more than ten years ahead"),
        (("label", "quince", "-o", "q.gif"), "q.gif: a picture ends in .png, .svg, .pdf"),
        (("diary", "quince", "--as", "poem"), "--as"),
    ],
)
def test_what_cannot_be_used_is_one_line(run, jars, words, message):
    said = run(*words, "--shelf", str(jars))
    assert said.code == 2
    assert message in said.err
    assert said.err.count("\n") == 1


# --- label and card ------------------------------------------------------------------------------


def test_a_label_is_printed_and_drawn(run, jars, tmp_path):
    said = run("label", "quince", "--shelf", str(jars), "-o", str(tmp_path / "l.svg"))
    assert said.code == 0
    assert said.out.splitlines()[:3] == [
        "quince",
        "2026",
        "Strength about 12 % vol (an estimate)",
    ]
    assert (tmp_path / "l.svg").read_text(encoding="utf-8").startswith("<?xml")


def test_letters_without_a_font_are_told_of(run, jars, tmp_path, monkeypatch):
    from bubblerate.show.pictures import letters as lettering

    monkeypatch.setattr(lettering, "_installed", list)
    shutil.copy(jars / "quince.csv", jars / "梅酒.csv")
    said = run("label", "梅酒", "--shelf", str(jars), "-o", str(tmp_path / "l.png"))
    assert said.code == 0
    assert said.out.startswith("梅酒\n")
    assert said.err.startswith("bubblerate: no font here has 梅酒; the picture shows ? instead")


def test_the_story_of_a_jar_fits_a_card(run, jars):
    said = run("diary", "medlar", "--as", "tag", "--shelf", str(jars))
    assert (said.code, said.err) == (0, "")
    assert "7 Oct   racked, 4.3 L" in said.out
    assert run("diary", "medlar", "--shelf", str(jars)).out != said.out


# --- what the guide says -------------------------------------------------------------------------


def block(language: str, page: str) -> str:
    text = (GUIDE / page).read_text(encoding="utf-8")
    return re.findall(rf"```{language}\n(.*?)```", text, re.DOTALL)[0]


def test_the_lines_on_bottling_run(run, jars, tmp_path, monkeypatch):
    monkeypatch.setenv("BUBBLERATE_SHELF", str(jars))
    monkeypatch.chdir(tmp_path)
    lines = [line.split("#")[0].strip() for line in block("sh", "bottling.md").splitlines()]
    assert len(lines) == 12
    for line in lines:
        assert run(*shlex.split(line)[1:]).code == 0
    made = sorted(path.name for path in tmp_path.glob("*.*"))
    assert made == ["bottling.pdf", "labels.pdf", "quince.ics"]


def test_the_settings_of_the_guide_can_be_used_and_are_the_usual_ones(tmp_path):
    (tmp_path / "bubblerate.toml").write_text(block("toml", "start.md"), encoding="utf-8")
    found = settings(tmp_path)
    assert found.keeping == Keeping()
    assert found.vessel("quince").style == "plum wine"


def test_sugar_that_stands_in_a_note_alone_is_asked_about_till_a_row_answers(run, tmp_path):
    table = tmp_path / "plums.csv"
    table.write_text("Date,Bubbles,SG,Notes\n2026-10-01,9,1.080,\n2026-10-20,0,,added 90 g sugar\n")
    place = ("--shelf", str(tmp_path / "jars"))
    said = run("import", str(table), "--into", "plum", "--yes", *place)
    assert said.code == 0, said
    assert "1 note that may mention sugar, first on line 3" in flat(said.out)
    for words in (("diary", "plum"), ("verdict", "plum")):
        assert "bubblerate event plum fed --when 2026-10-20T21:00" in run(*words, *place).err
    for answer in ("fed", "not-fed"):
        before = (tmp_path / "jars" / "plum.csv").read_bytes()
        assert run("event", "plum", answer, "--when", "2026-10-20T21:00", *place).code == 0
        for word in ("diary", "verdict"):
            assert "mentions sugar" not in run(word, "plum", *place).err
        assert run("strike", "plum", "4", *place).code == 0
        assert "not-fed" in run("verdict", "plum", *place).err
        (tmp_path / "jars" / "plum.csv").write_bytes(before)


def test_a_plan_names_no_day_that_is_past_nor_bottles_on_the_reading_of_returned_bubbles(
    run, tmp_path
):
    rows = [{"day": 0, "sg": 1.085, "event": "pitched", "litres": 4.5}]
    rows += [{"day": n, "bubbles": int(90 * 0.85**n), "seconds": 120} for n in range(2, 40, 2)]
    rows += [{"day": 42, "sg": 0.996}, {"day": 43, "event": "racked", "litres": 4.3}]
    for day in (60, 75, 90):
        rows += [{"day": day, "sg": 0.996}, {"day": day + 0.1, "bubbles": 0, "seconds": 300}]
    rows += [{"day": 91, "event": "clear"}, {"day": 92, "event": "still"}]
    path = written(tmp_path / "fig.csv", *rows, {"day": 100, "bubbles": 1, "seconds": 5})
    for later in (100.1, 149.0):
        said = run("after", str(path), "--json", "--at", evening(later).isoformat())
        found = json.loads(said.out)
        bottled = next(step for step in found["steps"] if step["kind"] == "bottle")
        asked_for = date.fromisoformat(found["next"]["on"])
        assert found["next"]["kind"] == "read"
        assert date.fromisoformat(bottled["on"]) - asked_for >= timedelta(days=14)
        told = run("after", str(path), "--at", evening(later).isoformat()).out
        assert format_day(date.fromisoformat(bottled["on"]), year=False) in told
