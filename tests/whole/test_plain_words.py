"""What the program says is plain English of today, in sentences that can be read once."""

import re

import pytest
from spoken import sentences

MOST_WORDS = 25
DATED = (
    *("foretold", "for want of", "mend", "mended", "speaks? of", "bears? on", "thereof", "therein"),
    *("anew", "shall", "stands still", "stands at", "no go on", "go on racking", "wait on racking"),
)
BANNED = re.compile(rf"\b({'|'.join(DATED)})\b", re.IGNORECASE)
SAID = sorted({*sentences()})


def test_they_are_found():
    assert len(SAID) > 500
    assert any(one.text.startswith("Bottles can burst") for one in SAID)


@pytest.mark.parametrize("folder", sorted({one.where.partition("/")[0] for one in SAID}))
def test_no_sentence_is_long_or_out_of_date(folder):
    some = [one for one in SAID if one.where.partition("/")[0] == folder]
    assert not [one for one in some if one.words > MOST_WORDS]
    assert not [one for one in some if BANNED.search(one.text)]
