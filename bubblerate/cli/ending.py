"""How a process ends once its command has answered."""

from __future__ import annotations

import atexit
import os
import sys
from collections.abc import Callable

__all__ = ["skip_teardown"]


def skip_teardown() -> Callable[[int], None]:
    """Let this process end without freeing its objects one by one.

    That would take a sixth of the time of a verdict; the system frees them all at once. Call this
    before libraries are loaded: their own exit functions then run first.

    Returns
    -------
    callable
        Takes the exit code. If it is never called, since an error came first, the process ends as
        usual.
    """
    codes: list[int] = []
    atexit.register(_end, codes)  # the first to be registered is the last to be called
    return codes.append


def _end(codes: list[int]) -> None:
    if not codes:
        return
    for stream in (sys.stdout, sys.stderr):
        try:
            if stream is not None:
                stream.flush()
        except (OSError, ValueError):  # its reader has closed it
            codes = [code or 2 for code in codes]
    os._exit(codes[-1])
