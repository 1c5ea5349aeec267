"""The command that explains words."""

import pytest

from bubblerate.show.glossary import WORDS


def test_all_are_listed(run):
    said = run("words")
    assert said.code == 0
    for one in WORDS:
        assert f"  {one.name} " in said.out


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (["SG"], "gravity  "),
        (["top", "up"], "topping up  "),
        (["poured-back"], "poured-back"),  # an event of the diary
    ],
)
def test_one_can_be_asked_for_by_any_of_its_names(run, asked, told):
    assert run("words", *asked).out.strip().startswith(told)


def test_a_word_that_is_not_there_is_one_line(run):
    said = run("words", "hydrometre")
    assert (said.code, said.out) == (2, "")
    assert "did you mean hydrometer?" in said.err
    assert "bubblerate words lists" in run("words", "xylophone").err


def test_the_help_says_where_words_are_explained(run):
    assert "bubblerate words explains" in run("--help").out
