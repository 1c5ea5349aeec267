"""Reads the diary of one vessel from its file: CSV (RFC 4180, UTF-8), one row per visit.

It is plain text on purpose: it opens in any spreadsheet and outlives this program. Nothing is
dropped silently: a row that cannot be read is named. A time without an offset is local time, and a
date alone is the start of that day. A spreadsheet may have saved it with semicolons and decimal
commas.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from itertools import islice
from operator import attrgetter, gt
from pathlib import Path
from typing import NamedTuple

from ..errors import DiaryError
from ..text import printable
from .cells import closed, event, filled, fined, number
from .cells import when as moment_of
from .columns import in_columns, visits_of
from .csv_rows import Row, column_names, content, naming, rows, unguarded
from .dialect import Dialect, dialect
from .number import NUMBERS
from .visit import Diary, Visit

__all__ = ["of_columns", "of_rows", "parse", "read"]

_PLAIN = Dialect()


def read(
    path: Path | str, *, pitched: datetime | None = None, now: datetime | None = None
) -> Diary:
    """Read the diary of one vessel.

    Parameters
    ----------
    path : Path or str
        CSV file with at least a column `when` or `day`.
    pitched : datetime, optional
        When day 0 was, for rows with `day`. Without it a row with a time tells (`pitched`, or one
        with both `when` and `day`); failing that, the last live row is taken to be at `now`.
    now : datetime, optional
        When the last row was written, if only days are known; the time of the file unless given.

    Returns
    -------
    Diary
        All rows, struck or not, in order of time.

    Raises
    ------
    DiaryError
        If the file cannot be read or any cell cannot be understood.

    Examples
    --------
    >>> read("examples/quince.csv")
    <Diary quince: 41 visits, 3 Oct 2026 to 14 Nov 2026>
    """
    path = Path(path)
    with naming(path):
        data, saved_s = content(path), int(path.stat().st_mtime)
    saved = datetime.fromtimestamp(saved_s).astimezone()
    return parse(path, data, pitched=pitched, now=now or saved)


def parse(path: Path, data: bytes, *, pitched: datetime | None, now: datetime) -> Diary:
    """Make a diary of the bytes of a file; for the rest see `read`."""
    names = column_names(path, data)
    form = dialect(data)
    table = in_columns(data, len(names), form)
    found = table and of_columns(path, path.stem, names, table, range(2, len(table[0]) + 2), form)
    if found:
        return found
    body = islice(rows(path, data), 1, None)  # lazy, so that the first fault in the file is named
    return of_rows(path, path.stem, names, body, pitched=pitched, now=now, form=form)


def of_columns(
    path: Path,
    vessel: str,
    names: Sequence[str],
    columns: Sequence[Sequence[str]],
    lines: Sequence[int],
    form: Dialect = _PLAIN,
) -> Diary | None:
    """Make a diary if all rows have a time and are in order; None if one is odd.

    Odd files are read by `of_rows`, which also says what is wrong. If this gives a diary, it is the
    same as that of `of_rows`.
    """
    visits = visits_of(names, columns, lines, form)
    if visits is None:
        return None
    if any(map(gt, (times := [visit.when for visit in visits]), times[1:])):
        visits.sort(key=attrgetter("when"))
    return Diary(path=path, vessel=vessel, visits=tuple(visits))


def of_rows(
    path: Path,
    vessel: str,
    names: Sequence[str],
    body: Iterable[Row],
    *,
    pitched: datetime | None,
    now: datetime,
    form: Dialect = _PLAIN,
) -> Diary:
    """Make a diary of rows in a file with one vessel or many."""
    entries = [_entry(f"{path.name}:{row.first}", names, row, form) for row in body]
    try:
        times, day_0 = _times(entries, pitched, now)
    except (OverflowError, ValueError):
        raise DiaryError(f"{path.name}: a date is beyond the calendar; check the years") from None
    visits = [_visit(entry, when) for entry, when in zip(entries, times, strict=True)]
    visits.sort(key=lambda visit: visit.when)
    return Diary(path=path, vessel=vessel, visits=tuple(visits), day_0=day_0)


class _Entry(NamedTuple):
    """One row by column name, with its time or its day number."""

    where: str  # file and line, for a message
    line: int
    cells: dict[str, str]
    form: Dialect
    when: datetime | None
    day: float | None

    @property
    def live(self) -> bool:
        return not self.cells.get("struck", "").strip()


def _entry(where: str, names: Sequence[str], row: Row, form: Dialect) -> _Entry:
    if len(row.cells) != len(names):
        advice = "complete the row, or delete it if it was cut off"
        if len(row.cells) > len(names):
            mark = {",": "comma", ";": "semicolon"}[form.separator]
            advice = f"quote a cell that holds a {mark}"
        raise DiaryError(
            f"{where}: number of cells is {len(row.cells)}, not {len(names)}; {advice}"
        )
    cells = dict(zip(names, row.cells, strict=True))
    when = moment_of(where, cells.get("when", ""))
    day = number(where, "day", cells, form)
    if when is None and day is None:
        column, advice = ("when", "2026-11-24T21:00") if "when" in names else ("day", "12.5")
        raise DiaryError(f"{where}: {column} is empty; write it like {advice}, or delete the row")
    return _Entry(where, row.first, cells, form, when, day)


def _times(
    entries: list[_Entry], pitched: datetime | None, now: datetime
) -> tuple[list[datetime], datetime | None]:
    """Work out the time of each row, by its own time or by its day."""
    times = [entry.when for entry in entries if entry.when is not None]
    if len(times) == len(entries):
        return times, None
    day_0 = (pitched or _pitched(entries, now)).astimezone()
    times = [entry.when or day_0 + timedelta(days=entry.day or 0.0) for entry in entries]
    return times, day_0


def _pitched(entries: list[_Entry], now: datetime) -> datetime:
    """Find when day 0 was, if the rows tell."""
    live = [entry for entry in entries if entry.live]
    said = [e.when for e in live if e.when and e.cells.get("event", "").strip() == "pitched"]
    both = [e.when - timedelta(days=e.day) for e in live if e.when and e.day is not None]
    if said or both:
        return max(said or both)
    days = [[e.day for e in some if e.day is not None] for some in (live, entries)]
    return now - timedelta(days=max(days[0] or days[1]))


def _visit(entry: _Entry, when: datetime) -> Visit:
    cells = entry.cells
    noted = [name for name in NUMBERS if cells.get(name)]
    found = {name: number(entry.where, name, cells, entry.form) for name in noted}
    numbers = {name: value for name, value in found.items() if value is not None}
    bubbles = numbers.pop("bubbles", None)
    try:
        return Visit(
            when=when,
            bubbles=None if bubbles is None else int(bubbles),
            event=event(entry.where, cells.get("event", "").strip()),
            bottles=filled(entry.where, cells.get("bottles", "").strip()),
            finings_amount=fined(entry.where, cells.get("finings_amount", "").strip()),
            closure=closed(entry.where, cells.get("closure", "").strip()),
            other=unguarded(cells.get("other", "")).strip(),
            note=unguarded(cells.get("note", "")),
            struck="" if entry.live else unguarded(cells["struck"]),
            line=entry.line,
            **numbers,
        )
    except ValueError as err:  # of a text, since a foreign table may have anything in it
        raise DiaryError(f"{entry.where}: {printable(str(err))}; retype it") from None
