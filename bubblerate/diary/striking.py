"""Strikes a row out as a mistake, or undoes that, by rewriting one cell of one row."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from ..errors import DiaryError
from ..text import quoted
from .csv_rows import column_names, content, naming, rows
from .dialect import dialect
from .journal import turn
from .reading import parse
from .safe_write import put
from .visit import Visit
from .writing import ended, stamp

__all__ = ["strike", "take_back"]


def strike(path: Path | str, line: int, *, at: datetime) -> Visit:
    """Mark the row that starts on a line as a mistake; every other byte stays unchanged.

    Parameters
    ----------
    path : Path or str
        A diary that can be read. If it has no column `struck`, every row gets one.
    line : int
        Physical line on which the row starts; the header is 1.
    at : datetime
        When it was struck, aware.

    Returns
    -------
    Visit
        The row as it now stands.

    Raises
    ------
    DiaryError
        If no row starts there, it is already struck, or the diary cannot be read or written.
    """

    def told(visit: Visit) -> str:
        return f"was already struck ({quoted(visit.struck)}); nothing to do" if visit.struck else ""

    return _marked(Path(path), line, stamp(at), at=at, refused=told)


def take_back(path: Path | str, line: int, *, at: datetime) -> Visit:
    """Let a struck row count again; every other byte stays unchanged.

    Parameters
    ----------
    path : Path or str
        A diary that can be read.
    line : int
        Physical line on which the row starts; the header is 1.
    at : datetime
        The moment of it, aware.

    Returns
    -------
    Visit
        The row as it now stands.

    Raises
    ------
    DiaryError
        If no row starts there, it is not struck, it has something no diary can have, or the diary
        cannot be read or written; the diary is then unchanged.
    """
    return _marked(
        Path(path),
        line,
        "",
        at=at,
        refused=lambda visit: "" if visit.struck else "is not struck; nothing was changed",
    )


def _marked(
    path: Path, line: int, mark: str, *, at: datetime, refused: Callable[[Visit], str]
) -> Visit:
    """Write a mark into the cell `struck` of one row, if nothing is against it."""
    with naming(path), turn(path) as folder:
        data = content(path)
        diary = parse(path, data, pitched=None, now=at)
        visit = next((visit for visit in diary.visits if visit.line == line), None)
        if visit is None:
            raise DiaryError(f"{path.name}:{line}: no row starts on this line; check the number")
        if why := refused(visit):
            raise DiaryError(f"{path.name}:{line}: {why}")
        new = _with_mark(path, data, line, mark.encode())
        if not mark:  # a row that counts again must be readable
            again = parse(path, new, pitched=None, now=at).visits
            visit = next(visit for visit in again if visit.line == line)
        put(path, new, folder, was=data)
    return replace(visit, struck=mark)


def _with_mark(path: Path, data: bytes, line: int, mark: bytes) -> bytes:
    """Bytes of the diary with the mark of one row."""
    names, form = column_names(path, data), dialect(data)
    if "struck" not in names:
        gap = form.separator.encode()
        head = {1: gap + b"struck", line: gap + mark}
        return ended(path, data, lambda first: head.get(first, gap))
    lines = data.splitlines(keepends=True)
    row = next(row for row in rows(path, data) if row.first == line)
    raw = b"".join(lines[row.first - 1 : row.last])
    start, stop = [*form.cell_spans(raw)][names.index("struck")]
    lines[row.first - 1 : row.last] = [raw[:start] + mark + raw[stop:]]
    return b"".join(lines)
