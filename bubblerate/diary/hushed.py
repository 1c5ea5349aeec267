"""Keep from the screen what a library prints past Python; what is wrong we say in one line."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

__all__ = ["hushed"]


@contextmanager
def hushed() -> Iterator[None]:
    """Send what is written to the error stream of the process nowhere, for as long as it lasts."""
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
