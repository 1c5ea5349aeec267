"""Collect every sentence that a person reads, and build the program in another tongue.

    python .ci/tongue.py                  writes the template, .ci/bubblerate.pot
    python .ci/tongue.py cs.po build/cs   copies the package, with the sentences of cs.po in it

The program knows nothing of this: its sentences stand in the code, with their values in them. They
are found in the syntax tree, so a translator may move a value within a sentence, but not lose one.
Codes, options, columns and events are no sentences; what people type is read as before. Plurals,
days and rates are put into words by `bubblerate/text.py` alone, which a tongue replaces whole, by
`cs.text.py` beside `cs.po`, where there is one. Other numbers keep their decimal point.
"""

from __future__ import annotations

import ast
import re
import shutil
import sys
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

import polib

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "bubblerate"
TEMPLATE = ROOT / ".ci" / "bubblerate.pot"

_WORDS = re.compile(r"[A-Za-z]{2,}.*\s|[A-Z][a-z]+\.$|\s[A-Za-z]{2,}", re.DOTALL)  # with a blank
_LABEL = re.compile(r"[A-Za-z][A-Za-z-]+[.?:]?")  # a word by itself, which `show/` alone has
_FIELD = re.compile(r"\{(\w*)(?:![rsa])?(?::[^{}]*)?\}")
_ESCAPED = re.compile(r"\{\{|\}\}")
# Calls that take names, patterns or letters.
_CALLS = {
    *("getattr", "setattr", "hasattr", "TypeVar", "import_module", "encode", "decode", "split"),
    *("partition", "rpartition", "replace", "startswith", "endswith", "removeprefix", "strip"),
    *("removesuffix", "simplefilter", "filterwarnings", "read_csv", "lower", "StrEnum", "cast"),
    *("translate", "maketrans", "fromhex", "open", "astype", "frozenset", "add_argument"),
}
_KEYWORDS = {
    "encoding",
    "errors",
    "mode",
    "metavar",
    "name",
    "family",
    "loc",
    "ha",
    "va",
    "weight",
    "textcoords",
}
# Tables of codes, by the name they are given.
_TABLES = {
    "__all__",
    "COLUMNS",
    "_COLUMNS",
    "_TIMES",
    "_SETTLED_BY",
    "_FORM",
    "KEYS",
    "MARK",
    "PRODID",
}
# Modules of words that people type, of patterns, and of other programs' names: their errors alone
# are sentences.
_TYPED = {
    *("diary/event_names.py", "diary/dates.py", "diary/lookalikes.py", "diary/styles.py"),
    *("diary/units.py", "diary/gravity_scales.py", "diary/dosed.py", "diary/bottles.py"),
    *("diary/tables/headings.py", "diary/tables/tongues.py", "diary/tables/meanings.py"),
    *("course/label.py", "course/windows.py", "show/pictures/page.py", "page/app.py"),
    *("diary/tables/compound.py", "ferment/made_up.py"),
}
_FORMATS = {"show/calendar.py", "show/calendar_again.py", "show/sound_text.py"}  # no labels there
# Words of the drawing library, in `show/pictures/`.
_DRAWING = {
    *("white", "log", "bold", "normal", "center", "baseline", "left", "right", "bottom", "top"),
    *("butt", "none", "png", "data", "axes fraction"),
}
# Codes that look like words.
_NO_WORDS = {
    ("physics/bottle.py", "between semi-sparkling and sparkling"),
    ("verdict/lacks.py", "Mapping[str, float | date]"),
    *(("", "dry wine"), ("", "\n\nRaises\n"), ("", "datetime64[us, UTC]"), ("", "\0no text")),
    ("cli/entries.py", "every {every}"),
    ("page/sound.py", "{bubbles} in {seconds}s"),
    *(("show/shelf_text.py", word) for word in ("error", "bottled")),
    *(("show/backtest_text.py", word) for word in ("yes", "no")),
    ("show/calendar.py", "-//bubblerate//calendar of steps//EN"),
    *(("page/static/page.js", word) for word in ("use strict", "WAVEfmt ")),
}
# Words by themselves outside `show/`.
_LABELS = {*(("cli/rounds.py", word) for word in ("next", "note"))}
# Commands, whose docstrings are their help.
_HELP = re.findall(r'"[\w-]+": "(\w+):(\w+)"', (PACKAGE / "cli/__init__.py").read_text("utf-8"))


