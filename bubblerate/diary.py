"""The diary of one vessel: a CSV file (RFC 4180, UTF-8), one row per visit, oldest first.

Plain text on purpose: it opens in any spreadsheet and outlives this program. `read` drops nothing
silently, `append` leaves every old byte as it was, and only `strike` rewrites, one cell of one row.
Times are aware; a time without an offset is local time.
"""

import csv
import errno
import math
import os
import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Literal, NamedTuple, get_args

from . import units
from .errors import DiaryError, InputError

__all__ = ["COLUMNS", "EVENTS", "Diary", "Event", "Visit", "append", "create", "read", "strike"]

# fmt: off
Event = Literal[
    "pitched", "sampled", "fed", "stirred", "moved", "airlock", "racked", "topped-up", "fined",
    "sulphited", "stabilised", "filtered", "bottled",
]
EVENTS: tuple[str, ...] = get_args(Event)

COLUMNS: tuple[str, ...] = (
    "when", "bubbles", "seconds", "temp_c", "pressure_hpa", "sg", "sample_c", "event", "litres",
    "note", "struck",
)
# fmt: on


class _Number(NamedTuple):
    """What a column of numbers may hold, and how to read a person who wrote something else."""

    low: float
    high: float
    wanted: str
    typed: Callable[[str], float]
    digits: int = 3

    def holds(self, value: float) -> bool:
        return math.isfinite(value) and self.low <= value <= self.high


def _plain_number(text: str) -> float:
    return units.number(text, "it")


def _whole_number(text: str) -> float:
    return units.count(text.removesuffix(".0"))  # "8.0" is how tables with gaps are often saved


_ABOVE_0 = math.ulp(0.0)
_NUMBERS = {
    "bubbles": _Number(0.0, math.inf, "a whole number such as 12", _whole_number),
    "seconds": _Number(_ABOVE_0, math.inf, "seconds above 0, such as 300", units.seconds),
    "temp_c": _Number(-10.0, 50.0, "Celsius from -10 to 50, such as 18.5", units.temp_c, 1),
    "pressure_hpa": _Number(800.0, 1100.0, "hPa from 800 to 1100, such as 1013", _plain_number),
    "sg": _Number(0.7, 1.3, "a gravity such as 1.004", units.sg, 4),
    "sample_c": _Number(-10.0, 100.0, "Celsius from -10 to 100, such as 18.5", units.temp_c, 1),
    "litres": _Number(_ABOVE_0, 10_000.0, "litres such as 4.5", units.litres),
}
_DAY = _Number(-36_500.0, 36_500.0, "days since pitching, such as 12.5", _plain_number)
_DECIMAL = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)")
_WHOLE = re.compile(r"[0-9]+")
_QUOTED = re.compile(rb'"[^"]*(?:""[^"]*)*"(?!")')
_CELL = re.compile(rb"(?:^|,)(" + _QUOTED.pattern + rb"|[^,\r\n]*)")
_LONGEST_CELL = 131_072  # the csv module reads no longer one
_CRLF = b"\r\n"
_BOM = b"\xef\xbb\xbf"
_BINARY: int = getattr(os, "O_BINARY", 0)  # Windows would change line ends otherwise


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """What one visit to one vessel found; None where nothing was noted.

    `seconds` is how long `bubbles` were counted; `line` is the physical line of the file on which
    the row starts (the header is 1), or 0 when the visit comes from no file.
    """

    when: datetime
    bubbles: int | None = None
    seconds: float = 60.0
    temp_c: float | None = None
    pressure_hpa: float | None = None
    sg: float | None = None
    sample_c: float | None = None
    event: str | None = None
    litres: float | None = None
    note: str = ""
    struck: str = ""
    line: int = 0

    def __post_init__(self) -> None:
        if self.when.utcoffset() is None:
            raise ValueError(f"a visit needs a time with its UTC offset, got {self.when}")
        for name, column in _NUMBERS.items():
            value = getattr(self, name)
            if value is not None and not column.holds(value):
                raise ValueError(f"{name} is {value}; a visit needs {column.wanted}")
        if self.bubbles is not None and self.bubbles % 1:
            raise ValueError(f"bubbles is {self.bubbles}; a visit needs a whole number")
        if self.event is not None and self.event not in EVENTS:
            raise ValueError(f"event is {self.event!r}; a visit needs one of {', '.join(EVENTS)}")
        for text in (self.note, self.struck):
            if "\0" in text or len(text) > _LONGEST_CELL:
                raise ValueError("a note holds no NUL and no more than 131072 characters")
            text.encode()  # half a surrogate pair cannot be written down: UnicodeEncodeError

    @property
    def per_min(self) -> float | None:
        """Bubbles a minute, or None when none were counted for."""
        return None if self.bubbles is None else 60.0 * self.bubbles / self.seconds


