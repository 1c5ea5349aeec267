"""The diary of one vessel: a CSV file (RFC 4180, UTF-8), one row per visit, oldest first.

Plain text on purpose: it opens in any spreadsheet and outlives this program. Nothing is dropped
silently: a row that cannot be read is named. Times are aware; a time without an offset is local
time, and a date alone is the start of that day.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import islice
from pathlib import Path
from typing import Literal, NamedTuple, get_args

from ..errors import DiaryError, InputError
from ..text import printable
from . import times as moments
from .columns import NUMBERS, number, refusal
from .csv_rows import LONGEST_CELL, Row, column_names, content, guarded, naming, rows, unguarded

__all__ = ["BREAKS", "COLUMNS", "EVENTS", "NEW_SUGAR", "Diary", "Event", "Visit", "read"]

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

# Events after which there is more sugar; and all after which counts cannot be compared as they
# stand with those before: another bubble size, another place too. Common practice, no source.
NEW_SUGAR = frozenset({"pitched", "fed", "topped-up"})
BREAKS = NEW_SUGAR | {"racked", "moved", "airlock", "filtered"}


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
        for name, column in NUMBERS.items():
            value = getattr(self, name)
            if value is not None and not column.holds(value):
                raise ValueError(f"{name} is {value}; a visit needs {column.wanted}")
        if self.bubbles is not None and self.bubbles % 1:
            raise ValueError(f"bubbles is {self.bubbles}; a visit needs a whole number")
        if self.event is not None and self.event not in EVENTS:
            raise ValueError(f"event is {self.event!r}; a visit needs one of {', '.join(EVENTS)}")
        for text in (self.note, self.struck):
            if "\0" in text or len(guarded(text)) > LONGEST_CELL:
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
    day_0: datetime | None = None  # of a diary that counts days

    @property
    def live(self) -> tuple[Visit, ...]:
        """The visits that were not struck."""
        return tuple(visit for visit in self.visits if not visit.struck)

    @property
    def pitched(self) -> datetime | None:
        """When the yeast went in: day 0, the last live row that says so, or the first live row."""
        if self.day_0 is not None:
            return self.day_0
        live = self.live
        said = [visit.when for visit in live if visit.event == "pitched"]
        return said[-1] if said else live[0].when if live else None

    @property
    def litres(self) -> float | None:
        """Wine in the vessel as last noted."""
        known = [visit.litres for visit in self.batch if visit.litres is not None]
        return known[-1] if known else None

    @property
    def batch(self) -> tuple[Visit, ...]:
        """Live visits since this must was pitched; an earlier wine of the vessel is another's."""
        live = self.live
        began = 0
        for i, visit in enumerate(live):
            earlier = (v.bubbles is not None or v.event == "bottled" for v in live[began:i])
            if visit.event == "pitched" and any(earlier):
                began = i
        return live[began:]

    def until(self, at: datetime) -> "Diary":
        """Give the diary as it stood at a moment."""
        return replace(self, visits=tuple(visit for visit in self.visits if visit.when <= at))


def read(
    path: Path | str, *, pitched: datetime | None = None, now: datetime | None = None
) -> Diary:
    """Diary of one vessel.

    Parameters
    ----------
    path : Path or str
        CSV file with at least a column `when` or `day`.
    pitched : datetime, optional
        When day 0 was, for rows that hold `day`. Without it a row with a time says so (`pitched`,
        or one with both `when` and `day`); failing that the last live row is taken to be at `now`.
    now : datetime, optional
        When the last row was written, if only days are known; the time of the file unless given.

    Returns
    -------
    Diary
        Every row, struck or not, in order of time.

    Raises
    ------
    DiaryError
        If the file cannot be read or any cell cannot be understood.
    """
    path = Path(path)
    with naming(path):
        data, saved_s = content(path), int(path.stat().st_mtime)
    saved = datetime.fromtimestamp(saved_s).astimezone()
    return parse(path, data, pitched=pitched, now=now or saved)


def parse(path: Path, data: bytes, *, pitched: datetime | None, now: datetime) -> Diary:
    """Diary that the bytes of a file hold; `read` says what the rest means."""
    names = column_names(path, data)
    body = islice(rows(path, data), 1, None)  # lazy: the first fault in the file is the one named
    return of_rows(path, path.stem, names, body, pitched=pitched, now=now)


