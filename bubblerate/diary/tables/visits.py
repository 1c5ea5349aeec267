"""The table somebody has kept so far, turned into visits: all of it, or all that is wrong with it.

Nothing is guessed: what cannot be told from the table is asked of its maker, and what is left aside
is counted in the result. Spells are in seconds, temperatures in C, volumes in litres.
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
_ANY_TIME = datetime(2000, 1, 1, tzinfo=UTC)  # where only the other cells are looked at


@dataclass(frozen=True, slots=True, kw_only=True)
class Entries:
    """What a table says: visits in order of time, `line` being that of the table; and the rest."""

    visits: tuple[Visit, ...]
    bare: tuple[int, ...]  # lines that hold a moment and nothing else
    loose: tuple[int, ...]  # lines where words that name no event were kept as a note
    dashes: int  # cells left blank by a dash


@dataclass(frozen=True, slots=True, kw_only=True)
class Fresh:
    """What of a table a diary does not hold yet."""

    visits: tuple[Visit, ...]
    known: int  # rows the diary holds already
    twice: int  # rows that stand twice in the table
    beside: int  # rows at a moment for which the diary holds something else


def roles(sheet: Sheet) -> Mapping[Kind, tuple[Column, ...]]:
    """Columns by what they hold; more than one only of notes.

    Parameters
    ----------
    sheet : Sheet

    Returns
    -------
    mapping of Kind to tuple of Column

    Raises
    ------
    InputError
        If two columns look like the same thing, or the table is of several vessels.
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
    """Moments of all the rows as the table has them, for `dates.orders` and `dates.moments`.

    Parameters
    ----------
    sheet : Sheet
    pitched : datetime or None
        When day 0 was, for a table that counts days.

    Returns
    -------
    tuple of Written

    Raises
    ------
    FaultsError
        If a row has no date, or something else in its place; with whatever else is wrong.
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
    """Visits that a table tells of.

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
        If any cells cannot be understood, all of them: file, line, column, what was found, what
        would do.
    """
    said, faults = _read(sheet, moments)
    if faults:
        raise FaultsError([fault for _, fault in faults])
    return said


def _read(sheet: Sheet, moments: Sequence[datetime]) -> tuple[Entries, list[tuple[int, str]]]:
    """What can be read of a table, and what is wrong with the rest, by line."""
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
    """Kinds of column that say the same thing: in a row that fills several, the first is taken.

    A count of which nobody says how long it took comes after a rate.
    """
    rates: tuple[Kind, ...] = ("rate", "spacing")
    timed = "length" in known or any(c.spell_s for c in known.get("bubbles", ()))
    counts: tuple[Kind, ...] = ("bubbles", *rates) if timed else (*rates, "bubbles")
    return (
        tuple(kind for kind in counts if kind in known),
        tuple(kind for kind in SCALES if kind in known),
    )


def fresh(visits: Sequence[Visit], held: Sequence[Visit]) -> Fresh:
    """Give what a diary does not hold yet, so that a second import adds nothing.

    Parameters
    ----------
    visits : sequence of Visit
        Of a table.
    held : sequence of Visit
        Of the diary, struck ones too: a mistake does not come back.

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
    """Visit without what does not make it another one."""
    return replace(visit, line=0, struck="")