@dataclass(frozen=True, slots=True, kw_only=True)
class Diary:
    """All visits to one vessel, struck ones too, in order of time."""

    path: Path
    vessel: str
    visits: tuple[Visit, ...]

    @property
    def live(self) -> tuple[Visit, ...]:
        """The visits that were not struck."""
        return tuple(visit for visit in self.visits if not visit.struck)

    @property
    def pitched(self) -> datetime | None:
        """When the yeast went in: the last live row that says so, else the first live row."""
        live = self.live
        said = [visit.when for visit in live if visit.event == "pitched"]
        return said[-1] if said else live[0].when if live else None

    @property
    def litres(self) -> float | None:
        """Wine in the vessel as last noted."""
        known = [visit.litres for visit in self.live if visit.litres is not None]
        return known[-1] if known else None

    def until(self, at: datetime) -> "Diary":
        """Give the diary as it stood at a moment."""
        return replace(self, visits=tuple(visit for visit in self.visits if visit.when <= at))


def read(path: Path, *, pitched: datetime | None = None, now: datetime | None = None) -> Diary:
    """Diary of one vessel.

    Parameters
    ----------
    path : Path
        CSV file with at least a column `when` or `day`.
    pitched : datetime, optional
        When day 0 was, for rows that hold `day`. Without it a row with a time says so (`pitched`,
        or one with both `when` and `day`); failing that the last live row is taken to be at `now`.
    now : datetime, optional
        The present moment; the machine's clock unless given, and read only if needed.

    Returns
    -------
    Diary
        Every row, struck or not, in order of time.

    Raises
    ------
    DiaryError
        If the file cannot be read or any cell cannot be understood.
    """
    with _naming(path):
        data = path.read_bytes()
    return _parsed(path, data, pitched=pitched, now=now)


def create(path: Path, first: Visit) -> None:
    """Start a diary with its first row, making its folder if need be.

    Parameters
    ----------
    path : Path
        A file that does not exist yet.
    first : Visit
        What the first row holds.

    Raises
    ------
    DiaryError
        If the file exists or cannot be written; then nothing is left behind.
    """
    rows = [",".join(COLUMNS), _row(list(COLUMNS), _texts(first))]
    data = b"".join(row.encode() + _CRLF for row in rows)
    with _naming(path.parent):
        path.parent.mkdir(parents=True, exist_ok=True)
    with _naming(path), _locked(path) as folder:
        _write_new(path, data)
        os.fsync(folder)


def append(path: Path, visit: Visit, *, pitched: datetime | None = None) -> int:
    """Add a row below all others; only the header needs to be readable.

    Parameters
    ----------
    path : Path
        A diary, in its own column order and line ends.
    visit : Visit
        What the row holds.
    pitched : datetime, optional
        When day 0 was, needed if the diary counts days instead of writing times.

    Returns
    -------
    int
        Line on which the row starts.

    Raises
    ------
    DiaryError
        If the diary lacks a column the visit needs, or cannot be written; then it is as it was.
    """
    with _naming(path), _locked(path):
        data = path.read_bytes()
        header = _header(path, next(_rows(path, data), None))
        texts = _fitting(path, header, visit, pitched)
        first = data.splitlines(keepends=True)[0]
        end = first[len(first.rstrip(_CRLF)) :] or _CRLF
        start = b"" if data.endswith((b"\n", b"\r")) else end
        handle = os.open(path, os.O_WRONLY | os.O_APPEND | _BINARY)
        try:
            size = os.fstat(handle).st_size
            try:
                _write(handle, start + _row(header, texts).encode() + end)
            except OSError:
                os.ftruncate(handle, size)
                raise
        finally:
            os.close(handle)
    return len(data.splitlines()) + 1


