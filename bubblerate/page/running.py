"""Tells whether the page of a shelf is running, and where, by a small locked file.

The file is locked as long as the page runs. A killed program leaves the file but not the lock, so
this never gives the address of a page that is gone.
"""

from __future__ import annotations

import os
import re
import time
from contextlib import contextmanager
from typing import TYPE_CHECKING, Final

from ..diary.locking import taken
from ..diary.safe_write import made

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["told_while_running", "where_running"]

_NAME: Final = ".bubblerate.phone-page"
_ADDRESS: Final = re.compile(r"http://[0-9A-Za-z.-]{1,100}(?::[0-9]{1,5})?")
_LONGEST: Final = 200  # bytes
_TRIES, _WAIT_S = 10, 0.02  # somebody may be reading just now


@contextmanager
def told_while_running(folder: Path, address: str) -> Iterator[None]:
    """Write the address of the page to the file; it is removed when the page stops.

    Nothing is written if another page of the shelf is running, or the folder cannot be written.

    Parameters
    ----------
    folder : Path
        The shelf.
    address : str
        Address without the key.
    """
    path = folder / _NAME
    handle = _held(path)
    try:
        if handle is not None:
            os.ftruncate(handle, 0)
            os.write(handle, address.encode("ascii"))
        yield
    finally:
        if handle is not None:
            if os.name == "nt":  # cannot remove an open file
                os.close(handle)
                path.unlink(missing_ok=True)
            else:
                path.unlink(missing_ok=True)
                os.close(handle)


def where_running(folder: Path) -> str | None:
    """Find the address of the page of a shelf; None if none is running.

    Parameters
    ----------
    folder : Path
        The shelf.

    Returns
    -------
    str or None
    """
    path = folder / _NAME
    try:
        handle = os.open(path, os.O_RDWR)
    except OSError:
        return None
    try:
        if _locked(handle):  # no page was running
            return None
        text = os.read(handle, _LONGEST).decode("ascii", "replace").strip()
    finally:
        os.close(handle)
    return text if _ADDRESS.fullmatch(text) else None


def _held(path: Path) -> int | None:
    """Open and lock the file; None if it cannot be locked."""
    try:
        made(path.parent)
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
    except OSError:
        return None
    for _ in range(_TRIES):
        if _locked(handle):
            return handle
        time.sleep(_WAIT_S)
    os.close(handle)
    return None


def _locked(handle: int) -> bool:
    os.lseek(handle, _LONGEST, os.SEEK_SET)  # Windows locks a byte, and reading it then fails
    try:
        return taken(handle)
    finally:
        os.lseek(handle, 0, os.SEEK_SET)
