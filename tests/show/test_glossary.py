"""The words that a beginner meets first."""

import re

import pytest

from bubblerate.show.glossary import WORDS, find

MET_FIRST = (
    *("airlock", "racking", "lees", "gravity", "SG", "points", "must", "hydrometer", "pitching"),
    *("threshold", "fining", "sulphite", "sorbate", "malolactic", "stuck", "dry"),
)


@pytest.mark.parametrize("word", MET_FIRST)
def test_a_word_that_a_beginner_meets_is_explained(word):
    assert find(word) is not None


def test_no_word_is_explained_twice():
    names = [name for one in WORDS for name in {one.name.lower(), *one.also}]
    assert len(names) == len({*names})


def test_they_stand_in_the_order_of_the_alphabet():
    names = [one.name.lower() for one in WORDS]
    assert names == sorted(names)


@pytest.mark.parametrize("one", WORDS, ids=lambda one: one.name)
def test_an_entry_is_one_or_two_sentences(one):
    assert one.text.endswith(".")
    assert len(re.findall(r"[.?!](?: |$)", one.text)) <= 2