def strike(path: Path, line: int, *, at: datetime) -> Visit:
    """Mark the row that starts on a line as a slip; every other byte stays as it was.

    Parameters
    ----------
    path : Path
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
    stamp = _stamp(at)
    with _naming(path), _locked(path) as folder:
        data = path.read_bytes()
        diary = _parsed(path, data, pitched=None, now=at)
        visit = next((visit for visit in diary.visits if visit.line == line), None)
        if visit is None:
            raise DiaryError(f"{path.name}:{line}: no row starts on this line; check the number")
        if visit.struck:
            raise DiaryError(
                f"{path.name}:{line}: was struck before ({units.quoted(visit.struck)}); leave it so"
            )
        target = path.resolve()  # a link stays a link
        beside = target.with_name(f".{target.name}.new")
        beside.unlink(missing_ok=True)  # left by a crash: under the lock nobody else is at work
        _write_new(beside, _struck(path, data, line, stamp.encode()), like=target)
        beside.replace(target)
        os.fsync(folder)
    return replace(visit, struck=stamp)


# --- reading -------------------------------------------------------------------------------------


class _Row(NamedTuple):
    """Cells of one row and the physical lines it spans, both ends included."""

    first: int
    last: int
    cells: list[str]


class _Entry(NamedTuple):
    """One row by column name, with whichever of its two ways to tell the time is filled."""

    line: int
    cells: dict[str, str]
    when: datetime | None
    day: float | None

    @property
    def live(self) -> bool:
        return not self.cells.get("struck", "").strip()


def _lines(path: Path, data: bytes) -> Iterator[str]:
    """Physical lines, decoded one by one so that an append needs only the header."""
    for line, raw in enumerate(data.removeprefix(_BOM).splitlines(keepends=True), start=1):
        try:
            text = raw.decode()
        except UnicodeDecodeError as err:
            raise DiaryError(
                f"{path.name}:{line}: byte {err.object[err.start]:#04x} is not UTF-8 text; "
                "save the file as CSV in UTF-8"
            ) from None
        if "\0" in text:
            raise DiaryError(f"{path.name}:{line}: holds a NUL byte; delete or retype this line")
        yield text


def _rows(path: Path, data: bytes) -> Iterator[_Row]:
    """All rows, header first, without the blank lines."""
    reader = csv.reader(_lines(path, data), strict=True)
    while True:
        first = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as err:
            raise _torn(path, data, first, err) from None
        if len(cells) > 1 or "".join(cells).strip():
            yield _Row(first, reader.line_num, cells)


def _torn(path: Path, data: bytes, first: int, err: csv.Error) -> DiaryError:
    """Say what is wrong with a row the csv module gave up on."""
    rest = b"".join(data.removeprefix(_BOM).splitlines(keepends=True)[first - 1 :])
    for cell in _CELL.finditer(rest):
        if cell[1].startswith(b'"') and not _QUOTED.fullmatch(cell[1]):
            line = first + len((rest[: cell.start(1)] + b"-").splitlines()) - 1
            return DiaryError(f"{path.name}:{line}: a quote is left open; close it with another")
        if len(cell[1]) > _LONGEST_CELL:
            return DiaryError(f"{path.name}:{first}: a cell is far too long; shorten it")
    return DiaryError(f"{path.name}:{first}: {err}; inside a quoted cell write each quote twice")


def _header(path: Path, row: _Row | None) -> list[str]:
    """Column names, in lower case and without spare spaces."""
    if row is None or row.first > 1:
        raise DiaryError(
            f"{path.name}:1: is empty; write the names of the columns here, such as when,bubbles"
        )
    header = [name.strip().lower() for name in row.cells]
    for mark, name in ((";", "semicolons"), ("\t", "tabs")):
        if {"when", "day"} & {part.strip() for part in mark.join(header).split(mark)} - {*header}:
            raise DiaryError(
                f"{path.name}:1: columns are parted by {name}; save it as CSV with commas"
            )
    twice = next((name for name in header if name and header.count(name) > 1), None)
    if twice:
        raise DiaryError(
            f"{path.name}:1: column {units.quoted(twice)} stands there twice; rename one of them"
        )
    if not {"when", "day"} & {*header}:
        raise DiaryError(
            f"{path.name}:1: has no column when or day; add one with the time of each visit"
        )
    return header


def _parsed(path: Path, data: bytes, *, pitched: datetime | None, now: datetime | None) -> Diary:
    rows = _rows(path, data)
    header = _header(path, next(rows, None))
    entries = [_entry(path, header, row) for row in rows]
    try:
        times = _times(entries, pitched, now)
    except (OverflowError, ValueError):
        raise DiaryError(f"{path.name}: a day is beyond the calendar; check the years") from None
    visits = [_visit(path, entry, when) for entry, when in zip(entries, times, strict=True)]
    visits.sort(key=lambda visit: visit.when)
    return Diary(path=path, vessel=path.stem, visits=tuple(visits))


def _entry(path: Path, header: list[str], row: _Row) -> _Entry:
    if len(row.cells) != len(header):
        raise DiaryError(
            f"{path.name}:{row.first}: number of cells is {len(row.cells)}, not {len(header)}; "
            "complete the row, and quote a cell that holds a comma"
        )
    cells = dict(zip(header, row.cells, strict=True))
    when = _when(path, row.first, cells.get("when", ""))
    day = _number(path, row.first, "day", cells)
    if when is None and day is None:
        column, advice = ("when", "2026-11-24T21:00") if "when" in header else ("day", "12.5")
        raise DiaryError(
            f"{path.name}:{row.first}: {column} is empty; write it like {advice}, or delete the row"
        )
    return _Entry(row.first, cells, when, day)


def _times(entries: list[_Entry], pitched: datetime | None, now: datetime | None) -> list[datetime]:
    """When each row was written, by its own time or by its day."""
    times = [entry.when for entry in entries if entry.when is not None]
    if len(times) == len(entries):
        return times
    day_0 = (pitched or _pitched(entries, now)).astimezone()
    return [entry.when or day_0 + timedelta(days=entry.day or 0.0) for entry in entries]


def _pitched(entries: list[_Entry], now: datetime | None) -> datetime:
    """When day 0 was, as far as the rows tell."""
    live = [entry for entry in entries if entry.live]
    said = [e.when for e in live if e.when and e.cells.get("event", "").strip() == "pitched"]
    both = [e.when - timedelta(days=e.day) for e in live if e.when and e.day is not None]
    if said or both:
        return max(said or both)
    days = [[e.day for e in some if e.day is not None] for some in (live, entries)]
    return (now or datetime.now().astimezone()) - timedelta(days=max(days[0] or days[1]))


def _visit(path: Path, entry: _Entry, when: datetime) -> Visit:
    line, cells = entry.line, entry.cells
    numbers = {name: _number(path, line, name, cells) for name in _NUMBERS}
    bubbles, seconds = numbers["bubbles"], numbers["seconds"]
    struck = cells.get("struck", "")
    return Visit(
        when=when,
        bubbles=None if bubbles is None else int(bubbles),
        seconds=60.0 if seconds is None else seconds,
        temp_c=numbers["temp_c"],
        pressure_hpa=numbers["pressure_hpa"],
        sg=numbers["sg"],
        sample_c=numbers["sample_c"],
        event=_event(path, line, cells.get("event", "").strip()),
        litres=numbers["litres"],
        note=cells.get("note", ""),
        struck=struck if struck.strip() else "",
        line=line,
    )


def _bad(path: Path, line: int, column: str, found: str, advice: str) -> DiaryError:
    return DiaryError(f"{path.name}:{line}: {column} is {units.quoted(found)}; write {advice}")


def _number(path: Path, line: int, name: str, cells: dict[str, str]) -> float | None:
    text = cells.get(name, "").strip()
    if not text:
        return None
    column = _DAY if name == "day" else _NUMBERS[name]
    form = _WHOLE if name == "bubbles" else _DECIMAL
    if form.fullmatch(text) and column.holds(float(text)):
        return float(text)
    try:
        meant = round(column.typed(text), column.digits)
    except InputError:
        meant = math.nan
    advice = units.plain(meant) if column.holds(meant) else column.wanted
    raise _bad(path, line, name, text, advice)


def _when(path: Path, line: int, cell: str) -> datetime | None:
    if not cell.strip():
        return None
    try:
        return units.instant(cell)
    except InputError:
        readings = [t if "T" in t else f"{t}T21:00" for t in units.iso_readings(cell)]
        advice = " or ".join(readings) or "a time like 2026-11-24T21:00"
        raise _bad(path, line, "when", cell, advice) from None


def _event(path: Path, line: int, text: str) -> str | None:
    if not text or text in EVENTS:
        return text or None
    from difflib import get_close_matches  # only needed to say what was meant

    near = get_close_matches(text.lower(), EVENTS, n=1)
    raise _bad(path, line, "event", text, near[0] if near else f"one of {', '.join(EVENTS)}")


# --- writing -------------------------------------------------------------------------------------


def _stamp(when: datetime) -> str:
    """Time as a diary holds it: ISO 8601 to the second, with its offset."""
    if when.utcoffset() is None:
        raise ValueError(f"a diary needs a time with its UTC offset, got {when}")
    return when.isoformat(timespec="seconds")


def _texts(visit: Visit) -> dict[str, str]:
    """Give the texts to write, by column; only what the visit holds."""
    texts = {"when": _stamp(visit.when), "event": visit.event or ""}
    for name in _NUMBERS:
        value = getattr(visit, name)
        texts[name] = "" if value is None else units.plain(value)
    if visit.bubbles is None and visit.seconds == 60.0:
        texts["seconds"] = ""
    texts |= {"note": visit.note, "struck": visit.struck}
    return {name: text for name, text in texts.items() if text}


def _fitting(
    path: Path, header: list[str], visit: Visit, pitched: datetime | None
) -> dict[str, str]:
    """Give the texts to write, made to fit the columns the diary has."""
    texts = _texts(visit)
    if "when" not in header:
        if pitched is None:
            raise DiaryError(
                f"{path.name} counts days; say when day 0 was, "
                "e.g. pitched = 2026-10-01 in bubblerate.toml"
            )
        del texts["when"]
        texts["day"] = units.plain((visit.when - pitched.astimezone()) / timedelta(days=1))
    if "seconds" not in header and visit.seconds == 60.0:
        texts.pop("seconds", None)
    missing = [name for name in texts if name not in header]
    if missing:
        columns = f"column{'s' * (len(missing) > 1)} {', '.join(missing)}"
        raise DiaryError(
            f"{path.name} has no {columns}; open it in a spreadsheet or text editor, "
            f"add the {columns}, then enter this again"
        )
    return texts


def _row(header: list[str], texts: dict[str, str]) -> str:
    return ",".join(_quoted(texts.get(name, "")) for name in header)


def _quoted(text: str) -> str:
    """Cell in quotes if it needs them."""
    if not any(mark in text for mark in ',"\r\n'):
        return text
    doubled = text.replace('"', '""')
    return f'"{doubled}"'


def _struck(path: Path, data: bytes, line: int, stamp: bytes) -> bytes:
    """Bytes of the diary with one row struck."""
    lines = data.splitlines(keepends=True)
    header, *rows = _rows(path, data)
    names = _header(path, header)
    for row in [header, *rows]:
        raw = b"".join(lines[row.first - 1 : row.last])
        if "struck" not in names:
            added = b"struck" if row is header else stamp if row.first == line else b""
            body = raw.rstrip(_CRLF)
            new = body + b"," + added + raw[len(body) :]
        elif row.first == line:
            start, stop = [*_CELL.finditer(raw)][names.index("struck")].span(1)
            new = raw[:start] + stamp + raw[stop:]
        else:
            continue
        lines[row.first - 1 : row.last] = [new, *[b""] * (row.last - row.first)]
    return b"".join(lines)


# --- files ---------------------------------------------------------------------------------------


@contextmanager
def _naming(path: Path) -> Iterator[None]:
    """Turn what the operating system says into one line that names the diary."""
    try:
        yield
    except FileNotFoundError:
        reason = "there is no such diary; check the name"
    except FileExistsError:
        reason = "already exists; choose another name"
    except IsADirectoryError:
        reason = "is a folder; name a diary in it"
    except PermissionError:
        reason = "this may not be opened; check who may read and write it and its folder"
    except OSError as err:
        full = err.errno in {errno.ENOSPC, errno.EDQUOT}
        what = "the disk is full" if full else f"failed ({err.strerror or err})"
        reason = f"{what}; nothing was changed, mend that and try again"
    else:
        return
    raise DiaryError(f"{path.name}: {reason}")


@contextmanager
def _locked(path: Path) -> Iterator[int]:
    """Hold all writers of a folder's diaries apart; yields the descriptor of what is locked.

    On POSIX that is the folder itself: no clutter, and the lock outlives the rename in `strike`.
    """
    folder = path.resolve().parent
    if sys.platform == "win32":
        import msvcrt

        handle = os.open(folder / ".bubblerate.lock", os.O_RDWR | os.O_CREAT)
    else:
        import fcntl

        handle = os.open(folder, os.O_RDONLY)
    try:
        if sys.platform == "win32":
            msvcrt.locking(handle, msvcrt.LK_LOCK, 1)
        else:
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield handle
    finally:
        os.close(handle)  # which unlocks it


def _write(handle: int, data: bytes) -> None:
    """Write everything at once and see it onto the disk."""
    if os.write(handle, data) != len(data):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    os.fsync(handle)


def _write_new(path: Path, data: bytes, *, like: Path | None = None) -> None:
    """Write a file that must not exist, with the mode of another; leave none if that fails."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | _BINARY, 0o666)
    try:
        try:
            _write(handle, data)
        finally:
            os.close(handle)
        if like is not None:
            path.chmod(like.stat().st_mode)
    except BaseException:
        path.unlink(missing_ok=True)
        raise
