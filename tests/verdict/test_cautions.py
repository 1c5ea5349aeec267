"""Each caution once, and one with every verdict."""

import re

import pytest

from bubblerate.verdict import cautions
from bubblerate.verdict.cautions import caution

from cases import PITCHED, PROOF, SLOWED, judge
from scenes import diary, evening

CAUTIONS = [getattr(cautions, name) for name in cautions.__all__ if name.isupper()]


def asked(rows, question):
    rows = sorted(rows, key=lambda row: row["day"])
    return judge(diary(*rows), at=evening(rows[-1]["day"] + 0.2), question=question).verdict


@pytest.mark.parametrize(
    ("rows", "question", "answer", "warning"),
    [
        ([PITCHED, *SLOWED], "racking", "go", "heavy and slip"),
        ([PITCHED, *SLOWED[:6]], "racking", "wait", "Never seal a fermenting jar"),
        (PROOF, "bottling", "go", "Bottles can burst"),
        ([PITCHED, *SLOWED], "bottling", "wait", "Bottles can burst"),
        ([*PROOF, {"day": 38.0, "event": "bottled"}], "racking", "wait", "a towel over it"),
    ],
)
def test_every_verdict_has_its_caution(rows, question, answer, warning):
    found = asked(rows, question)
    assert found.answer == answer
    assert warning in caution(found)


def test_no_sentence_of_the_cautions_is_said_in_two_of_them():
    said = [sentence for text in CAUTIONS for sentence in re.split(r"(?<=\.) ", text)]
    assert len(said) == len({*said})
