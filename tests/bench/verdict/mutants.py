"""Makes small faults in a module, one at a time, and tries each in a process of its own.

Each mutant is a module with one change: a comparison turned or moved by its boundary, `and` for
`or`, a `not` or an operand dropped, a number halved, doubled or moved by one, an answer or stance
for another, a branch always or never taken, an item of a collection or a `yield` left out, `min`
for `max`, plus for minus.

Used by `wrong_goes.py`: does any bring a wrong go? And by `own_tests.py`: do the tests of its
module see it?
"""

from __future__ import annotations

import ast
import os
import pickle
import signal
import sys
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from types import CodeType

ROOT = Path(__file__).resolve().parents[3]
PACKAGE = ROOT / "bubblerate"
OURS = (str(PACKAGE), str(ROOT / "tests"))  # no other module takes names from these
LONGEST_SECONDS = 240

Edit = tuple[str, ast.AST]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mutant:
    """One changed module."""

    module: str
    line: int
    what: str
    code: CodeType


# --- making them ---------------------------------------------------------------------------------

_TURNED: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
_WORDS = {
    "go": ("wait",),
    "wait": ("go",),
    "lean": ("go", "mute"),
    "mute": ("go", "lean"),
    "doubt": ("go", "mute"),
    "pass": ("fail",),
    "fail": ("pass",),
    "unknown": ("pass",),
}
_SUMS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
}


def mutants(module: str) -> Iterator[Mutant]:
    """Every mutant of one module."""
    tree = ast.parse(_source(module).read_text(encoding="utf-8"))
    for parent, field, index, node in [*_places(tree)]:
        for what, made in [*_edits(node)]:
            _put(parent, field, index, ast.copy_location(made, node))
            path, whole = str(_source(module)), ast.fix_missing_locations(tree)
            code = compile(whole, path, "exec", dont_inherit=True)  # no `annotations` of our own
            _put(parent, field, index, node)
            yield Mutant(module=module, line=getattr(node, "lineno", 0), what=what, code=code)


def _source(module: str) -> Path:
    return PACKAGE.joinpath(*module.split(".")).with_suffix(".py")


def _places(tree: ast.AST) -> Iterator[tuple[ast.AST, str, int | None, ast.AST]]:
    """Nodes that may be changed, with where they hang: not words for people, not types."""
    for field, value in ast.iter_fields(tree):
        if field in ("annotation", "returns", "decorator_list"):
            continue
        for index, child in enumerate(value) if isinstance(value, list) else [(None, value)]:
            if not isinstance(child, ast.AST) or _idle(child):
                continue
            if hasattr(child, "lineno"):
                yield tree, field, index, child
            yield from _places(child)


def _idle(node: ast.AST) -> bool:
    docstring = isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    types = isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)
    named = isinstance(node, ast.Assign) and (
        ast.unparse(node.targets[0]) == "__all__"
        or ast.unparse(node.value).startswith(("Literal[", "tuple["))
    )
    return (
        docstring or types or named or isinstance(node, ast.JoinedStr | ast.Import | ast.ImportFrom)
    )


def _put(parent: ast.AST, field: str, index: int | None, node: ast.AST | None) -> None:
    if index is None:
        setattr(parent, field, node)
    elif node is None:
        del getattr(parent, field)[index]
    else:
        getattr(parent, field)[index] = node


