"""The modules of the package and what each of them imports, read from their text."""

import ast
from collections.abc import Iterator
from pathlib import Path

import bubblerate

PACKAGE = Path(bubblerate.__file__).parent


PYPROJECT = Path(__file__).parent.parent / "pyproject.toml"


def module_name(path: Path) -> str:
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {
    module_name(path): path
    for path in sorted(PACKAGE.rglob("*.py"))
    if path.parent != PACKAGE / "examples"  # travels with the installed package, no part of it
}


def run_time_nodes(node: ast.AST) -> Iterator[ast.AST]:
    """Every node that may run: not what only a type checker reads."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(child.test):
            for otherwise in child.orelse:
                yield otherwise
                yield from run_time_nodes(otherwise)
            continue
        yield child
        yield from run_time_nodes(child)


def imports(name: str) -> Iterator[str]:
    """What a module imports, inside its functions too; a dot before what is of the package."""
    path = MODULES[name]
    home = path.relative_to(PACKAGE).parent.parts
    for node in run_time_nodes(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            yield node.module or ""
        elif isinstance(node, ast.ImportFrom):
            base = [*home[: len(home) + 1 - node.level], *(node.module or "").split(".")]
            base = [part for part in base if part]
            for alias in node.names:
                inner = ".".join([*base, alias.name])
                yield f".{inner if inner in MODULES else '.'.join(base)}"
