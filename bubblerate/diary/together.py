"""Writes new rows of several diaries, and the settings of a new jar, in one act."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from ..errors import DiaryError, InputError
from .csv_rows import content, naming
from .journal import Change, put_all, turn
from .settings_file import FILE_NAME
from .settings_writing import said_of_another
from .writing import grown

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from .shelf import Shelf
    from .visit import Visit

__all__ = ["Rows", "turn_of", "write_rows"]

_OF_THE_JAR: Final = ("litres", "full_litres", "spare_for")  # which the new one has of its own


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """New rows of one diary; a new diary has the history of its wine before them."""

    name: str
    rows: tuple[Visit, ...]
    begun: bool = False


@contextmanager
def turn_of(shelf: Shelf, *names: str) -> Iterator[int]:
    """Lock the folder of some diaries, from reading them to the last byte written."""
    for name in names:
        shelf.check_there(name)
    paths = [shelf.path(name) for name in names]
    if len({path.resolve().parent for path in paths}) > 1:
        raise InputError("these diaries are in two folders; this needs them in the same one")
    with naming(paths[0]), turn(paths[0]) as handle:
        yield handle


def write_rows(
    shelf: Shelf,
    rows: Sequence[Rows],
    handle: int,
    *,
    settings: tuple[str, str] | None = None,
    more: Mapping[str, str] | None = None,
) -> bool:
    """Write all rows in one act; tell whether settings were copied."""
    folder = shelf.path(rows[-1].name).resolve().parent
    changes = [_change(shelf, one) for one in rows]
    said = None if settings is None else _settings(folder, *settings, more)
    put_all(folder, [*changes, *([said] if said else [])], handle)
    return said is not None


def _change(shelf: Shelf, one: Rows) -> Change:
    """The content of a file with its new rows."""
    path = shelf.path(one.name)
    if one.begun and (path.exists() or path.is_symlink()):
        raise DiaryError(f"{path.name}: already exists; nothing was written, so name a new jar")
    was = None if one.begun else content(path)
    pitched = None if one.begun else shelf.settings.vessel(path.stem).pitched
    old, added = grown(path, was, one.rows, pitched=pitched)
    return Change(path.resolve().name, was, old + added)


def _settings(
    folder: Path, source: str, into: str, more: Mapping[str, str] | None
) -> Change | None:
    """`bubblerate.toml` with the settings of one jar copied to another; None if none is."""
    path = folder / FILE_NAME
    was = path.read_bytes() if path.exists() else None
    new = said_of_another(was or b"", source, into, leave_out=_OF_THE_JAR, more=more)
    return None if new is None else Change(path.resolve().name, was, new)
