import json
import runpy
from datetime import datetime

import pytest

from bubblerate.cli import main
from bubblerate.diary.reading import read

from scenes import EXAMPLES

# What each jar is there to show, as the head of make_diaries.py tells it.
RACKING = {
    "quince": ("go", "both", "gravity-steady"),
    "perry-pear": ("wait", "bubbles", "above-threshold"),
    "damson": ("wait", "gravity", "stuck"),
    "chestnut-honey-mead": ("wait", "bubbles", "above-threshold"),
    "russet-cider": ("wait", "gravity", "leak"),
    "sloe": ("wait", "none", "cold-pause"),
    "medlar": ("wait", "none", "course"),  # racked long ago: nothing to rack it off
}
BOTTLING = {
    "quince": ("wait", "both", "still-bubbling"),
    "perry-pear": ("wait", "bubbles", "no-gravity"),
    "damson": ("wait", "gravity", "sweetness-left"),
    "chestnut-honey-mead": ("wait", "both", "still-bubbling"),
    "russet-cider": ("wait", "gravity", "sweetness-left"),
    "sloe": ("wait", "both", "still-bubbling"),
    "medlar": ("go", "both", "gravity-steady"),
}


@pytest.fixture
def answer(capsys):
    def asked(vessel: str, question: str) -> dict:
        """What is said on the last evening written down."""
        last = read(EXAMPLES / f"{vessel}.csv").live[-1].when.isoformat()
        words = [vessel, "--shelf", str(EXAMPLES), "--at", last, "--on", question, "--json"]
        with pytest.raises(SystemExit) as done:
            main(["verdict", *words])
        assert done.value.code == 0
        return json.loads(capsys.readouterr().out)

    return asked


def told(found: dict) -> tuple[str, str, str]:
    return found["verdict"], found["firmness"], found["reasons"][0]["code"]


def test_every_example_is_asked():
    names = {path.stem for path in EXAMPLES.glob("*.csv")}
    assert names == {*RACKING} == {*BOTTLING}


@pytest.mark.parametrize("vessel", RACKING)
def test_an_example_is_answered_on_racking_as_its_story_says(answer, vessel):
    assert told(answer(vessel, "racking")) == RACKING[vessel]


@pytest.mark.parametrize("vessel", BOTTLING)
def test_an_example_is_answered_on_bottling_as_its_story_says(answer, vessel):
    assert told(answer(vessel, "bottling")) == BOTTLING[vessel]


@pytest.mark.parametrize("vessel", ["quince", "sloe"])
def test_the_same_diary_always_gets_the_same_answer(answer, vessel):
    assert answer(vessel, "racking") == answer(vessel, "racking")


def test_the_slow_mead_is_given_a_date_still_ahead(answer):
    found = answer("chestnut-honey-mead", "racking")
    crossing = {k: datetime.fromisoformat(v) for k, v in found["crossing"].items() if k[0] in "lmh"}
    assert datetime.fromisoformat(found["asked_at"]) < crossing["low80"]
    assert [*crossing] == ["low95", "low80", "median", "high80", "high95"]
    assert [*crossing.values()] == sorted(crossing.values())
    assert (found["phase"], found["next"]["kind"]) == ("fermenting", "count")


def test_bubbles_of_a_leak_forecast_no_gravity(answer):
    gravity = answer("russet-cider", "racking")["gravity"]
    assert gravity["predicted_finish"] is None
    assert gravity["points_left"] is None
    assert gravity["steady"] is False


@pytest.mark.parametrize("vessel", ["quince", "medlar", "damson"])
def test_a_bubble_of_an_example_is_as_large_as_it_was_made(answer, vessel):
    made_with_ml = runpy.run_path(str(EXAMPLES / "make_diaries.py"))["ML_PER_BUBBLE"]
    bubble = answer(vessel, "racking")["bubble_ml"]
    assert bubble["low80"] < made_with_ml < bubble["high80"]


def test_the_examples_are_written_again_byte_for_byte(tmp_path):
    script = tmp_path / "make_diaries.py"
    script.write_bytes((EXAMPLES / script.name).read_bytes())
    runpy.run_path(str(script), run_name="__main__")
    written = {path.name: path.read_bytes() for path in tmp_path.glob("*.csv")}
    assert written == {path.name: path.read_bytes() for path in EXAMPLES.glob("*.csv")}
