"""A lock on a folder, so that only one program at a time writes in its diaries."""

import errno
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from ..errors import DiaryError
from ..text import printable

__all__ = ["led", "locked", "taken"]

_SAID_AFTER_S = 2.0  # writing takes milliseconds: after this long, say why we wait
_GIVEN_UP_AFTER_S = 30.0
_LOOKED_EVERY_S = 0.02


@contextmanager
def locked(path: Path) -> Iterator[int]:
    """Keep all other writers of a folder's diaries out; yields the descriptor of what is locked.

    On POSIX that is the folder itself: no extra file, and the lock survives the rename in `put`.

    Raises
    ------
    DiaryError
        If another program has the lock for half a minute; after two seconds stderr says so.
    """
    folder = led(path).parent
    if sys.platform == "win32":
        handle = os.open(folder / ".bubblerate.lock", os.O_RDWR | os.O_CREAT)
    else:
        handle = os.open(folder, os.O_RDONLY)
    try:
        _wait_for(handle, path, folder)
        yield handle
    finally:
        os.close(handle)  # which unlocks it


def _wait_for(handle: int, path: Path, folder: Path) -> None:
    began, said = time.monotonic(), False
    while not taken(handle):
        waited_s = time.monotonic() - began
        if waited_s >= _GIVEN_UP_AFTER_S:
            raise DiaryError(
                f"{path.name}: another program has been using {folder} for {_GIVEN_UP_AFTER_S:.0f} "
                "s; "
                "nothing was written, close that program and enter this again"
            )
        if waited_s >= _SAID_AFTER_S and not said:
            said = True
            print(
                f"bubblerate: {printable(path.name)}: waiting, as another program is writing in "
                f"{printable(str(folder))}, "
                "perhaps bubblerate in another window or on another machine",
                file=sys.stderr,
                flush=True,
            )
        time.sleep(_LOOKED_EVERY_S)


def taken(handle: int) -> bool:
    """Take the lock, or see that another has it."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):  # the latter on Windows
        return False
    return True


def led(path: Path) -> Path:
    """Resolve a path; a link that leads back to itself gives the same error on every Python."""
    with suppress(RuntimeError):  # Python up to 3.12 raises this; later ones raise nothing
        found = path.resolve()
        if not found.is_symlink():
            return found
    raise OSError(errno.ELOOP, os.strerror(errno.ELOOP))
