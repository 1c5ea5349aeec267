"""The sentences of the program, found in its files, and other words put in their place."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

__all__ = ["NO_WORDS", "PACKAGE", "WORDS", "Say", "Text", "fields"]

PACKAGE = Path(__file__).resolve().parent.parent.parent / "bubblerate"

# Two words or more, or one with a capital and a full stop.
WORDS = re.compile(r"[A-Za-z]{2,}.*\s|[A-Z][a-z]+\.$|\s[A-Za-z]{2,}", re.DOTALL)
# Codes that look like words.
NO_WORDS = {
    ("physics/bottle.py", "between semi-sparkling and sparkling"),
    ("verdict/lacks.py", "Mapping[str, float | date]"),
    *(("", "dry wine"), ("", "\n\nRaises\n"), ("", "datetime64[us, UTC]"), ("", "\0no text")),
    ("cli/entries.py", "every {every}"),
    *(("show/shelf_text.py", word) for word in ("error", "bottled")),
    *(("show/backtest_text.py", word) for word in ("yes", "no")),
    ("show/calendar.py", "-//bubblerate//calendar of steps//EN"),
    *(("page/static/page.js", word) for word in ("use strict", "WAVEfmt ")),
}
_FIELD = re.compile(r"\{(\w*)(?:![rsa])?(?::[^{}]*)?\}")
_ESCAPED = re.compile(r"\{\{|\}\}")


class Text(NamedTuple):
    """A sentence, or a part of one, as a translator meets it."""

    place: str  # its file
    context: str  # the same for a word by itself, which means one thing here and another there
    words: str


def fields(words: str) -> Counter[str]:
    """Names of the values in a text, and how often each."""
    return Counter(_FIELD.findall(_ESCAPED.sub("", words)))


Say = Callable[[Text], str]  # gives the words to put there
