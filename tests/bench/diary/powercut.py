"""What a disk may hold after the power went, at any moment of a write.

Of what was written to a file and not yet seen onto the disk (fsync), any beginning may be there,
followed by nothing or by zeros to the full length; of what was done to the names in a folder since
that was seen onto the disk, any first few. Stricter than most file systems, on purpose.
"""

from __future__ import annotations

import os
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
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


class Disk:
    """Watches what this process writes, and tells every state a file may be left in."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._safe: dict[Path, _File | None] = {one: None for one in path.parents if one.exists()}
        if path.exists():
            data = path.read_bytes()
            self._safe[path] = _File(data, len(data))
        self._pending: list[_Renaming] = []
        self._handles: dict[int, Path | _File] = {}

    @contextmanager
    def watched(self) -> Iterator[set[bytes | None]]:
        """Gather the states it may be left in from now to the end of the block; None: no file."""
        states: set[bytes | None] = set()

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

    def states(self) -> set[bytes | None]:
        """States it may be left in if the power goes at this moment."""
        found: set[bytes | None] = set()
        names = self._safe
        for renaming in (None, *self._pending):
            names = names if renaming is None else renaming.on(names)
            file = names.get(self._path)
            if file is None or any(above not in names for above in self._path.parents):
                found.add(None)
                continue
            for end in range(file.safe, len(file.data) + 1):
                found |= {file.data[:end], file.data[:end].ljust(len(file.data), b"\0")}
        return found

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
