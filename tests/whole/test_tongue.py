"""The program in another tongue: what a translator may change, and what stays as it is."""

import importlib
import json
import re
import subprocess
import sys
from datetime import datetime
from pathlib import Path

import polib
import pytest

import bubblerate
from bubblerate.course.as_json import as_object
from bubblerate.show.shelf_text import _COLUMNS

from scenes import EXAMPLES

SCRIPTS = Path(__file__).parent.parent.parent / ".ci"
MOMENT = "2026-11-14T22:00"
# Fields of the JSON that hold words.
WORDED = {"text", "do", "also", "care"}
PAGE = """
import sys
from pathlib import Path
from bubblerate.page.pages import Pages
from bubblerate.page.app import make_app
from bubblerate.page.door import Door, door_key
from bubblerate.cli.common import machine_clock
folder = Path(sys.argv[1])
key = door_key(folder)
door = Door(key=key, names=("localhost",), port=80)
web = make_app(Pages.of(folder, door=door, clock=machine_clock)).test_client()
web.get(f"/k/{key}", base_url="http://localhost")
for address in ("/", "/jar/fig", "/evening", "/cellar", "/static/page.js"):
    answer = web.get(address, base_url="http://localhost")
    assert answer.status_code == 200, (address, answer.text)
    print(answer.text)
"""


@pytest.fixture(scope="module")
def tongue():
    """The script as a module."""
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(SCRIPTS)
        return importlib.import_module("tongue")


@pytest.fixture(scope="module")
def template(tongue):
    """Every sentence, as the code has it."""
    return tongue.template()


def backwards(words):
    """Words of an invented tongue: each is written from its end, and the values stay."""
    parts = re.split(r"(\{[^{}]*\})", words)
    return "".join(
        part if part[:1] == "{" else re.sub(r"[A-Za-z]{2,}", lambda m: m[0][::-1], part)
        for part in parts
    )


@pytest.fixture(scope="module")
def copy(tongue, template, tmp_path_factory):
    """The package in the invented tongue, whole."""
    po = polib.POFile()
    for entry in template:
        said = backwards(entry.msgid)
        po.append(polib.POEntry(msgid=entry.msgid, msgctxt=entry.msgctxt, msgstr=said))
    return tongue.build(po, tmp_path_factory.mktemp("tongue")).parent


def run(folder, *words):
    """What a program run in a folder prints."""
    done = subprocess.run(
        [sys.executable, *words], cwd=folder, capture_output=True, text=True, encoding="utf-8"
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def kept(found):
    """An object without its words."""
    if isinstance(found, dict):
        return {name: kept(value) for name, value in found.items() if name not in WORDED}
    return [kept(one) for one in found] if isinstance(found, list) else found


def test_the_template_is_current(tongue, template):
    kept_one = polib.pofile(str(tongue.TEMPLATE))
    assert [(e.msgctxt, e.msgid, e.occurrences) for e in kept_one] == [
        (e.msgctxt, e.msgid, e.occurrences) for e in template
    ], "python .ci/tongue.py writes it again"


def test_sentences_helps_and_labels_are_in_it(template):
    said = {(entry.msgctxt, entry.msgid) for entry in template}
    assert (None, "Rack it off its lees.") in said
    assert (None, "Say go or wait, and why, when, and what to do next.") in said
    assert (None, "Write the count down") in said
    assert (None, "The computer does not answer.") in said
    assert (None, "Answer as of this moment, ignoring later rows.") in said
    assert ("show/verdict_text.py", "why") in said
    for code in ("racked", "quiet-but-high", "below_from", "asked_at", "bubblerate.toml"):
        assert code not in {words for context, words in said if context != "show/glossary.py"}


def test_a_value_may_move_but_not_be_lost(tongue):
    def refused(old, new):
        po = polib.POFile()
        po.append(polib.POEntry(msgid=old, msgstr=new))
        return tongue.refusals(po)

    assert not refused("{count} in {spell}", "za {spell} {count}")
    assert not refused("{sg:.3f} is high", "vysoko je {sg:.3f}")
    for new in ("{count}", "{count} {spell} {spell}", "{count} {time}"):
        assert "it needs the values of" in refused("{count} in {spell}", new)[0]
    assert "blanks at its ends" in refused(" at {sample} C", "pri {sample} C")[0]


def test_a_refused_translation_writes_nothing(tongue, tmp_path):
    po = polib.POFile()
    po.append(polib.POEntry(msgid="{name}: it is empty", msgstr="prazdno"))
    with pytest.raises(ValueError, match="needs the values"):
        tongue.build(po, tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_the_order_of_values_may_turn(tongue):
    source = 'def said(n, spell):\n    return f"{n} in {spell} or so"\n'
    made = tongue.in_python("show/x.py", source, lambda _: "asi za {spell} {n}")
    space = {}
    exec(made, space)
    assert space["said"](3, "5 min") == "asi za 5 min 3"


def test_commands_speak_it_and_programs_read_the_same(copy, tmp_path):
    at = datetime.fromisoformat(MOMENT).astimezone()
    known = bubblerate.settings(EXAMPLES)
    quince = as_object(
        bubblerate.judge(bubblerate.read(EXAMPLES / "quince.csv"), at=at, settings=known)
    )
    asked = ("-m", "bubblerate", "verdict", "quince", "--at", MOMENT, "--shelf", str(EXAMPLES))
    text = run(copy, *asked)
    assert "kcar ti?" in text
    assert "txen" in text
    ours, theirs = quince, json.loads(run(copy, *asked, "--json"))
    assert kept(theirs) == kept(ours)
    assert theirs["next"]["do"] == "kcaR ti ffo sti seel."
    table = run(
        copy, "-m", "bubblerate", "shelf", "--csv", "--at", MOMENT, "--shelf", str(EXAMPLES)
    )
    assert table.splitlines()[0].split(",") == list(_COLUMNS)
    # what is typed and what a diary holds are the same
    fig = tmp_path / "fig.csv"
    fig.write_bytes(b"when,bubbles,event,litres\n2026-11-01T21:00Z,40,,4.5\n")
    words = ("event", "fig", "racked", "--litres", "4.3", "--when", "2026-11-02", "--shelf")
    assert "fig: " in run(copy, "-m", "bubblerate", *words, str(tmp_path))
    assert b",racked," in fig.read_bytes()
    page = run(copy, "-c", PAGE, str(tmp_path))
    for said in ("etirW eht tnuoc nwod", "ehT retupmoc seod ton rewsna.", "erutarepmeT"):
        assert said in page
    for code in ('name="count"', 'value="racked"', 'action="/jar/fig/tally"'):
        assert code in page
