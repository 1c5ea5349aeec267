"""What the program says is plain English of today, in sentences that can be read once."""

import re

import pytest
from spoken import PACKAGE, sentences

MOST_WORDS = 25
DATED = (
    *("foretold", "for want of", "mend", "mended", "speaks? (of|against)", "bears? on", "thereof"),
    *("anew", "shall", "stands still", "stands at", "no go on", "go on racking", "wait on racking"),
    *(
        "therein",
        "till",
        "lawful",
        "drawn in",
        "taken as",
        "said of",
        "tells? of",
        "no sum",
        "rung",
    ),
    *("by its packet", "like wine", "in the cool", "wakes?", "asleep", "sleeps", "torchlight"),
    *("nobody has said", "of which year", "less far", "put right", "another hand", "be had"),
    *("still works", "it works", "so many", "so much", "parted?", "reckoned", "quicken\\w*"),
    *("begin (it|one|the)", "else (now|the|one|it|what|of)", "is there twice", "in the warmth"),
    *("slips", "is no (text|file|day|gravity|rate|time|count|spreadsheet|WAV|sound)", "look with"),
    *("the end expected", ", for (it|there|the|no|nobody|nothing|another|you)"),
)
BANNED = re.compile(rf"(?<!\w)({'|'.join(DATED)})\b", re.IGNORECASE)
ROOT = PACKAGE.parent
PAGES = sorted(
    {ROOT / "README.md", *ROOT.glob("examples/guide/*.md"), *PACKAGE.rglob("templates/*.html")}
)
FOLDERS = ("", *sorted(path.name for path in PACKAGE.iterdir() if path.is_dir()))


def within(folder):
    return [one for one in sentences() if one.where.rpartition("/")[0].split("/")[0] == folder]


def test_they_are_found():
    assert len(sentences()) > 500
    assert any(one.text.startswith("Bottles can burst") for one in sentences())
    assert sum(len(within(folder)) for folder in FOLDERS) == len(sentences())


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder or "top")
def test_no_sentence_is_long_or_out_of_date(folder):
    some = within(folder)
    assert not [one for one in some if one.words > MOST_WORDS]
    assert not [one for one in some if BANNED.search(one.text)]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_no_page_is_out_of_date(page):
    text = " ".join(page.read_text(encoding="utf-8").split())
    assert not [text[max(0, m.start() - 30) : m.end() + 30] for m in BANNED.finditer(text)]