class Text(NamedTuple):
    """A sentence, or a part of one, as a translator meets it."""

    place: str  # its file
    context: str  # the same for a word by itself, which means one thing here and another there
    words: str


def fields(words: str) -> Counter[str]:
    """Names of the values in a text, and how often each."""
    return Counter(_FIELD.findall(_ESCAPED.sub("", words)))


Say = Callable[[Text], str]  # gives the words to put there


# --- Python ------------------------------------------------------------------------------------


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
        if {("", words), (self.place, words)} & _NO_WORDS:
            return words
        drawn = self.place.startswith("show/pictures/") and words in _DRAWING
        if _WORDS.search(words) and not drawn:
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
        if sentence and (self.place, said) not in _NO_WORDS:
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


# --- the page ----------------------------------------------------------------------------------

_MARKUP = re.compile(r"(\{#.*?#\}|\{%.*?%\}|<(?:\{\{.*?\}\}|\{%.*?%\}|[^<>])*>)", re.DOTALL)
_SHOWN = re.compile(r'\b(alt|aria-label|title|data-kept)="([^"]*)"')
_VALUE = re.compile(r"\{\{.*?\}\}", re.DOTALL)
_QUOTED = re.compile(r'"([^"]*)"')
_SCRIPT = re.compile(r'(//[^\n]*)|"((?:[^"\\\n]|\\.)*)"|`([^`]*)`')
_IN_SCRIPT = re.compile(r"\$\{[^}]*\}")


def _held(words: str, value: re.Pattern[str]) -> tuple[str, dict[str, str]]:
    """Words with a name for each value in them, and the values by name."""
    values: dict[str, str] = {}

    def named(match: re.Match[str]) -> str:
        names = re.findall(r"[A-Za-z_]\w*", re.sub(r'"[^"]*"', "", match[0])) or ["value"]
        name = names[-1] if names[-1] not in values else f"{names[-1]}_{len(values)}"
        values[name] = match[0]
        return f"{{{name}}}"

    return value.sub(named, words), values


def _filled(words: str, values: dict[str, str]) -> str:
    return re.sub(r"\{(\w+)\}", lambda match: values.get(match[1], match[0]), words)


def in_page(place: str, source: str, say: Say) -> str:
    """A template with other words in its text, its attributes and the texts of its macros."""

    def text(piece: str) -> str:
        words, values = _held(piece.strip(), _VALUE)
        if not re.search(r"[A-Za-z]{2,}", re.sub(r"\{\w+\}", "", words)):
            return _VALUE.sub(lambda match: code(match[0]), piece)
        said = _filled(say(Text(place, "", words)), values)
        return piece.replace(piece.strip(), said)

    def code(piece: str) -> str:
        if "import" in piece or "extends" in piece:
            return piece

        def quoted(match: re.Match[str]) -> str:
            words = match[1]
            shown = _WORDS.search(words) or re.fullmatch(r"[A-Z][a-z]+", words)
            return f'"{say(Text(place, "", words))}"' if shown else match[0]

        return _QUOTED.sub(quoted, piece)

    def tag(piece: str) -> str:
        def attribute(match: re.Match[str]) -> str:
            words, values = _held(match[2], _VALUE)
            if not re.search(r"[A-Za-z]{2,}", re.sub(r"\{\w+\}", "", words)):
                return match[0]
            return f'{match[1]}="{_filled(say(Text(place, "", words)), values)}"'

        return _SHOWN.sub(attribute, piece)

    kinds = {"{#": str, "{%": code}
    return "".join(
        kinds.get(piece[:2], tag if piece[:1] == "<" else text)(piece)
        for piece in _MARKUP.split(source)
    )


