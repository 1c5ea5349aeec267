"""after, label and diary --as tag, as a person types them."""

import re
import shutil
from pathlib import Path

import pytest

from bubblerate.diary.reading import read
from bubblerate.diary.settings import Keeping
from bubblerate.diary.settings_file import settings
from bubblerate.show.calendar import step_uid
from bubblerate.verdict import cautions

from scenes import EXAMPLES, Run, Said

README = (Path(__file__).parent.parent.parent / "README.md").read_text(encoding="utf-8")
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


def test_after_says_where_the_wine_stands_and_what_comes_next(run, jars):
    said = after(run, jars, "quince")
    assert (said.code, said.err) == (0, "")
    lines = said.out.splitlines()
    assert lines[0] == "quince: what comes next  (14 Nov 2026 21:00)"
    assert "  next     14 Nov 2026: First racking." in lines
    assert re.search(r"^  14 Nov 2026 +First racking +\[the verdict\]$", said.out, re.MULTILINE)
    assert re.search(r"^  29 Dec 2026 +Second racking", said.out, re.MULTILINE)
    assert re.search(r"^  28 Jan 2027 +Bottling", said.out, re.MULTILINE)
    assert "Bottle it?  WAIT" in said.out


def test_a_wine_of_which_all_was_seen_may_be_bottled(run, jars):
    (jars / "bubblerate.toml").write_text(SEEN, encoding="utf-8")
    said = after(run, jars, "medlar")
    assert "Bottle it?  GO, if it neither tastes sweet nor prickles." in said.out
    assert "  next     16 Nov 2026: Bottling." in said.out.splitlines()
    assert "unknown" not in said.out
    assert "FAIL" not in said.out
    assert re.search(r"^  16 Nov 2026 +Bottling", said.out, re.MULTILINE)
    assert re.search(r"^  16 May 2027 +Drink from", said.out, re.MULTILINE)


@pytest.mark.parametrize("left_out", ["clear_since", "degassed_on", "malolactic_settled_on"])
def test_one_thing_not_said_is_a_wait_where_the_verdict_is_a_go(run, jars, left_out):
    told = "\n".join(line for line in SEEN.splitlines() if not line.startswith(left_out))
    (jars / "bubblerate.toml").write_text(told, encoding="utf-8")
    said = after(run, jars, "medlar")
    assert "Bottle it?  WAIT" in said.out
    assert f"Then {left_out} = 2026-11-16 in bubblerate.toml." in flat(said.out)
    words = ("--on", "bottling", "--check", "--shelf", str(jars), "--at", LAST["medlar"])
    assert run("verdict", "medlar", *words).code == 0


def test_figures_come_with_their_caution_and_the_packet(run, jars):
    (jars / "bubblerate.toml").write_text(SEEN, encoding="utf-8")
    text = flat(after(run, jars, "medlar").out)
    assert "sulphite 26 to 40 mg/L free at pH 3.4, good to 0.1 [published table]" in text
    assert "Follow the packet. ! People with asthma may react to it." in text
    assert "top up 0.30 L (10.6 UK fl oz, 10.1 US fl oz) to be full (as you set it)" in text
    assert "litres 4.3 L (0.95 UK gal, 1.14 US gal). Lost so far: 0.20 L when racked." in text
    assert "bottles 5 of 75 cl, or 8 of 50 cl" in text


def test_no_dose_but_of_sulphite_is_printed(run, jars):
    (jars / "bubblerate.toml").write_text(SEEN, encoding="utf-8")
    for vessel in LAST:
        text = flat(after(run, jars, vessel).out)
        for found in re.finditer(r"\d ?(?:m?g\b|g/L|mg/L|ml\b|tablets?|tsp|teaspoon)", text):
            sulphite = text[text.rindex(" sulphite ", 0, found.start()) :]
            assert found.start() - (len(text) - len(sulphite)) < 220
        assert not re.search(r"\b(?:safe|safely)\b", text)


@pytest.mark.parametrize("vessel", LAST)
def test_each_caution_is_printed_once(run, jars, vessel):
    text = flat(after(run, jars, vessel).out)
    given = {
        name: text.count(flat(getattr(cautions, name)))
        for name in cautions.__all__
        if name.isupper()
    }
    assert max(given.values()) == 1
    assert given["BURST"] == given["HINT"] == given["SULPHITE"] == given["GLASS"] == 1


