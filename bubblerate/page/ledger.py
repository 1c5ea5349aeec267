"""Remembers which entries came in, so that a form sent twice is one row.

The mark of an entry goes to the disk before its row. So an entry cut short by a crash between the
two is recognised when the phone sends it again; then the diary tells whether its row is there.
"""

from __future__ import annotations

import errno
import os
from collections import OrderedDict
from contextlib import suppress
from datetime import datetime
from typing import TYPE_CHECKING, Final

from ..diary.locking import locked
from ..diary.safe_write import made, put, save_output
from ..errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["Ledger"]

_KEPT: Final = 5000  # entries; a phone sends one again within hours, not after this many others


class Ledger:
    """Marks of the entries of a shelf, oldest first.

    Parameters
    ----------
    folder : Path
        The shelf.
    """

    def __init__(self, folder: Path) -> None:
        self._path = folder / ".bubblerate.phone-entries"
        data = self._path.read_bytes() if self._path.exists() else b""
        self._cut_short = data[-1:] not in (b"", b"\n")  # half a line: a power cut, a full disk
        self._firsts = OrderedDict(_read(data))
        if len(self._firsts) > _KEPT:
            while len(self._firsts) > _KEPT:
                self._firsts.popitem(last=False)
            lines = (_line(mark, when) for mark, when in self._firsts.items())
            save_output(self._path, "".join(lines).encode())

    def first(self, mark: str) -> datetime | None:
        """The moment of an entry that came in before; None if it is new."""
        return self._firsts.get(mark)

    def add(self, mark: str, when: datetime) -> None:
        """Remember an entry, and flush it to the disk.

        Raises
        ------
        InputError
            If it cannot be written.
        """
        try:
            self._written(_line(mark, when).encode())
        except OSError as err:
            reason = err.strerror or err
            raise InputError(f"{self._path}: cannot be written: {reason}; enter it again") from None
        self._firsts[mark] = when
        if len(self._firsts) > _KEPT:
            self._firsts.popitem(last=False)

    def _written(self, line: bytes) -> None:
        made(self._path.parent)
        if not self._path.exists():
            with locked(self._path) as folder:
                put(self._path, b"", folder, was=None)  # this flushes its name to the disk
        handle = os.open(self._path, os.O_WRONLY | os.O_APPEND | getattr(os, "O_BINARY", 0))
        line, self._cut_short = b"\n" * self._cut_short + line, True
        try:
            if os.write(handle, line) != len(line):
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            os.fsync(handle)
        finally:
            os.close(handle)
        self._cut_short = False


def _line(mark: str, when: datetime) -> str:
    return f"{mark} {when.isoformat()}\n"


def _read(data: bytes) -> dict[str, datetime]:
    """Read marks and moments from a file; a cut line is ignored."""
    found = {}
    for line in data.decode("ascii", errors="replace").splitlines():
        mark, _, when = line.partition(" ")
        with suppress(ValueError):
            moment = datetime.fromisoformat(when)
            if moment.utcoffset() is not None:
                found[mark] = moment
    return found
