"""Writes files safely: a stop at any moment leaves either the old content or all of the new.

Our writers take turns with a lock. Other programs do not: if one saves between our reading and our
writing, we notice and say so, and never mix or overwrite its work.
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
    """Make a folder and those above it, each flushed to the disk."""
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
    """Add bytes after those that were read, in one flushed write, and check that they are there.

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
    if _held(path) != data + added:  # the bytes may have gone into a file that was replaced
        raise DiaryError(
            f"{path.name}: was changed by another program at the same moment; check whether this "
            "row is there, and if not enter it again"
        )


def put(path: Path, data: bytes, folder: int, *, was: bytes | None) -> None:
    """Write a new file beside the old one, flush it to the disk, then rename it.

    Parameters
    ----------
    path : Path
    data : bytes
        All that the file is to hold.
    folder : int
        Descriptor of its folder, from `locked`.
    was : bytes or None
        Content of the file when it was read; None if there was no file.

    Raises
    ------
    DiaryError
        If the file has changed since, or the disk does not confirm the write.
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
    beside.unlink(missing_ok=True)  # left by a crash: with the lock nobody else is writing
    with _beside(beside, data, mode_of=target):
        mark = _mark(target)
        if _held(target) != was or _mark(target) != mark:  # once more: reading takes time
            raise _changed(path)
        beside.replace(target)
    _confirm(folder, path)


def check_output(path: Path) -> None:
    """Refuse a path for a picture or a calendar if writing would destroy something else.

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
    """Write a picture or a calendar completely, or leave what was there.

    Parameters
    ----------
    path : Path
        Old content is replaced; a link stays a link.
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
        beside = target.with_name(f".{os.urandom(8).hex()}.new")  # its own name: no lock
        with _beside(beside, data, mode_of=target):
            beside.replace(target)
    except OSError as err:
        raise _unwritten(path, err) from None


def open_elsewhere(path: Path) -> bool:
    """Whether another program has a diary open, by the lock file of some spreadsheets."""
    return path.with_name(f".~lock.{path.name}#").exists()


@contextmanager
def _beside(beside: Path, data: bytes, *, mode_of: Path) -> Iterator[None]:
    """Put data into a new file, flushed to the disk, until it is renamed; else remove it."""
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
    """Write everything at once and flush it to the disk."""
    if os.write(handle, data) != len(data):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    os.fsync(handle)


def _confirm(folder: int, path: Path) -> None:
    """Flush a new name in a folder to the disk; the name is already visible."""
    try:
        os.fsync(folder)
    except OSError as err:
        if err.errno != errno.EINVAL:  # a file system that cannot flush folders
            raise DiaryError(
                f"{path.name}: is written, but the disk did not confirm it "
                f"({err.strerror or err}); check it before you enter this again"
            ) from None


def _changed(path: Path) -> DiaryError:
    return DiaryError(
        f"{path.name}: was changed by another program just now; nothing was written, so check it "
        "and try again"
    )