@pytest.mark.parametrize("vessel", sorted(path.stem for path in EXAMPLES.glob("*.csv")))
def test_no_line_of_any_jar_is_too_long_to_read(run, jars, vessel):
    found = read(EXAMPLES / f"{vessel}.csv")
    said = run("after", vessel, "--shelf", str(jars), "--at", found.live[-1].when.isoformat())
    assert said.code == 0
    assert max(map(len, said.out.splitlines())) <= 92


def test_the_whole_way_of_a_jar_from_go_to_glass(run, jars):
    """Every step that is done is an event, and what comes next moves on."""

    def at(day: str) -> str:
        said = run("after", "medlar", "--shelf", str(jars), "--at", day)
        assert said.code == 0
        return said.out

    def did(event: str, day: str, *more: str) -> None:
        words = ("--when", f"{day}T12:00", "--shelf", str(jars), *more)
        assert run("event", "medlar", event, *words).code == 0

    assert re.search(r"21 Nov 2026 +Second racking", at("2026-11-17"))
    did("racked", "2026-11-21", "--litres", "4.1")
    assert re.search(r"5 Jan 2027 +Third racking", at("2026-11-22"))
    did("fined", "2026-11-25", "--note", "isinglass")
    assert re.search(r"9 Dec 2026 +Third racking", at("2026-11-26"))
    did("racked", "2026-12-09", "--litres", "4.0")
    did("sulphited", "2026-12-09")
    text = at("2026-12-10")
    assert "Racked 3 times, last on 9 Dec 2026." in flat(text)
    assert re.search(r"23 Jan to 22 Feb 2027 +Chill", text)
    assert re.search(r"22 Feb to 8 Mar 2027 +Second fining", text)
    did("bottled", "2027-02-01", "--litres", "3.9")
    text = at("2027-02-02")
    assert "In the bottle since 1 Feb 2027." in text
    assert re.search(r"6 Feb 2027 +Lay corked bottles down", text)
    assert re.search(r"1 Aug 2027 +Drink from", text)
    assert "Bottle it?" not in text
    label = run("label", "medlar", "--shelf", str(jars)).out.splitlines()
    assert {"Bottled 1 Feb 2027", "Drink from Aug 2027", "Contains sulphite, fish"} <= {*label}


def test_after_writes_a_calendar_and_says_where(run, jars, tmp_path):
    said = after(run, jars, "quince", "--ics", str(tmp_path / "q.ics"))
    assert said.out.endswith(f"quince: calendar in {tmp_path / 'q.ics'}\n")
    text = (tmp_path / "q.ics").read_bytes().decode().replace("\r\n ", "")
    pitched_on = read(EXAMPLES / "quince.csv").live[0].when.date()
    assert f"UID:{step_uid('quince', pitched_on, 'bottling')}" in text
    assert text.count("BEGIN:VEVENT") == len(set(re.findall(r"UID:.*", text))) == 6


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
    from bubblerate.show.pictures import page as lettering

    monkeypatch.setattr(lettering, "_installed", list)
    shutil.copy(jars / "quince.csv", jars / "梅酒.csv")
    said = run("label", "梅酒", "--shelf", str(jars), "-o", str(tmp_path / "l.png"))
    assert said.code == 0
    assert said.out.startswith("梅酒\n")
    assert said.err.startswith("bubblerate: no font here has 梅酒; the picture shows ? for each")


def test_the_story_of_a_jar_fits_a_card(run, jars):
    said = run("diary", "medlar", "--as", "tag", "--shelf", str(jars))
    assert (said.code, said.err) == (0, "")
    assert "7 Oct   racked, 4.3 L" in said.out
    assert run("diary", "medlar", "--shelf", str(jars)).out != said.out


# --- what the README says ------------------------------------------------------------------------


def blocks(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", README, re.DOTALL)


def test_the_lines_of_the_readme_run(run, jars, tmp_path, monkeypatch):
    monkeypatch.setenv("BUBBLERATE_SHELF", str(jars))
    monkeypatch.chdir(tmp_path)
    lines = [line.split("#")[0].strip() for line in blocks("sh")[3].splitlines()]
    assert len(lines) == 5
    for line in lines:
        assert run(*line.replace('"', "").split()[1:]).code == 0
    assert {path.name for path in tmp_path.glob("*.*")} == {"quince.ics", "label.svg"}


def test_the_settings_of_the_readme_can_be_used_and_are_the_usual_ones(tmp_path):
    (tmp_path / "bubblerate.toml").write_text(blocks("toml")[1], encoding="utf-8")
    found = settings(tmp_path)
    assert found.keeping == Keeping()
    assert found.vessel("quince").style == "plum wine"
