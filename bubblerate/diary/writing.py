"""Writes rows to a diary: the first one, one more, or many at once.

Every old byte stays unchanged. Only a column that the diary lacks may be added after the others,
blank in each old row. If anything fails, the diary is left as it was.
"""

from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path

from ..errors import DiaryError
from ..text import plain
from .csv_rows import column_names, content, guarded, naming, rows
from .dialect import Dialect, dialect
from .journal import turn
from .number import NUMBERS
from .reading import read
from .safe_write import add_below, made, put
from .times import days_between
from .visit import BASE_COLUMNS, COLUMNS, Visit

__all__ = ["append", "create", "ended", "extend", "grown", "stamp"]

_CRLF = b"\r\n"


def create(path: Path | str, first: Visit) -> None:
    """Start a diary with its first row; makes the folder if needed.

    Parameters
    ----------
    path : Path or str
        A file that does not exist yet.
    first : Visit
        First row.

    Raises
    ------
    DiaryError
        If the file exists or cannot be written; then nothing is left behind.
    """
    path, columns = Path(path), _columns([first])
    data = ",".join(columns).encode() + _CRLF + _row(columns, _texts(first), Dialect()) + _CRLF
    with naming(path.parent):
        made(path.parent)
    with naming(path), turn(path) as folder:
        if path.exists() or path.is_symlink():  # never write through a broken link
            raise FileExistsError
        put(path, data, folder, was=None)


def append(path: Path | str, visit: Visit, *, pitched: datetime | None = None) -> int:
    """Add a row at the end; only the header needs to be readable.

    Parameters
    ----------
    path : Path or str
        A diary, in its own column order and line ends.
    visit : Visit
        The row.
    pitched : datetime, optional
        When day 0 was, needed if the diary counts days instead of writing times.

    Returns
    -------
    int
        Line on which the row starts.

    Raises
    ------
    DiaryError
        If the diary lacks a column the visit needs, or cannot be written; then it is unchanged.
    """
    path = Path(path)
    with naming(path), turn(path) as folder:
        data = content(path)
        whole = data + _start(data)
        wide = _widened(path, whole, [visit])
        added = _added(path, wide, [visit], pitched)
        if wide == whole and added.rstrip(_CRLF).endswith(dialect(data).separator.encode()):
            add_below(path, data, whole[len(data) :] + added)
        else:  # after a power cut here, a cut last cell would look like a smaller number
            put(path, wide + added, folder, was=data)
    return len(whole.splitlines()) + 1


def extend(
    path: Path | str,
    visits: Sequence[Visit],
    *,
    held: Sequence[Visit] = (),
    pitched: datetime | None = None,
) -> int:
    """Add many rows at the end, all or none; starts the diary if there is none.

    This holds even if the machine stops half way: the diary with its new rows is written to another
    file, which then takes its name. The new file begins with the old bytes.

    Parameters
    ----------
    path : Path or str
        A diary, in its own column order and line ends, or a file that does not exist yet.
    visits : sequence of Visit
        The rows.
    held : sequence of Visit
        What the diary had when these rows were chosen, so that none is written twice.
    pitched : datetime, optional
        When day 0 was, needed if the diary counts days instead of writing times.

    Returns
    -------
    int
        Line on which the first of them starts.

    Raises
    ------
    DiaryError
        If the diary has changed since, lacks a column some visit needs, or cannot be written; then
        it is unchanged.
    """
    path = Path(path)
    with naming(path.parent):
        made(path.parent)
    with naming(path), turn(path) as folder:
        was = content(path) if path.exists() else None
        if [*held] != ([] if was is None else [*read(path, pitched=pitched).visits]):
            raise DiaryError(
                f"{path.name}: rows were written by another program just now; nothing was added, "
                "so check it and try again"
            )
        data, added = grown(path, was, visits, pitched=pitched)
        put(path, data + added, folder, was=was)
    return len(data.splitlines()) + 1


def grown(
    path: Path, was: bytes | None, visits: Sequence[Visit], *, pitched: datetime | None
) -> tuple[bytes, bytes]:
    """Bytes of a diary before some new rows, and of the rows; `was` is None if it is new."""
    data = ",".join(_columns(visits)).encode() + _CRLF if was is None else was
    data = _widened(path, data + _start(data), visits)
    return data, _added(path, data, visits, pitched)


