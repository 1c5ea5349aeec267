"""The command about: what is said of a jar, by a person who never opens the file."""

import json

import pytest


@pytest.fixture
def shelf(run, tmp_path, monkeypatch):
    monkeypatch.setenv("BUBBLERATE_SHELF", str(tmp_path / "jars"))
    run("start", "quince", "--litres", "4.5", "--sg", "1084")
    return tmp_path / "jars"


def test_what_is_said_is_written_told_and_shown(run, shelf):
    said = run("about", "quince", "--style", "perry", "--finish", "1008", "--ph", "3,4")
    assert said.out == "quince: style perry, finish 1.008, pH 3.4. Saved in bubblerate.toml.\n"
    assert (said.code, said.err) == (0, "")
    run("about", "quince", "--full", "1 UK gal", "--style", "pear wine")
    shown = run("about", "quince").out
    for text in ("style       pear wine", "finish      1.008", "full at     4.546", "not set"):
        assert text in shown


def test_it_says_what_stood_there_before_and_forgets(run, shelf):
    run("about", "quince", "--finish", "0.996")
    assert "finish 1.002 (was 0.996)" in run("about", "quince", "--finish", "1.002").out
    assert "finish not set (was 1.002)" in run("about", "quince", "--forget", "finish").out
    assert "0.996" not in (shelf / "bubblerate.toml").read_text()


def test_a_spare_jar_is_asked_for_nothing(run, shelf):
    run("start", "jug", "--litres", "0.7")
    run("about", "jug", "--spare-for", "quince")
    found = {one["vessel"]: one for one in json.loads(run("shelf", "--json").out)}
    assert found["jug"]["next"]["kind"] == "nothing"
    assert "a spare, for topping up" in run("shelf").out


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["qunce", "--style", "perry"], "did you mean quince?"),
        (["quince", "--ph", "34"], "vessel.quince.ph is 34.0; write a pH from 2.5 to 4.5"),
        (["quince", "--ph", "sour"], "--ph"),
        (["quince", "--style", " "], "--style is empty; to clear it write --forget style"),
        (["quince", "--forget", "colour"], "--forget is colour; write one of style, finish"),
        (["quince", "--ph", "3.4", "--forget", "ph"], "--ph is both set and forgotten"),
        (["quince", "--spare-for", "quince"], "--spare-for is quince itself"),
        (["quince", "--full", "1 gal"], "could be UK or US gallons"),
        (["quince", "--finish", "1.4"], "1.4"),
    ],
)
def test_what_will_not_do_is_one_line_and_writes_nothing(run, shelf, words, message):
    said = run("about", *words)
    assert (said.code, said.out, len(said.err.splitlines())) == (2, "", 1)
    assert message in said.err
    assert not (shelf / "bubblerate.toml").exists()


@pytest.mark.parametrize(
    ("words", "doubt"),
    [
        (["--style", "farm cidre"], "Did you mean cider?"),
        (["--spare-for", "plum"], "There is no diary plum on this shelf yet."),
    ],
)
def test_what_looks_like_a_slip_is_written_and_questioned(run, shelf, words, doubt):
    said = run("about", "quince", *words)
    assert said.code == 0
    assert doubt in said.err
    assert (shelf / "bubblerate.toml").exists()


def test_a_day_of_the_settings_is_shown_with_the_line_that_says_it_as_an_event(run, shelf):
    (shelf / "bubblerate.toml").write_text("[vessel.quince]\nclear_since = 2026-11-01\n")
    shown = run("about", "quince").out
    assert "clear       1 Nov 2026; write it as an event:" in shown
    assert "bubblerate event quince clear --when 2026-11-01" in shown


def test_rows_are_struck_and_taken_back_by_their_lines(run, shelf):
    for count in ("12", "11", "10"):
        run("tally", "quince", count)
    before = (shelf / "quince.csv").read_bytes()
    said = run("strike", "quince", "3", "4")
    assert said.out.count("struck line") == 2
    assert "To undo that: bubblerate strike quince 3 4 --back" in said.out
    assert run("strike", "quince", "3", "4", "--back").out.count("counts again, line") == 2
    assert (shelf / "quince.csv").read_bytes() == before
    run("strike", "quince", "last")
    assert "counts again, line 5" in run("strike", "quince", "last", "--back").out
    said = run("strike", "quince", "5", "3", "--back")
    assert (said.code, said.out) == (2, "")
    assert "is not struck; nothing was changed" in said.err


def test_a_jar_put_away_is_off_every_list_and_its_file_is_kept(run, shelf):
    run("start", "mistake", "--litres", "4.5")
    run("event", "mistake", "put-away")
    assert [one["vessel"] for one in json.loads(run("shelf", "--json").out)] == ["quince"]
    assert "mistake" not in run("shelf").out + run("shelf", "--csv").out
    assert (shelf / "mistake.csv").exists()
    said = run("verdict", "mistake")
    assert said.out.startswith("mistake: empty.")
    assert "There is nothing left in it." in said.out
    assert "care" not in said.out
    run("strike", "mistake", "last")
    assert "mistake" in run("shelf").out
