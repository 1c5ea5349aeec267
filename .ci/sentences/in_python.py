"""Sentences of Python modules, found in the syntax tree."""

from __future__ import annotations

import ast
import re
from typing import TYPE_CHECKING

from . import NO_WORDS, PACKAGE, WORDS, Say, Text

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

__all__ = ["in_python"]

_LABEL = re.compile(r"[A-Za-z][A-Za-z-]+[.?:]?")  # a word by itself, which `show/` alone has
# Calls that take names, patterns or letters.
_CALLS = {
    *("getattr", "setattr", "hasattr", "import_module", "encode", "decode", "split", "partition"),
    *("rpartition", "replace", "startswith", "endswith", "removeprefix", "removesuffix", "strip"),
    *("frozenset",),
}
_KEYWORDS = {"loc", "name", "textcoords"}
# Tables of codes, by the name they are given.
_TABLES = {"__all__", "_COLUMNS", "_FORM", "_SETTLED_BY", "_TIMES"}
# Modules of words that people type, of patterns, and of other programs' names: their errors alone
# are sentences.
_TYPED = {
    *("diary/event_names.py", "diary/dates.py", "diary/styles.py", "diary/units.py"),
    *("diary/gravity_scales.py", "diary/dosed.py", "diary/bottles.py", "ferment/made_up.py"),
    *("diary/tables/headings.py", "diary/tables/tongues.py", "show/pictures/page.py"),
    *("course/label.py", "course/windows.py", "page/app.py"),
}
_FORMATS = {"show/calendar.py", "show/calendar_again.py", "show/sound_text.py"}  # no labels there
# Words of the drawing library, in `show/pictures/`.
_DRAWING = {
    *("white", "log", "bold", "normal", "center", "baseline", "left", "right", "bottom", "top"),
    *("butt", "none", "png", "data", "axes fraction"),
}
# Words by themselves outside `show/`.
_LABELS = {*(("cli/rounds.py", word) for word in ("next", "note"))}
# Commands, whose docstrings are their help.
_HELP = re.findall(r'"[\w-]+": "(\w+):(\w+)"', (PACKAGE / "cli/__init__.py").read_text("utf-8"))


class _Worded(ast.NodeTransformer):
    """Puts other words in the place of each sentence of a module."""

    def __init__(self, place: str, say: Say) -> None:
        self.place, self.say = place, say
        self.codes: set[int] = set()
        self.counted: set[int] = set()  # words of `plural`

    def module(self, tree: ast.Module) -> ast.Module:
        """The same module with other words."""
        self.codes = {id(node) for node in _codes(tree, self.place)}
        calls = [n for n in ast.walk(tree) if isinstance(n, ast.Call) and _called(n) == "plural"]
        self.counted = {id(n) for call in calls for n in ast.walk(call)}
        helped = {function for module, function in _HELP if self.place == f"cli/{module}.py"}
        for node in tree.body:
            if isinstance(node, ast.FunctionDef) and node.name in helped:
                self._help(node)
        self.visit(tree)
        return ast.fix_missing_locations(tree)

    def _help(self, node: ast.FunctionDef) -> None:
        """Word the docstring of a command, by paragraphs; what comes after is for callers."""
        first = node.body[0]
        assert isinstance(first, ast.Expr)
        doc, mark, rest = (ast.get_docstring(node) or "").partition("\n\nRaises\n")
        parts = [self.said(" ".join(part.split())) for part in doc.split("\n\n")]
        first.value = ast.Constant("\n\n".join(parts) + mark + rest)
        self.codes.add(id(first.value))

    def said(self, words: str, *, label: bool = False) -> str:
        """Other words for these, where they are words."""
        if {("", words), (self.place, words)} & NO_WORDS:
            return words
        drawn = self.place.startswith("show/pictures/") and words in _DRAWING
        if WORDS.search(words) and not drawn:
            return self.say(Text(self.place, "", words))
        label = label or (self.place, words) in _LABELS
        if self.place.startswith("show/") and self.place not in _FORMATS:
            label = label or not drawn
        if label and _LABEL.fullmatch(words):
            return self.say(Text(self.place, self.place, words))
        return words

    def visit_Constant(self, node: ast.Constant) -> ast.Constant:
        """A text without values, or with fields that are filled in later."""
        if isinstance(node.value, str) and id(node) not in self.codes:
            return ast.Constant(self.said(node.value, label=id(node) in self.counted))
        return node

    def visit_JoinedStr(self, node: ast.JoinedStr) -> ast.JoinedStr:
        """A text with its values in it."""
        if id(node) in self.codes:
            return node
        parts: list[str] = []
        values: dict[str, ast.FormattedValue] = {}
        for part in node.values:
            if isinstance(part, ast.FormattedValue):
                name = _name(part.value, values)
                values[name] = part
                parts.append(f"{{{name}}}")
            elif isinstance(part, ast.Constant):
                parts.append(part.value.replace("{", "{{").replace("}", "}}"))
        said = "".join(parts)
        bare = re.sub(r"\{\w+\}", "0", said)
        sentence = re.search(r"[A-Za-z]{2,}", bare) and re.search(r"\s", bare)
        if sentence and (self.place, said) not in NO_WORDS:
            said = self.say(Text(self.place, "", said))
        for value in values.values():
            value.value = self.visit(value.value)
        return ast.JoinedStr([*_joined(said, values)])


