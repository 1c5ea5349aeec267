"""Turns a table that somebody has kept into visits, or lists everything wrong with it.

Nothing is guessed. What the table does not say is asked, and what is left out is counted in the
result. Spells are in seconds, temperatures in C, volumes in litres.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from ...errors import FaultsError, InputError
from ...text import quoted
from ..csv_rows import Row
from ..gravity_scales import SCALES
from ..lookalikes import tidied
from ..visit import Visit
from . import dates
from .headings import Column, Kind
from .rows import BLANK, Line, where
from .rows import visit as visit_of
from .sheet import Sheet

__all__ = ["Entries", "Fresh", "days", "entries", "fresh", "preferred", "roles"]

_DATES: tuple[Kind, ...] = ("date", "day", "time")
_ANY_TIME = datetime(2000, 1, 1, tzinfo=UTC)  # used when only the other cells matter


@dataclass(frozen=True, slots=True, kw_only=True)
class Entries:
    """What a table says: visits in order of time, with their `line` in the table; and the rest."""

    visits: tuple[Visit, ...]
    bare: tuple[int, ...]  # lines with a moment and nothing else
    loose: tuple[int, ...]  # lines whose words are no event and were kept as a note
    dashes: int  # cells with a dash, read as blank


@dataclass(frozen=True, slots=True, kw_only=True)
class Fresh:
    """What a table has that the diary does not have yet."""

    visits: tuple[Visit, ...]
    known: int  # rows already in the diary
    twice: int  # rows that are twice in the table
    beside: int  # rows at a moment for which the diary has something else


def roles(sheet: Sheet) -> Mapping[Kind, tuple[Column, ...]]:
    """Sort the columns by what they hold; only notes may have several.

    Parameters
    ----------
    sheet : Sheet

    Returns
    -------
    mapping of Kind to tuple of Column

    Raises
    ------
    InputError
        If two columns look like the same thing, or the table has several vessels.
    """
    found: dict[Kind, tuple[Column, ...]] = {}
    for column in sheet.columns:
        if column.kind is None:
            continue
        before = found.get(column.kind, ())
        if before and column.kind != "note":
            raise InputError(
                f"{sheet.name}:{sheet.head.first}: columns {quoted(before[0].heading)} and "
                f"{quoted(column.heading)} look alike; rename or delete the wrong one; if each is "
                "for a different jar, add --jar NAME"
            )
        found[column.kind] = (*before, column)
    for column in found.get("vessel", ()):
        names = {tidied(row.cells[column.index]): row.cells[column.index] for row in sheet.body}
        if len({*names} - {""}) > 1:
            some = ", ".join(name.strip() for tidy, name in names.items() if tidy)
            raise InputError(
                f"{sheet.name}: column {quoted(column.heading)} names several jars "
                f"({quoted(some)}); choose one with --jar NAME"
            )
    return found


def days(sheet: Sheet, *, pitched: datetime | None) -> tuple[dates.Written, ...]:
    """Get the moments of all rows as written, for `dates.orders` and `dates.moments`.

    Parameters
    ----------
    sheet : Sheet
    pitched : datetime or None
        When day 0 was, for a table with day numbers.

    Returns
    -------
    tuple of Written

    Raises
    ------
    FaultsError
        If a row has no date, or something else in its place; lists all else that is wrong.
    """
    known = roles(sheet)
    column = next(known[kind][0] for kind in _DATES if kind in known)
    clocks = known.get("time", ()) if column.kind != "time" else ()
    found: list[dates.Written] = []
    faults: list[tuple[int, str]] = []
    for row in sheet.body:
        clock = row.cells[clocks[0].index].strip() if clocks else ""
        try:
            found.append(_day(sheet, row, column, "" if clock in BLANK else clock, pitched))
        except InputError as err:
            faults.append((row.first, str(err)))
    if faults or sheet.torn:
        faults += _read(sheet, [_ANY_TIME] * len(sheet.body))[1]
        raise FaultsError([fault for _, fault in sorted(faults, key=lambda one: one[0])])
    return tuple(found)


def _day(
    sheet: Sheet, row: Row, column: Column, clock: str, pitched: datetime | None
) -> dates.Written:
    place, text = where(sheet, row.first, column), row.cells[column.index].strip()
    if not text:
        raise InputError(f"{place}: is empty; write the date of this row, or delete the row")
    day = column.kind == "day"
    return dates.written(place, row.first, text, clock, pitched=pitched, days=day)


def entries(sheet: Sheet, moments: Sequence[datetime]) -> Entries:
    """Make visits of a table.

    Parameters
    ----------
    sheet : Sheet
    moments : sequence of datetime
        Of each row, aware.

    Returns
    -------
    Entries

    Raises
    ------
    FaultsError
        If any cells cannot be understood; lists all: file, line, column, what was found, what would
        do.
    """
    said, faults = _read(sheet, moments)
    if faults:
        raise FaultsError([fault for _, fault in faults])
    return said


def _read(sheet: Sheet, moments: Sequence[datetime]) -> tuple[Entries, list[tuple[int, str]]]:
    """What can be read, and what is wrong with the rest, by line."""
    known = roles(sheet)
    faults = [*sheet.torn]
    visits, bare, loose, dashes = [], [], [], 0
    counts = preferred(known)[0]
    for row, when in zip(sheet.body, moments, strict=True):
        line = Line(sheet, row.first, row.cells, known)
        try:
            visit, words = visit_of(line, when, counts)
        except FaultsError as err:
            faults += [(row.first, fault) for fault in err.faults]
            continue
        dashes += line.dashes
        if words:
            loose.append(row.first)
        if visit == Visit(when=when, line=row.first):
            bare.append(row.first)
        else:
            visits.append(visit)
    visits.sort(key=lambda visit: visit.when)
    faults.sort(key=lambda one: one[0])
    said = Entries(visits=tuple(visits), bare=tuple(bare), loose=tuple(loose), dashes=dashes)
    return said, faults


def preferred(known: Mapping[Kind, tuple[Column, ...]]) -> tuple[tuple[Kind, ...], ...]:
    """Order kinds of column that say the same thing: if a row fills several, the first is used.

    A count without its length comes after a rate.
    """
    rates: tuple[Kind, ...] = ("rate", "spacing")
    timed = "length" in known or any(c.spell_s for c in known.get("bubbles", ()))
    counts: tuple[Kind, ...] = ("bubbles", *rates) if timed else (*rates, "bubbles")
    return (
        tuple(kind for kind in counts if kind in known),
        tuple(kind for kind in SCALES if kind in known),
    )


def fresh(visits: Sequence[Visit], held: Sequence[Visit]) -> Fresh:
    """Find what a diary does not have yet, so that a second import adds nothing.

    Parameters
    ----------
    visits : sequence of Visit
        From a table.
    held : sequence of Visit
        From the diary, struck ones too, so that a mistake does not come back.

    Returns
    -------
    Fresh
    """
    there = {_same(visit) for visit in held}
    moments = {visit.when for visit in held}
    chosen: dict[Visit, Visit] = {}
    known = twice = beside = 0
    for visit in visits:
        same = _same(visit)
        if same in there:
            known += 1
        elif same in chosen:
            twice += 1
        else:
            beside += visit.when in moments
            chosen[same] = visit
    return Fresh(visits=tuple(chosen.values()), known=known, twice=twice, beside=beside)


def _same(visit: Visit) -> Visit:
    """The visit without details that do not make it a different one."""
    return replace(visit, line=0, struck="")
