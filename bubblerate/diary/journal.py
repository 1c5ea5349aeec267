"""Several files of one shelf changed in one act: all of them or none, whatever stops it half way.

What each file is to hold is first written into a journal beside them. From that moment on the act
is promised: if it is cut short between two files, the next command that comes by reads the journal
and finishes it, under the same lock, before it does anything else.
"""

from __future__ import annotations

import sys
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Final, NamedTuple

from ..errors import DiaryError
from ..text import printable
from .locking import locked
from .safe_write import put

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from .promise import Promise

__all__ = ["JOURNAL", "Change", "mend", "put_all", "turn"]

JOURNAL: Final = ".bubblerate.act"
_ASIDE: Final = "bubblerate-act-not-finished.json"


class Change(NamedTuple):
    """What one file of the shelf held, None if there was none, and what it is to hold."""

    name: str
    was: bytes | None
    new: bytes


@contextmanager
def turn(path: Path) -> Iterator[int]:
    """Hold all writers of a folder's diaries apart, once an act cut short there is finished.

    Yields the descriptor of what is locked, as `locking.locked` does.

    Raises
    ------
    DiaryError
        If another program holds the folder, or the act cannot be finished.
    """
    with locked(path) as handle:
        _finish(path.resolve().parent, handle)
        yield handle


def mend(folder: Path) -> None:
    """Finish an act that was cut short on a shelf; for readers, who take no lock otherwise.

    Raises
    ------
    DiaryError
        If it cannot be finished.
    """
    if (folder / JOURNAL).exists():
        with turn(folder / JOURNAL):
            pass


def put_all(folder: Path, changes: Sequence[Change], handle: int) -> None:
    """Change several files of a folder, all or none.

    Parameters
    ----------
    folder : Path
        Resolved; every name lies in it.
    changes : sequence of Change
    handle : int
        Descriptor of the folder, as `turn` yields it.

    Raises
    ------
    DiaryError
        If another program changed a file just now: none is changed then. Or if the act began and
        could not be ended; the next command does so.
    OSError
        If none could be written; then all are as they were.
    """
    from .promise import packed, promise  # a single row, which is nearly all there is, needs none

    journal = folder / JOURNAL
    put(journal, packed(promise(*change) for change in changes), handle, was=None)
    try:
        for change in changes:
            put(folder / change.name, change.new, handle, was=change.was)
    except BaseException as err:
        if not any(_held(folder / change.name) == change.new for change in changes):
            journal.unlink()
            raise
        if not isinstance(err, DiaryError | OSError):
            raise
        names = " and ".join(change.name for change in changes)
        raise DiaryError(
            f"{names}: only partly written ({err}); do not enter it again: the next command "
            "writes the rest, once that is fixed"
        ) from err
    with suppress(OSError):  # done; whoever comes by next finds it so and takes it away
        journal.unlink()


def _finish(folder: Path, handle: int) -> None:
    """Finish the act whose journal was left, or put the journal aside where nobody can."""
    journal = folder / JOURNAL
    data = _held(journal)
    if data is None:
        return
    from .promise import unpacked

    promises = unpacked(data)
    left = [one.name for one in promises if not _finished(folder, one, handle)]
    if left:
        journal.replace(folder / _ASIDE)
        raise DiaryError(
            f"{' and '.join(left)}: a write to several jars was interrupted, and another program "
            "has changed this file since; check their last rows and enter what is missing (what "
            f"was to be written is in {_ASIDE})"
        )
    journal.unlink()
    names = " and ".join(printable(one.name) for one in promises)
    print(
        (f"bubblerate: {names}: an interrupted write to several jars has been completed"),
        file=sys.stderr,
        flush=True,
    )


def _finished(folder: Path, one: Promise, handle: int) -> bool:
    """Bring one file to what it was to hold; whether that could be done."""
    from .promise import mark

    path, new, below = folder / one.name, one.new, one.below
    now = _held(path)
    if now == new:
        return True
    if (None if now is None else mark(now)) == one.was:
        put(path, new, handle, was=now)
        return True
    if now is None or below is None or not _same_columns(now, new):
        return False
    if below.strip() in now:
        return True
    put(path, now + (b"" if now.endswith(b"\n") else b"\r\n") + below.lstrip(), handle, was=now)
    return True


def _same_columns(now: bytes, new: bytes) -> bool:
    return now.splitlines()[:1] == new.splitlines()[:1]


def _held(path: Path) -> bytes | None:
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None