def _start(data: bytes) -> bytes:
    """What to put before a new row if the last one was cut short or has no line end."""
    if dialect(data).quote_left_open(data):
        return b'"' + _line_end(data)
    return b"" if data.endswith((b"\n", b"\r")) else _line_end(data)


def _columns(visits: Sequence[Visit]) -> tuple[str, ...]:
    """Columns of a new diary that starts with these rows."""
    return (*BASE_COLUMNS, *_later(visits))


def _later(visits: Sequence[Visit]) -> list[str]:
    """Optional columns that some of these rows need."""
    needed = {name for visit in visits for name in _texts(visit)}
    return [name for name in COLUMNS if name in needed and name not in BASE_COLUMNS]


def _widened(path: Path, data: bytes, visits: Sequence[Visit]) -> bytes:
    """Bytes of a diary with the optional columns that new rows need, blank in all old rows."""
    names = column_names(path, data)
    lacking = [name for name in _later(visits) if name not in names]
    if not lacking:
        return data
    mark = dialect(data).separator.encode()
    head, blank = b"".join(mark + name.encode() for name in lacking), mark * len(lacking)
    return ended(path, data, lambda line: head if line == 1 else blank)


def ended(path: Path, data: bytes, end: Callable[[int], bytes]) -> bytes:
    """Give the bytes of a diary with text added to the end of each row, by its first line.

    Raises
    ------
    DiaryError
        If it is unclear where a row ends.
    """
    lines = data.splitlines(keepends=True)
    for row in rows(path, data):
        raw = b"".join(lines[row.first - 1 : row.last])
        body = raw.rstrip(_CRLF)
        new = body + end(row.first) + raw[len(body) :]
        lines[row.first - 1 : row.last] = [new, *[b""] * (row.last - row.first)]
    return b"".join(lines)


def _added(path: Path, data: bytes, visits: Sequence[Visit], pitched: datetime | None) -> bytes:
    """Bytes of rows to add to a diary, in its own columns and form."""
    names, end, form = column_names(path, data), _line_end(data), dialect(data)
    texts = (_fitting(path, names, visit, pitched) for visit in visits)
    return b"".join(_row(names, some, form) + end for some in texts)


def _line_end(data: bytes) -> bytes:
    first = next(iter(data.splitlines(keepends=True)), b"")
    return first[len(first.rstrip(_CRLF)) :] or _CRLF


def stamp(when: datetime) -> str:
    """Format a time as in a diary: ISO 8601 to the second, with its offset.

    Raises
    ------
    ValueError
        If it has no offset.
    """
    if when.utcoffset() is None:
        raise ValueError(f"a diary needs a time with its UTC offset, got {when}")
    return when.isoformat(timespec="seconds")


def _text(value: datetime | float | str | None) -> str:
    if isinstance(value, datetime):
        return stamp(value)
    if isinstance(value, str):
        return guarded(value)
    return "" if value is None else plain(value)


def _texts(visit: Visit) -> dict[str, str]:
    """Give the texts to write, by column; only for values that are there."""
    texts = {name: _text(getattr(visit, name)) for name in COLUMNS}
    return {name: text for name, text in texts.items() if text}


def _fitting(
    path: Path, names: list[str], visit: Visit, pitched: datetime | None
) -> dict[str, str]:
    """Give the texts to write, made to fit the columns the diary has."""
    texts = _texts(visit)
    if "when" not in names:
        if pitched is None:
            raise DiaryError(
                f"{path.name} counts days; say when day 0 was, "
                "e.g. pitched = 2026-10-01 in bubblerate.toml"
            )
        del texts["when"]
        texts["day"] = plain(days_between(pitched.astimezone(), visit.when))
    if "seconds" not in names and visit.seconds == 60.0:
        texts.pop("seconds", None)
    missing = [name for name in texts if name not in names]
    if missing:
        raise DiaryError(
            f"{path.name} has no {_named(missing)}; open it in a spreadsheet or text editor, add "
            "what is missing, then enter this again"
        )
    return texts


def _named(columns: list[str]) -> str:
    """Name one column, or several."""
    *some, last = columns
    return f"columns {', '.join(some)} and {last}" if some else f"column {last}"


def _row(names: list[str] | tuple[str, ...], texts: dict[str, str], form: Dialect) -> bytes:
    numbers = {name: form.number(texts[name]) for name in ("day", *NUMBERS) if name in texts}
    told = texts | numbers
    return form.separator.join(form.cell(told.get(name, "")) for name in names).encode()
