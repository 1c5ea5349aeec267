"""How a process ends once its command has answered."""

from __future__ import annotations

import atexit
import os
import sys
from collections.abc import Callable

__all__ = ["hasten"]


def hasten() -> Callable[[int], None]:
    """Have the system take back the memory of this process all at once when it ends.

    Python would free all that was loaded piece by piece, which takes a sixth of the time of a
    verdict. To be called before libraries are loaded: what they want done at the end is done first.

    Returns
    -------
    callable
        To be told the exit code. A process that ends untold, by an error, ends as ever.
    """
    codes: list[int] = []
    atexit.register(_end, codes)  # of those that are registered the first is called last
    return codes.append


def _end(codes: list[int]) -> None:
    if not codes:
        return
    for stream in (sys.stdout, sys.stderr):
        try:
            if stream is not None:
                stream.flush()
        except (OSError, ValueError):  # whoever read it has closed it
            codes = [code or 2 for code in codes]
    os._exit(codes[-1])
