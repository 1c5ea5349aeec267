"""Every sentence that the program can say, as it stands in the code; a value in it is an X."""

import ast
import re
from collections.abc import Iterator
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


def sentences() -> Iterator[Sentence]:
    """Sentences of all texts in the package that are no docstrings."""
    for path in sorted(PACKAGE.rglob("*.py")):
        if path.parent.name == "examples":
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        docs = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
        inside = {
            id(v) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for v in node.values
        }
        for node in ast.walk(tree):
            if id(node) in docs | inside:
                continue
            for text in ENDS.split(_text(node)):
                if PROSE.search(text):
                    place = f"{path.relative_to(PACKAGE)}:{getattr(node, 'lineno', 0)}"
                    yield Sentence(place, text.strip())


def _text(node: ast.AST) -> str:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(str(v.value) if isinstance(v, ast.Constant) else "X" for v in node.values)
    return ""
