"""Every sentence is said somewhere, with the values that it takes."""

import ast
from pathlib import Path
from string import Formatter

import pytest

import bubblerate.verdict
from bubblerate.verdict import sentences
from bubblerate.verdict.lacks import WORST_FIRST
from bubblerate.verdict.reasons import Code, Sentence

FOLDER = Path(bubblerate.verdict.__file__).parent
SENTENCES = {name: value for name, value in vars(sentences).items() if isinstance(value, Sentence)}


def fields(text):
    return {name for _, name, _, _ in Formatter().parse(text) if name is not None}


def called():
    """Each place that says a sentence: its name, and the keywords given; ** counts as any."""
    for path in FOLDER.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Attribute):
                continue
            where = {"of": [node.func.value], "say": node.args}.get(node.func.attr, [])
            for sentence in where:
                if isinstance(sentence, ast.Attribute) and sentence.attr in SENTENCES:
                    yield sentence.attr, {word.arg for word in node.keywords}


CALLS = [*called()]


def test_every_sentence_is_said():
    assert {name for name, _ in CALLS} == {*SENTENCES}


def test_every_code_has_a_sentence():
    assert {sentence.code for sentence in SENTENCES.values()} | {*WORST_FIRST} == {*Code} - {
        Code.COURSE
    }


@pytest.mark.parametrize(("name", "given"), CALLS)
def test_a_sentence_is_given_the_values_it_takes_and_no_others(name, given):
    sentence = SENTENCES[name]
    taken = fields(sentence.text) | fields(sentence.step.do if sentence.step else "")
    assert given - {None} <= taken
    assert None in given or given == taken


def test_a_value_that_is_missing_is_refused():
    with pytest.raises(KeyError, match="age_days"):
        sentences.READING_OF_LONG_AGO.of(sg=1.0)