def of_rows(
    path: Path,
    vessel: str,
    names: Sequence[str],
    body: Iterable[Row],
    *,
    pitched: datetime | None,
    now: datetime,
) -> Diary:
    """Diary of a vessel whose rows lie in a file, of one vessel or of many."""
    entries = [_entry(f"{path.name}:{row.first}", names, row) for row in body]
    try:
        times, day_0 = _times(entries, pitched, now)
    except (OverflowError, ValueError):
        raise DiaryError(f"{path.name}: a day is beyond the calendar; check the years") from None
    visits = [_visit(entry, when) for entry, when in zip(entries, times, strict=True)]
    visits.sort(key=lambda visit: visit.when)
    return Diary(path=path, vessel=vessel, visits=tuple(visits), day_0=day_0)


class _Entry(NamedTuple):
    """One row by column name, with whichever of its two ways to tell the time is filled."""

    where: str  # file and line, for a message
    line: int
    cells: dict[str, str]
    when: datetime | None
    day: float | None

    @property
    def live(self) -> bool:
        return not self.cells.get("struck", "").strip()


def _entry(where: str, names: Sequence[str], row: Row) -> _Entry:
    if len(row.cells) != len(names):
        advice = "complete the row, or delete it if it was cut short"
        if len(row.cells) > len(names):
            advice = "quote a cell that holds a comma"
        raise DiaryError(
            f"{where}: number of cells is {len(row.cells)}, not {len(names)}; {advice}"
        )
    cells = dict(zip(names, row.cells, strict=True))
    when = _when(where, cells.get("when", ""))
    day = number(where, "day", cells)
    if when is None and day is None:
        column, advice = ("when", "2026-11-24T21:00") if "when" in names else ("day", "12.5")
        raise DiaryError(f"{where}: {column} is empty; write it like {advice}, or delete the row")
    return _Entry(where, row.first, cells, when, day)


def _times(
    entries: list[_Entry], pitched: datetime | None, now: datetime
) -> tuple[list[datetime], datetime | None]:
    """When each row was written, by its own time or by its day."""
    times = [entry.when for entry in entries if entry.when is not None]
    if len(times) == len(entries):
        return times, None
    day_0 = (pitched or _pitched(entries, now)).astimezone()
    times = [entry.when or day_0 + timedelta(days=entry.day or 0.0) for entry in entries]
    return times, day_0


def _pitched(entries: list[_Entry], now: datetime) -> datetime:
    """When day 0 was, as far as the rows tell."""
    live = [entry for entry in entries if entry.live]
    said = [e.when for e in live if e.when and e.cells.get("event", "").strip() == "pitched"]
    both = [e.when - timedelta(days=e.day) for e in live if e.when and e.day is not None]
    if said or both:
        return max(said or both)
    days = [[e.day for e in some if e.day is not None] for some in (live, entries)]
    return now - timedelta(days=max(days[0] or days[1]))


def _visit(entry: _Entry, when: datetime) -> Visit:
    cells = entry.cells
    found = {name: number(entry.where, name, cells) for name in NUMBERS if cells.get(name)}
    numbers = {name: value for name, value in found.items() if value is not None}
    bubbles = numbers.pop("bubbles", None)
    event = _event(entry.where, cells.get("event", "").strip())
    try:
        return Visit(
            when=when,
            bubbles=None if bubbles is None else int(bubbles),
            event=event,
            note=unguarded(cells.get("note", "")),
            struck="" if entry.live else unguarded(cells["struck"]),
            line=entry.line,
            **numbers,
        )
    except ValueError as err:  # of a text: a table of other origin may hold anything
        raise DiaryError(f"{entry.where}: {printable(str(err))}; retype it") from None


def _when(where: str, cell: str) -> datetime | None:
    if not cell.strip():
        return None
    try:
        return moments.instant(cell)
    except InputError:
        readings = [t if "T" in t else f"{t}T21:00" for t in moments.iso_readings(cell)]
        advice = " or ".join(readings) or "a time like 2026-11-24T21:00"
        raise refusal(where, "when", cell, advice) from None


def _event(where: str, text: str) -> str | None:
    if not text or text in EVENTS:
        return text or None
    from difflib import get_close_matches  # only needed to say what was meant

    near = get_close_matches(text.lower(), EVENTS, n=1)
    raise refusal(where, "event", text, near[0] if near else f"one of {', '.join(EVENTS)}")
