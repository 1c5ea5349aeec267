"""Situations in which a go would do harm, or a wait is needless, from the file to the answer."""

import json
from dataclasses import replace

import pytest

from cases import PITCHED, PROOF, SAID
from harms import BOTH, BUSY, CLOCKS, HARM, RACKED, read, silent
from kept import DONE as KEPT_DONE
from kept import HURTS, event
from scenes import evening, written

SITUATIONS = [
    *((name, rows, toml, 0.2, on) for name, rows, toml, ons in HARM for on in ons),
    *((name, rows, "", later, on) for name, rows, later, ons in CLOCKS for on in ons),
]


@pytest.fixture
def asked(run, tmp_path):
    """Ask of a file: exit code of --check, and the verdict."""

    def ask(rows, toml, later, on):
        rows = sorted(rows, key=lambda row: row["day"])
        at = evening(max(0.0, rows[-1]["day"]) + later)
        path = written(tmp_path / "fig.csv", *rows)
        (tmp_path / "bubblerate.toml").write_text(toml)
        words = [str(path), "--at", at.isoformat(), "--on", on, "--json", "--check"]
        said = run("verdict", *words)
        assert said.err == ""
        return said.code, json.loads(said.out)

    return ask


@pytest.mark.parametrize("on", BOTH)
def test_the_proof_that_these_situations_spoil_is_a_go(asked, on):
    rows = PROOF if on == "racking" else [*PROOF, RACKED]
    code, found = asked(rows, "", 0.2, on)
    assert (code, found["verdict"]) == (0, "go")


@pytest.mark.parametrize(
    ("rows", "toml", "later", "on"),
    [s[1:] for s in SITUATIONS],
    ids=[f"{s[0]}, {s[-1]}" for s in SITUATIONS],
)
def test_where_a_go_would_do_harm_the_answer_is_wait(asked, rows, toml, later, on):
    if on == "bottling" and rows[0] is PITCHED:  # neither what was seen nor a racking is lacking
        rows = [*rows, *SAID, RACKED]
    code, found = asked(rows, toml, later, on)
    assert (code, found["verdict"], found["question"]) == (1, "wait", on)
    assert found["reasons"]


# A person who strikes what is called a slip must not strike the fact and keep the hint.
@pytest.mark.parametrize("sg", [1.045, 1.030, 1.020])
def test_a_high_reading_beside_a_silent_airlock_is_never_called_misread(asked, sg):
    rows = [PITCHED, *BUSY, *silent(9, 5), *read((8.1, 1.050), (13.1, sg))]
    _, found = asked(rows, "", 0.2, "racking")
    assert not [r for r in found["reasons"] if r["code"] == "slip" and "gravity" in r["text"]]


# It may have woken, or the glass was misread: an act is the answer to neither.
@pytest.mark.parametrize("on", BOTH)
def test_a_perry_that_stood_and_then_reads_far_up_and_down_waits(asked, on):
    stood = replace(KEPT_DONE["perry topped up with like wine"], sg=(1.010,) * 4 + (1.013,))
    rows = [*stood.rows, event(stood.days[-1] + 0.04, None, sg=1.007)]
    code, found = asked(rows, stood.settings, 0.2, on)
    assert (code, found["verdict"]) == (1, "wait")


def test_a_perry_that_reads_far_lower_once_is_not_fermenting_again(asked):
    stood = KEPT_DONE["perry topped up with like wine"]
    rows = [*stood.rows, event(stood.days[-1] + 0.04, None, sg=0.999)]
    code, found = asked(rows, stood.settings, 0.2, "racking")
    assert (code, found["verdict"], found["phase"]) == (1, "wait", "clearing")


def test_a_reading_far_off_is_answered_by_a_later_one_of_its_evening(asked):
    stood = KEPT_DONE["perry topped up with like wine"]
    lower = event(stood.days[-1] + 0.04, None, sg=1.004)
    code, found = asked([*stood.rows, lower], stood.settings, 0.2, "bottling")
    assert (code, found["verdict"]) == (1, "wait")
    again = event(stood.days[-1] + 0.05, None, sg=stood.sg[-1])
    code, found = asked([*stood.rows, lower, again], stood.settings, 0.2, "bottling")
    assert (code, found["verdict"]) == (0, "go")


def test_a_note_of_sugar_is_answered_by_a_word_or_by_a_reading(asked):
    jar, _ = HURTS["a note of sugar that no row answers"]
    for answer in (event(28.15, "not-fed"), event(29, None, sg=jar.sg[-1])):
        code, found = asked([*jar.rows, answer], jar.settings, 0.2, "bottling")
        assert (code, found["verdict"]) == (0, "go")
    code, found = asked([*jar.rows, event(29, None, sg=1.010)], jar.settings, 0.2, "bottling")
    assert (code, found["verdict"]) == (1, "wait")


# --- jars kept to the eve of bottling ------------------------------------------------------------


@pytest.mark.parametrize("name", HURTS)
def test_what_would_hurt_in_a_bottle_waits_and_says_why(asked, name):
    jar, codes = HURTS[name]
    code, found = asked(jar.rows, jar.settings, jar.later, "bottling")
    assert (code, found["verdict"]) == (1, "wait")
    assert codes & {reason["code"] for reason in found["reasons"]}
    assert found["next"]["do"]


@pytest.mark.parametrize("name", KEPT_DONE)
def test_what_is_plainly_done_is_a_go(asked, name):
    jar = KEPT_DONE[name]
    code, found = asked(jar.rows, jar.settings, jar.later, "bottling")
    assert (code, found["verdict"], found["firmness"]) == (0, "go", "both"), found["reasons"]
    assert found["proof"]["chance_fizz"] <= 0.05
    assert found["proof"]["chance_burst"] <= 0.01