_NO_NAMES = {
    *("if", "else", "is", "not", "None", "for", "in", "and", "or", "join", "str", "self", "True"),
    *("False", "len", "abs", "round", "float", "int", "max", "min", "plural", "quoted", "plain"),
}


def _name(value: ast.expr, taken: dict[str, ast.FormattedValue]) -> str:
    """A name for a value, out of what works it out; with a number where it is taken."""
    if isinstance(value, ast.Call) and value.args:
        value = value.args[0]
    words = re.findall(r"[A-Za-z_]\w*", re.sub(r"'[^']*'|\"[^\"]*\"", "", ast.unparse(value)))
    names = [word.strip("_").lower() for word in words if word not in _NO_NAMES] or ["value"]
    name = first = names[-1] if isinstance(value, ast.Attribute) else names[0]
    number = 1
    while name in taken:
        number += 1
        name = f"{first}_{number}"
    return name


def _joined(said: str, values: dict[str, ast.FormattedValue]) -> Iterator[ast.expr]:
    """Parts of a text with values, out of words with names in them."""
    for piece in re.split(r"(\{\w+\})", said.replace("{{", "\0").replace("}}", "\1")):
        if piece[:1] == "{":
            yield values[piece[1:-1]]
        elif piece:
            yield ast.Constant(piece.replace("\0", "{").replace("\1", "}"))


def _codes(tree: ast.Module, place: str) -> Iterator[ast.AST]:
    """Texts of a module that are no words: names, patterns, what is compared, what is typed."""
    for node in ast.walk(tree):
        for part in _of_code(node):
            yield from ast.walk(part)
    if place in _TYPED:
        raised = {id(n) for node in ast.walk(tree) if _refuses(node) for n in ast.walk(node)}
        yield from (node for node in ast.walk(tree) if id(node) not in raised)


def _refuses(node: ast.AST) -> bool:
    called = _called(node) if isinstance(node, ast.Call) else ""
    return isinstance(node, ast.Raise) or called.endswith("Error")


def _called(node: ast.Call) -> str:
    found = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
    return str(found)


def _of_code(node: ast.AST) -> list[ast.AST]:
    """Parts of a node in which no words stand."""
    found: Sequence[ast.AST | None] = []
    match node:
        case ast.Expr(value=ast.Constant()) | ast.Compare() | ast.Set() | ast.MatchValue():
            found = [node]
        case ast.Subscript():
            found = _uncalled(node.slice)
        case ast.Dict():
            found = [*node.keys]
        case ast.FunctionDef(returns=ast.expr()):
            found = [node.returns]
        case ast.AnnAssign(target=ast.Name(id=name)) if name in _TABLES:
            found = [node]
        case ast.AnnAssign():
            found = _uncalled(node.annotation)
        case ast.arg(annotation=ast.expr()):
            found = _uncalled(node.annotation)
        case ast.Assign(targets=[ast.Name(id=name)]) if name in _TABLES:
            found = [node]
        case ast.ClassDef(bases=[ast.Name(id="StrEnum")]):
            found = [_code(one.value) for one in node.body if isinstance(one, ast.Assign)]
        case ast.keyword() if node.arg in _KEYWORDS:
            found = [node]
        case ast.Call(func=ast.Attribute(value=ast.Name(id="re"))):
            found = [*node.args]
        case ast.Call() if _called(node) in _CALLS:
            found = [node.func, *(a for a in node.args if isinstance(a, ast.Constant))]
    return [part for part in found if part is not None]


def _uncalled(node: ast.AST) -> list[ast.AST]:
    """Parts of an index or a type, but for what a call in it is given, such as a help text."""
    if isinstance(node, ast.Call):
        return []
    return (
        [node]
        if isinstance(node, ast.Constant)
        else [part for child in ast.iter_child_nodes(node) for part in _uncalled(child)]
    )


def _code(value: ast.expr) -> ast.expr:
    """Code of a member that has its meaning beside it, or is nothing but a code."""
    return value.elts[0] if isinstance(value, ast.Tuple) else value


def in_python(place: str, source: str, say: Say) -> str:
    """A module with other words for its sentences; its comments are left out."""
    return ast.unparse(_Worded(place, say).module(ast.parse(source))) + "\n"