def _edits(node: ast.AST) -> Iterator[Edit]:
    """Ways to change one node: what is done, and the node that takes its place."""
    match node:
        case ast.Compare(ops=ops):
            for i, op in enumerate(ops):
                for other in _TURNED.get(type(op), ()):
                    name = f"{type(op).__name__} -> {other.__name__}"
                    yield name, _with_op(node, i, other())
        case ast.BoolOp(op=op, values=values):
            other_op = ast.Or() if isinstance(op, ast.And) else ast.And()
            yield "and <-> or", ast.BoolOp(op=other_op, values=values)
            for i in range(len(values)):
                rest = values[:i] + values[i + 1 :]
                kept = rest[0] if len(rest) == 1 else ast.BoolOp(op=op, values=rest)
                yield f"operand {i} dropped", kept
        case ast.UnaryOp(op=ast.Not(), operand=inner):
            yield "not dropped", inner
        case ast.UnaryOp(op=ast.USub(), operand=inner):
            yield "minus dropped", inner
        case ast.BinOp(left=left, op=op, right=right) if type(op) in _SUMS:
            other_sum = _SUMS[type(op)]()
            yield "sum turned", ast.BinOp(left=left, op=other_sum, right=right)
            yield "left alone", left
            yield "right alone", right
        case ast.Constant(value=bool(value)):
            yield "truth turned", ast.Constant(not value)
        case ast.Constant(value=int(value) | float(value)):
            step = 1 if isinstance(value, int) else 0.5 * value or 1.0
            for number in (value + step, value - step, 2 * value):
                if number != value:
                    yield f"{value} -> {number}", ast.Constant(number)
        case ast.Constant(value=str(value)):
            for word in _WORDS.get(value, ()):
                yield f"{value} -> {word}", ast.Constant(word)
        case ast.If(test=test, body=body, orelse=orelse):
            for truth in (True, False):
                done = ast.If(test=ast.Constant(truth), body=body, orelse=orelse)
                yield f"if {ast.unparse(test)[:40]}: {truth}", done
        case ast.IfExp(body=body, orelse=orelse):
            yield "always the first", body
            yield "always the other", orelse
        case ast.Tuple(elts=items) | ast.Set(elts=items) | ast.List(elts=items) if len(items) > 1:
            for i in range(len(items)):
                kept_items = items[:i] + items[i + 1 :]
                yield (
                    f"item {i} left out",
                    _of_items(node, kept_items),
                )
        case ast.Dict(keys=keys, values=values):
            for i in range(len(keys)):
                less = ast.Dict(keys=keys[:i] + keys[i + 1 :], values=values[:i] + values[i + 1 :])
                yield f"entry {i} left out", less
        case ast.Call(func=ast.Name(id="min" | "max" | "any" | "all" as name) as func):
            swap = {"min": "max", "max": "min", "any": "all", "all": "any"}[name]
            called = ast.Call(func=ast.Name(swap, func.ctx), args=node.args, keywords=node.keywords)
            yield f"{name} -> {swap}", called
        case ast.Expr(value=ast.Yield() | ast.YieldFrom()):
            yield "yield left out", ast.Expr(ast.Constant(None))
        case ast.comprehension(ifs=ifs) if ifs:
            yield "all taken", ast.comprehension(node.target, node.iter, [], node.is_async)


def _with_op(node: ast.Compare, i: int, op: ast.cmpop) -> ast.Compare:
    ops = [op if i == j else old for j, old in enumerate(node.ops)]
    return ast.Compare(left=node.left, ops=ops, comparators=node.comparators)


def _of_items(node: ast.Tuple | ast.Set | ast.List, items: list[ast.expr]) -> ast.AST:
    return ast.Set(elts=items) if isinstance(node, ast.Set) else type(node)(items, node.ctx)


# --- trying them ---------------------------------------------------------------------------------


def change(mutant: Mutant) -> None:
    """Put the changed module in the place of the sound one, wherever its names were taken to."""
    changed = sys.modules[f"bubblerate.{mutant.module}"]
    sound = dict(vars(changed))
    exec(mutant.code, vars(changed))
    for module in [*sys.modules.values()]:
        file = getattr(module, "__file__", None) or ""
        if module is changed or not file.startswith(OURS):
            continue
        for name, value in [*vars(module).items()]:
            if name in sound and value is sound[name] and not name.startswith("__"):
                setattr(module, name, vars(changed)[name])


def apart(
    work: Callable[[], object], mutant: Mutant | None, *, seconds: int = LONGEST_SECONDS
) -> object:
    """Work done in a process of its own, with one module changed; None where that dies."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            signal.alarm(seconds)
            with (
                Path(os.devnull).open("w") as nowhere,
                redirect_stdout(nowhere),
                redirect_stderr(nowhere),
            ):
                if mutant is not None:
                    change(mutant)
                said = pickle.dumps(work())
            with os.fdopen(writing, "wb") as out:
                out.write(said)
        finally:
            os._exit(0)
    os.close(writing)
    with os.fdopen(reading, "rb") as answer:
        said = answer.read()
    os.waitpid(child, 0)
    return pickle.loads(said) if said else None


def killed(files: tuple[str, ...]) -> bool:
    """Whether the tests notice."""
    options = ["-x", "-q", "-p", "no:cacheprovider", "--rootdir", str(ROOT)]
    return pytest.main([*options, *map(str, map(_test_file, files))]) != 0


def _test_file(name: str) -> Path:
    folder, _, subject = name.partition(".")
    path = ROOT / "tests" / folder / f"test_{subject}.py"
    assert path.is_file(), path  # else the mutants would seem to be killed
    return path
