"""Bytes put into a file so that a stop at any moment leaves what was there, or all of the new.

Writers take turns by a lock. Another program takes no such turns: its save between our look at a
file and our write is found out and said, never glued to and never written over.
"""

import errno
import os
import stat
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from ..errors import DiaryError, InputError
from .locking import led

__all__ = [
    "add_below",
    "check_output",
    "made",
    "open_elsewhere",
    "put",
    "save_output",
]

_BINARY: int = getattr(os, "O_BINARY", 0)  # Windows would change line ends otherwise


def made(folder: Path) -> Path:
    """Make a folder and those above it, each seen onto the disk."""
    if not folder.is_dir():
        above = made(folder.parent)
        folder.mkdir(exist_ok=True)
        if sys.platform != "win32":  # which opens no folder
            handle = os.open(above, os.O_RDONLY)
            try:
                _confirm(handle, folder)
            finally:
                os.close(handle)
    return folder


def add_below(path: Path, data: bytes, added: bytes) -> None:
    """Add bytes below those that were read, in one flushed write, and see that they are there.

    Raises
    ------
    DiaryError
        If another program changed the file at the same moment.
    OSError
        If they cannot be written; the file is then unchanged.
    """
    handle = os.open(path, os.O_RDWR | os.O_APPEND | _BINARY)
    try:
        with open(handle, "rb", closefd=False) as file:
            if file.read() != data:
                raise _changed(path)
        try:
            _write(handle, added)
        except OSError as err:
            try:
                os.ftruncate(handle, len(data))
            except OSError:
                raise DiaryError(
                    f"{path.name}: failed halfway ({err.strerror or err}); "
                    "check its last line, then try again"
                ) from err
            raise
    finally:
        os.close(handle)
    if _held(path) != data + added:  # what was written may be in a file that has lost its name
        raise DiaryError(
            f"{path.name}: was changed by another program at the same moment; check whether this "
            "row is there, and if not enter it again"
        )


def put(path: Path, data: bytes, folder: int, *, was: bytes | None) -> None:
    """Write a whole file beside itself, see it onto the disk, and let it take the name.

    Parameters
    ----------
    path : Path
    data : bytes
        All that the file is to hold.
    folder : int
        Descriptor of its folder, as `locked` yields it.
    was : bytes or None
        What the file held when it was read; None if there was none.

    Raises
    ------
    DiaryError
        If the file no longer holds that; or if the disk does not confirm that it is written.
    OSError
        If it cannot be written; the file is then unchanged.
    """
    target = led(path)  # a link stays a link
    beside = target.with_name(f".{target.name}.new")
    if beside.is_dir():
        raise DiaryError(
            f"{path.name}: the folder {beside.name} next to it is in the way; move it, "
            "then try again: nothing was changed"
        )
    beside.unlink(missing_ok=True)  # left by a crash: under the lock nobody else is at work
    with _beside(beside, data, mode_of=target):
        mark = _mark(target)
        if _held(target) != was or _mark(target) != mark:  # the mark again: reading takes time
            raise _changed(path)
        beside.replace(target)
    _confirm(folder, path)


def check_output(path: Path) -> None:
    """Refuse a place for a picture or a calendar where writing would cost something else.

    Raises
    ------
    InputError
        If it is a folder, a pipe or a device, or a link to a file of another kind, as a diary.
    """
    try:
        target = led(path)
        kind = path.stat().st_mode if path.exists() else stat.S_IFREG
    except OSError as err:
        raise _unwritten(path, err) from None
    if target.suffix.lower() != path.suffix.lower():
        raise InputError(f"{path} is a link to {target.name}; name another file, so that it stays")
    if stat.S_ISDIR(kind):
        raise InputError(f"{path} is a folder; name a file in it")
    if not stat.S_ISREG(kind):
        raise InputError(f"{path} is a pipe or a device; name a file")


def save_output(path: Path, data: bytes) -> None:
    """Write a picture or a calendar: whole, or what was there stays.

    Parameters
    ----------
    path : Path
        Whatever it held before is replaced; a link stays a link.
    data : bytes
        All that the file is to hold.

    Raises
    ------
    InputError
        If it cannot be written, or `check_output` refuses it.
    """
    check_output(path)
    try:
        target = led(path)
        beside = target.with_name(f".{os.urandom(8).hex()}.new")  # a name of its own: no lock
        with _beside(beside, data, mode_of=target):
            beside.replace(target)
    except OSError as err:
        raise _unwritten(path, err) from None


def open_elsewhere(path: Path) -> bool:
    """Whether another program has a diary open, by the mark that some spreadsheets leave."""
    return path.with_name(f".~lock.{path.name}#").exists()


@contextmanager
def _beside(beside: Path, data: bytes, *, mode_of: Path) -> Iterator[None]:
    """Hold data in a new file, seen onto the disk, until it is renamed; else it goes away again."""
    handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL | _BINARY, 0o666)
    try:
        try:
            _write(handle, data)
        finally:
            os.close(handle)
        if mode_of.exists():
            beside.chmod(stat.S_IMODE(mode_of.stat().st_mode))
        yield
    except BaseException:
        beside.unlink(missing_ok=True)
        raise


def _unwritten(path: Path, err: OSError) -> InputError:
    reason = err.strerror or str(err)
    return InputError(f"{path}: cannot be written: {reason}; the old file is unchanged")


def _mark(path: Path) -> tuple[int, int, int] | None:
    """What changes with every save of a file."""
    try:
        found = path.stat()
    except FileNotFoundError:
        return None
    return found.st_ino, found.st_size, found.st_mtime_ns


def _held(path: Path) -> bytes | None:
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None


def _write(handle: int, data: bytes) -> None:
    """Write everything at once and see it onto the disk."""
    if os.write(handle, data) != len(data):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    os.fsync(handle)


def _confirm(folder: int, path: Path) -> None:
    """See a new name in a folder onto the disk; by then the name is there for all to see."""
    try:
        os.fsync(folder)
    except OSError as err:
        if err.errno != errno.EINVAL:  # a file system that confirms no folders
            raise DiaryError(
                f"{path.name}: is written, but the disk did not confirm it "
                f"({err.strerror or err}); check it before you enter this again"
            ) from None


def _changed(path: Path) -> DiaryError:
    return DiaryError(
        f"{path.name}: was changed by another program just now; nothing was written, so check it "
        "and try again"
    )
