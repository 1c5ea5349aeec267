"""Opens other jars of the same shelf, by the name in the column `other`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..errors import BubbleRateError
from .shelf import shelf_at

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from .outcomes import Opened

__all__ = ["kin"]


def kin(folder: Path) -> Callable[[str], Opened | None]:
    """Give a function that opens the diary of another jar in a folder.

    Parameters
    ----------
    folder : Path
        The shelf.

    Returns
    -------
    callable
        From a name; it gives None if there is no such diary, or it cannot be read.
    """
    shelf = shelf_at(folder)

    def of(name: str) -> Opened | None:
        try:
            return shelf.open(name)
        except BubbleRateError:
            return None

    return of
