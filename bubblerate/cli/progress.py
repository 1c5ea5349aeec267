"""A bar for work that takes its time; nothing where nobody watches."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from typing import TypeVar

__all__ = ["progress"]

T = TypeVar("T")

_FEW = 20  # jars: done before a bar could be read


def progress(done: Iterable[T], *, total: int | None, label: str) -> Iterator[T]:
    """Hand on what is done, and show how far the work is where stderr is a terminal."""
    if not sys.stderr.isatty() or (total is not None and total < _FEW):
        yield from done
        return
    from rich.console import Console
    from rich.progress import track

    yield from track(
        done, description=label, total=total, console=Console(stderr=True), transient=True
    )
