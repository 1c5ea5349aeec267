"""The modules of the package, and the drawing of what each of them imports."""

from functools import cache
from pathlib import Path

import grimp

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


@cache
def drawing() -> grimp.ImportGraph:
    """Every import, inside functions too, but for those that only a type checker reads."""
    return grimp.build_graph(
        "bubblerate",
        include_external_packages=True,
        exclude_type_checking_imports=True,
        cache_dir=None,
    )
