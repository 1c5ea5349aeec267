import shlex
from pathlib import Path

import pytest

import bubblerate
from bubblerate.cli import _HOME
from bubblerate.cli.meant import ALSO
from bubblerate.diary.reading import read

from scenes import Said


@pytest.fixture
def shelf(tmp_path: Path, run) -> Path:
    """A shelf with one jar on it, named fig."""
    run("start", "fig")
    return tmp_path / "shelf"


def refused(said: Said) -> str:
    assert (said.code, said.out) == (2, "")
    assert said.err.count("\n") == 1
    return said.err.removeprefix("bubblerate: ").rstrip()


def test_another_word_for_a_command_does_the_same(run, shelf):
    said = run("count", "fig", "12", "--over", "90s")
    assert (said.code, said.err) == (0, "")
    assert read(shelf / "fig.csv").visits[-1].bubbles == 12
    assert run("TALLY", "fig", "13").code == 0
    assert run("rows", "fig").out == run("diary", "fig").out


def test_a_remark_copied_with_a_line_of_the_guide_is_left_out(run, shelf):
    assert run("tally", "fig", "12", "#", "12", "bubbles").code == 0
    assert read(shelf / "fig.csv").visits[-1].bubbles == 12
    assert run("#").out.startswith("Usage:")


def test_an_option_is_no_part_of_a_remark(run, shelf):
    before = read(shelf / "fig.csv").visits
    refused = run("tally", "fig", "12", "#", "--over", "90s")
    assert (refused.code, refused.err.count("\n")) == (2, 1)
    assert read(shelf / "fig.csv").visits == before
    assert run("tally", "fig", "12", "--note", "#", "--over", "90s").code == 0
    assert [(v.note, v.seconds) for v in read(shelf / "fig.csv").visits[-1:]] == [("#", 90.0)]


def test_no_other_word_is_a_command_itself_and_each_leads_to_one():
    assert not {*ALSO} & {*_HOME}
    assert {*ALSO.values()} <= {*_HOME}


def test_help_and_version_are_asked_for_in_words_too(run):
    assert run("help").out == run("--help").out
    assert run("help", "tally").out == run("help", "count").out == run("tally", "--help").out
    version = f"bubblerate {bubblerate.__version__}\n"
    assert run("version").out == run("--version").out == version


@pytest.mark.parametrize(
    ("words", "line"),
    [
        ("tally 12 fig", "tally fig 12"),
        ("tally 12 fig --over 90s", "tally fig 12 --over 90s"),
        ("tally none fig --over 5m", "tally fig none --over 5m"),
        ("gravity 1.004 fig", "gravity fig 1.004"),
        ("event racked fig --litres 4", "event fig racked --litres 4"),
        ("strike 2 fig", "strike fig 2"),
    ],
)
def test_a_jar_in_the_wrong_place_is_answered_with_the_right_line(run, shelf, words, line):
    before = (shelf / "fig.csv").read_bytes()
    assert refused(run(*words.split())) == f"the jar comes first: bubblerate {line}"
    assert (shelf / "fig.csv").read_bytes() == before
    assert run(*line.split()).code == 0  # and that line does


@pytest.mark.parametrize(
    ("words", "answer"),
    [
        ("fig tally 12", "the command comes first: bubblerate tally fig 12"),
        ("fig count 12", "the command comes first: bubblerate tally fig 12"),
        ("taly fig 12", 'there is no command "taly"; did you mean: bubblerate tally fig 12'),
        (
            "racked fig",
            'there is no command "racked"; write it as an event: bubblerate event fig racked',
        ),
        ("fig", '"fig" is a jar; say what you want to do with it, such as: bubblerate verdict fig'),
        ("xyzzy", 'there is no command "xyzzy"; bubblerate --help lists them'),
    ],
)
def test_what_is_no_command_is_answered_with_the_line_that_would_do(run, shelf, words, answer):
    assert refused(run(*words.split())) == answer


def test_a_jar_in_its_place_is_not_what_is_wrong(run, shelf):
    run("start", "quince")
    assert "Too many words" in refused(run("tally", "fig", "12", "quince"))
    assert "no diary pear.csv" in refused(run("tally", "pear", "12"))
    assert "cannot read" in refused(run("tally", "12", "fig", "--shelf", str(shelf / "none")))


@pytest.mark.parametrize(
    ("words", "answer", "line"),
    [
        ("tally fig -3", '"-3" is below 0: a count is 0 or more; write 12, or none', ""),
        ("tally fig -3 --over 5m", '"-3" is below 0: a count is 0 or more', ""),
        ("gravity fig -5", '"-5" is below 0: for points below water write ',
         "gravity fig --oechsle -5"),
        ("gravity fig -5 --oechsle", '"-5" is below 0: for points below water write ',
         "gravity fig --oechsle -5"),
        ("gravity fig -1.004", "leave out the sign: ", "gravity fig 1.004"),
        ("gravity fig -.996 --when 21:00", "leave out the sign: ", "gravity fig .996 --when 21:00"),
        ("strike fig -2", "a line has a number from 2 on; ", "diary fig"),
        ("dose fig -1", '"-1" is below 0: write a number of 0 or more', ""),
        ("tally fig 12 -over 90s", "has two plain hyphens before it: ", "tally fig 12 --over 90s"),
        ("tally fig 12 \N{EM DASH}over 90s", "has two plain hyphens before it: ",
         "tally fig 12 --over 90s"),
        ("tally fig 12 90s", "how long you counted follows --over: ", "tally fig 12 --over 90s"),
        ("tally fig 12 in 90s", "a count of several words goes in quotes: ",
         'tally fig "12 in 90s"'),
        ("tally fig one every 55s --temp 18", "goes in quotes: ",
         'tally fig "one every 55s" --temp 18'),
        ("event fig topped up --added 0.2", "an event is one word: ",
         "event fig topped-up --added 0.2"),
        ("dose finings fig --litres 4.5", "the jar comes first: ", "dose fig finings --litres 4.5"),
    ],
)  # fmt: skip
def test_mistyped_words_are_answered_with_the_line_that_would_do(run, shelf, words, answer, line):
    before = (shelf / "fig.csv").read_bytes()
    said = refused(run(*words.split()))
    assert answer in said
    assert (shelf / "fig.csv").read_bytes() == before
    if line:
        assert f"bubblerate {line}" in said
        assert run(*shlex.split(line)).code == 0


def test_a_name_of_several_words_that_is_on_the_shelf_is_put_in_quotes(run, shelf):
    run("start", "old plum")
    line = 'a name of several words goes in quotes: bubblerate verdict "old plum" --more'
    assert refused(run("verdict", "old", "plum", "--more")) == line
    assert refused(run("tally", "old", "plum", "12")).endswith('tally "old plum" 12')


def test_a_jar_of_the_shelf_needs_no_csv(run, shelf):
    assert refused(run("verdict", "fig.csv", "--more")) == (
        "leave .csv out: bubblerate verdict fig --more"
    )
    assert "no diary pear.csv" in refused(run("verdict", "pear.csv"))


def test_an_option_without_its_value_leads_to_the_help_of_its_command(run, shelf):
    said = refused(run("tally", "fig", "12", "--over"))
    assert said.endswith("(see bubblerate tally --help)")
