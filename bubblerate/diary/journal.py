"""Changes several files of a shelf in one act: all of them or none, even after a crash.

The new content of each file is first written into a journal beside them. From then on the act will
be completed: if it is cut short between two files, the next command reads the journal and finishes
it, under the same lock, before it does anything else.
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
    """Old content of one file of the shelf, None if there was none, and its new content."""

    name: str
    was: bytes | None
    new: bytes


@contextmanager
def turn(path: Path) -> Iterator[int]:
    """Lock a folder's diaries against other writers, after finishing any act cut short there.

    Yields the descriptor of what is locked, like `locking.locked`.

    Raises
    ------
    DiaryError
        If another program has locked the folder, or the act cannot be finished.
    """
    with locked(path) as handle:
        _finish(path.resolve().parent, handle)
        yield handle


def mend(folder: Path) -> None:
    """Finish an act that was cut short on a shelf; for readers, who otherwise take no lock.

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
        Resolved path; all names are in it.
    changes : sequence of Change
    handle : int
        Descriptor of the folder, from `turn`.

    Raises
    ------
    DiaryError
        If another program has just changed a file; then none is changed. Or if the act began and
        could not be finished; the next command does so.
    OSError
        If none could be written; then all are as they were.
    """
    from .promise import packed, promise  # a single file needs no journal, which is the usual case

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
    with suppress(OSError):  # done; the next command sees that and removes it
        journal.unlink()


def _finish(folder: Path, handle: int) -> None:
    """Finish the act whose journal was left, or put the journal aside if that is impossible."""
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
    """Give one file its new content; tell whether that worked."""
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
