"""What a folder may hold after the power went, at any moment of a write.

Of what was written to a file and not yet seen onto the disk (fsync), any beginning may be there,
followed by nothing or by zeros to the full length; of what was done to the names in a folder since
that was seen onto the disk, any first few. Stricter than most file systems, on purpose.
"""

from __future__ import annotations

import os
import shutil
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple
from unittest.mock import patch

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator


@dataclass(eq=False)
class _File:
    """What was written to a file, and how much of it is on the disk for sure."""

    data: bytes
    safe: int


class _Renaming(NamedTuple):
    """What is done to the names in a folder; a folder is a name for no file."""

    folder: Path
    gone: Path | None
    new: dict[Path, _File | None]

    def on(self, names: dict[Path, _File | None]) -> dict[Path, _File | None]:
        return {name: file for name, file in names.items() if name != self.gone} | self.new


State = frozenset[tuple[str, bytes]]
"""Files of a folder, each by its path from there on."""


def restore(state: State, folder: Path) -> None:
    """Make a folder hold just this."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    for name, data in state:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)


class Disk:
    """Watches what this process writes, and tells every state a folder may be left in."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._safe: dict[Path, _File | None] = dict.fromkeys(folder.parents)
        self._safe[folder] = None
        for path in folder.rglob("*"):
            data = path.read_bytes() if path.is_file() else None
            self._safe[path] = None if data is None else _File(data, len(data))
        self._pending: list[_Renaming] = []
        self._handles: dict[int, Path | _File] = {}

    @contextmanager
    def watched(self) -> Iterator[set[State]]:
        """Gather the states it may be left in from now to the end of the block."""
        states: set[State] = set()

        def seen(do: Callable[..., None], real: Callable[..., Any]) -> Callable[..., Any]:
            def call(*args: Any, **options: Any) -> Any:
                result = real(*args, **options)
                do(result, *args)
                states.update(self.states())
                return result

            return call

        calls: dict[str, Callable[..., None]] = {
            "open": self._opened,
            "write": self._written,
            "fsync": self._flushed,
            "close": self._closed,
            "replace": self._replaced,
            "unlink": self._unlinked,
            "mkdir": self._made,
        }
        with ExitStack() as watchers:
            for name, do in calls.items():
                watchers.enter_context(patch.object(os, name, seen(do, getattr(os, name))))
            yield states

    def states(self) -> set[State]:
        """States it may be left in if the power goes at this moment."""
        found: set[State] = set()
        names = self._safe
        for renaming in (None, *self._pending):
            names = names if renaming is None else renaming.on(names)
            files = {
                path: file for path, file in names.items() if self._is_there(path, file, names)
            }
            ways = ([(path, data) for data in _left(file)] for path, file in files.items())
            found |= {
                frozenset((path.relative_to(self._folder).as_posix(), data) for path, data in way)
                for way in product(*ways)
            }
        return found

    def _is_there(self, path: Path, file: _File | None, names: dict[Path, _File | None]) -> bool:
        return (
            file is not None
            and path.is_relative_to(self._folder)
            and all(above in names for above in path.parents)
        )

    @property
    def _now(self) -> dict[Path, _File | None]:
        names = self._safe
        for renaming in self._pending:
            names = renaming.on(names)
        return names

    def _rename(self, gone: Path | None, new: dict[Path, _File | None]) -> None:
        folder = next(iter(new), gone or Path()).parent
        self._pending.append(_Renaming(folder, gone, new))

    def _opened(self, handle: int, path: Any, *_: Any) -> None:
        path = Path(path)
        if path.is_dir():
            self._handles[handle] = path
            return
        if path not in self._now:
            self._rename(None, {path: _File(b"", 0)})
        file = self._now[path]
        assert file is not None
        self._handles[handle] = file

    def _written(self, size: int, handle: int, data: bytes) -> None:
        file = self._handles.get(handle)
        if isinstance(file, _File):
            file.data += data[:size]

    def _flushed(self, _: None, handle: int) -> None:
        one = self._handles[handle]
        if isinstance(one, _File):
            one.safe = len(one.data)
            return
        for renaming in self._pending:
            if renaming.folder == one:
                self._safe = renaming.on(self._safe)
        self._pending = [renaming for renaming in self._pending if renaming.folder != one]

    def _closed(self, _: None, handle: int) -> None:
        self._handles.pop(handle, None)

    def _replaced(self, _: None, old: Any, new: Any) -> None:
        self._rename(Path(old), {Path(new): self._now[Path(old)]})

    def _unlinked(self, _: None, path: Any) -> None:
        self._rename(Path(path), {})

    def _made(self, _: None, path: Any, *__: Any) -> None:
        self._rename(None, {Path(path): None})


def _left(file: _File | None) -> set[bytes]:
    """What may be left of a file."""
    assert file is not None
    whole, size = file.data, len(file.data)
    some = [whole[:end] for end in range(file.safe, size + 1)]
    return {*some, *(one.ljust(size, b"\0") for one in some)}
