"""Hides what a library prints directly to the screen; we report errors in one line ourselves."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

__all__ = ["hushed"]


@contextmanager
def hushed() -> Iterator[None]:
    """Discard what is written to the error stream of the process while this is active."""
    try:
        kept = os.dup(2)
    except OSError:  # there is no screen
        yield
        return
    try:
        with Path(os.devnull).open("wb") as nothing:
            os.dup2(nothing.fileno(), 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
