"""Reports faults of our own in one line, in the terminal and on the page."""

import sys

from ..text import printable

__all__ = ["told_fault"]


def told_fault(jar: str, err: Exception) -> str:
    """Word a fault of ours in one jar, in a line; it is printed in the terminal too."""
    error = f"{jar}: {type(err).__name__}: {printable(str(err))}"
    print(f"bubblerate: {error}", file=sys.stderr)
    return error