def in_script(place: str, source: str, say: Say) -> str:
    """The script of the page with other words."""

    def other(match: re.Match[str]) -> str:
        if match[1] is not None:
            return match[0]
        words, values = _held(match[2] if match[3] is None else match[3], _IN_SCRIPT)
        bare = re.sub(r"\{\w+\}", "0", words)
        shown = _WORDS.search(bare) or re.search(r"[a-z]{2,}.*\s", bare)
        if (place, words) in _NO_WORDS or not (shown or re.fullmatch(r"[A-Z][a-z]+", words)):
            return match[0]
        said = _filled(say(Text(place, "", words)), values)
        return f'"{said}"' if match[3] is None else f"`{said}`"

    return _SCRIPT.sub(other, source)


# --- all of it ---------------------------------------------------------------------------------


def worded(say: Say) -> Iterator[tuple[str, str]]:
    """Place and contents of each file that holds sentences, with the words that `say` gives."""
    ways = ((".py", in_python), (".html", in_page), (".js", in_script))
    for path in sorted(path for path in PACKAGE.rglob("*.*") if path.is_file()):
        place = path.relative_to(PACKAGE).as_posix()
        for suffix, way in ways:
            if path.suffix == suffix and not place.startswith("examples/"):
                yield place, way(place, path.read_text("utf-8"), say)


def texts() -> list[Text]:
    """Every sentence, in the order of the files."""
    found: list[Text] = []

    def keep(text: Text) -> str:
        found.append(text)
        return text.words

    for _ in worded(keep):
        pass
    return found


def template() -> polib.POFile:
    """Every sentence once, with the files that it stands in."""
    made = polib.POFile(check_for_duplicates=False)
    made.metadata = {"Content-Type": "text/plain; charset=UTF-8", "Language": ""}
    entries: dict[tuple[str, str], polib.POEntry] = {}
    for text in texts():
        key = text.context, text.words
        if key not in entries:
            entries[key] = polib.POEntry(msgid=text.words, msgctxt=text.context or None)
            if fields(text.words):
                entries[key].flags.append("python-brace-format")
            made.append(entries[key])
        if (text.place, "") not in entries[key].occurrences:
            entries[key].occurrences.append((text.place, ""))
    return made


def refusals(po: polib.POFile) -> list[str]:
    """What is wrong with a translation: values lost, doubled or made up, and blanks at its ends."""
    wrong = []
    for entry in po.translated_entries():
        old, new = entry.msgid, entry.msgstr
        if fields(old) != fields(new):
            wrong.append(f"{new!r}: it needs the values of {old!r}")
        elif (old[:1].isspace(), old[-1:].isspace()) != (new[:1].isspace(), new[-1:].isspace()):
            wrong.append(f"{new!r}: blanks at its ends, as in {old!r}")
    return wrong


def build(po: polib.POFile, out: Path, *, words_of: Path | None = None) -> Path:
    """Copy the package with the sentences of a translation in it; what it lacks stays English.

    Raises
    ------
    ValueError
        If a translation is refused; then nothing is written.
    """
    if wrong := refusals(po):
        raise ValueError("\n".join(wrong))
    said = {(entry.msgctxt or "", entry.msgid): entry.msgstr for entry in po.translated_entries()}
    made = out / "bubblerate"
    shutil.copytree(PACKAGE, made, ignore=shutil.ignore_patterns("__pycache__"))
    for place, source in worded(lambda text: said.get((text.context, text.words), text.words)):
        (made / place).write_text(source, "utf-8")
    if words_of is not None and words_of.exists():
        shutil.copy(words_of, made / "text.py")
    return made


def main(words: list[str]) -> None:
    """Write the template, or a copy of the package in the tongue of a file."""
    if not words:
        template().save(str(TEMPLATE))
        return
    path, out = Path(words[0]), Path(words[1])
    try:
        made = build(polib.pofile(str(path)), out, words_of=path.with_suffix(".text.py"))
    except ValueError as err:
        sys.exit(str(err))
    print(f"{made} is in the tongue of {path}")


if __name__ == "__main__":
    main(sys.argv[1:])
