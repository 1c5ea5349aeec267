"""Finds every sentence that the program can say, as it is in the code, with X for each value."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

import bubblerate

PACKAGE = Path(bubblerate.__file__).parent
ENDS = re.compile(r"(?<=[.:;?!])\s+|\n")
PROSE = re.compile(r"[A-Za-z]{2,}.* ")  # a few words: no key, no format, no name of a column


class Sentence(NamedTuple):
    """One sentence, and where it is written."""

    where: str
    text: str

    @property
    def words(self) -> int:
        """How many there are."""
        return len(self.text.split())


@cache
def sentences() -> tuple[Sentence, ...]:
    """Sentences of all texts in the package that are no docstrings, sorted, each once."""
    found = {
        Sentence(f"{path.relative_to(PACKAGE)}:{line}", sentence.strip())
        for path in PACKAGE.rglob("*.py")
        if path.parent.name != "examples"
        for line, text in _texts(ast.parse(path.read_text(encoding="utf-8")))
        for sentence in ENDS.split(text)
        if PROSE.search(sentence)
    }
    return tuple(sorted(found))


def _texts(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Each text of a module and its line."""
    skipped = set()  # a statement that is only a value, as a docstring is, and parts of a text
    for node in ast.walk(tree):  # from the outside in
        if isinstance(node, ast.Expr):
            skipped.add(id(node.value))
        elif isinstance(node, ast.Constant | ast.JoinedStr) and id(node) not in skipped:
            yield node.lineno, _text(node)
        if isinstance(node, ast.JoinedStr):
            skipped.update(map(id, node.values))


def _text(node: ast.AST) -> str:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(str(v.value) if isinstance(v, ast.Constant) else "X" for v in node.values)
    return ""
