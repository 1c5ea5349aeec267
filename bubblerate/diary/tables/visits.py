"""The table somebody has kept so far, turned into visits: all of it, or one line on what is wrong.

Nothing is guessed: what cannot be told from the table is asked of its maker, and what is left aside
is counted in the result. Spells are in seconds, temperatures in C, volumes in litres.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TypeVar

from ...errors import InputError
from ...text import quoted
from .. import bottles, events, units
from ..csv_rows import unguarded
from ..units import tidied
from ..visit import Visit
from . import cells, dates
from .headings import Column, Kind
from .sheet import Sheet

__all__ = ["Entries", "Fresh", "days", "entries", "fresh", "preferred", "roles"]

_T = TypeVar("_T")
_DATES: tuple[Kind, ...] = ("date", "day", "time")
_BLANK = {"-", "--", "\N{EN DASH}", "\N{EM DASH}", "n/a", "na"}
_BARE_NUMBER = re.compile(r"[+-]?(?:[0-9]+[.,]?[0-9]*|[.,][0-9]+)")


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
                f"{quoted(column.heading)} look alike; rename or delete the one not meant"
            )
        found[column.kind] = (*before, column)
    for column in found.get("vessel", ()):
        names = {tidied(row.cells[column.index]): row.cells[column.index] for row in sheet.body}
        if len({*names} - {""}) > 1:
            some = ", ".join(name.strip() for tidy, name in names.items() if tidy)
            raise InputError(
                f"{sheet.name}: column {quoted(column.heading)} names several vessels "
                f"({quoted(some)}); save the rows of each in a file of its own"
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
    InputError
        If a row has no date, or something else in its place.
    """
    known = roles(sheet)
    column = next(known[kind][0] for kind in _DATES if kind in known)
    clocks = known.get("time", ()) if column.kind != "time" else ()
    found = []
    for row in sheet.body:
        where = _where(sheet, row.first, column)
        text = row.cells[column.index].strip()
        if not text:
            raise InputError(f"{where}: is empty; write the date of this row, or delete the row")
        clock = row.cells[clocks[0].index].strip() if clocks else ""
        found.append(
            dates.written(
                where,
                row.first,
                text,
                "" if clock in _BLANK else clock,
                pitched=pitched,
                days=column.kind == "day",
            )
        )
    return tuple(found)


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
    InputError
        If any cell cannot be understood: file, line, column, what was found, what would do.
    """
    known = roles(sheet)
    visits, bare, loose, dashes = [], [], [], 0
    rivals = preferred(known)
    for row, when in zip(sheet.body, moments, strict=True):
        line = _Line(sheet, row.first, row.cells, known)
        visit, words = _visit(line, when, rivals)
        dashes += line.dashes
        if words:
            loose.append(row.first)
        if visit == Visit(when=when, line=row.first):
            bare.append(row.first)
        else:
            visits.append(visit)
    visits.sort(key=lambda visit: visit.when)
    return Entries(visits=tuple(visits), bare=tuple(bare), loose=tuple(loose), dashes=dashes)


def preferred(known: Mapping[Kind, tuple[Column, ...]]) -> tuple[tuple[Kind, ...], ...]:
    """Kinds of column that say the same thing: in a row that fills several, the first is taken.

    A count of which nobody says how long it took comes after a rate.
    """
    rates: tuple[Kind, ...] = ("rate", "spacing")
    timed = "length" in known or any(c.spell_s for c in known.get("bubbles", ()))
    counts: tuple[Kind, ...] = ("bubbles", *rates) if timed else (*rates, "bubbles")
    return (
        tuple(kind for kind in counts if kind in known),
        tuple(kind for kind in cells.GRAVITIES if kind in known),
    )


def fresh(visits: Sequence[Visit], held: Sequence[Visit]) -> Fresh:
    """Give what a diary does not hold yet, so that a second import adds nothing.

    Parameters
    ----------
    visits : sequence of Visit
        Of a table.
    held : sequence of Visit
        Of the diary, struck ones too: a slip does not come back.

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


class _Line:
    """Filled cells of one row by what they hold; what is wrong with one says where it stands."""

    def __init__(
        self,
        sheet: Sheet,
        line: int,
        row: Sequence[str],
        known: Mapping[Kind, tuple[Column, ...]],
    ) -> None:
        self.sheet, self.line, self.dashes = sheet, line, 0
        self.texts: dict[Kind, str] = {}
        self.columns: dict[Kind, Column] = {}
        for kind, some in known.items():
            texts = (unguarded(row[column.index].strip()) for column in some)
            text = "; ".join(filter(None, texts))
            if text.lower() in _BLANK:
                self.dashes += kind != "note"
            elif text:
                self.texts[kind], self.columns[kind] = text, some[0]

    def first(self, kinds: Sequence[Kind]) -> Kind | None:
        return next((kind for kind in kinds if kind in self.texts), None)

    def number(self, kind: Kind, reader: Callable[[str], float], digits: int) -> float | None:
        """Value of a cell, None where it is blank; behind a bare number belongs the unit."""
        if kind not in self.texts:
            return None
        text, unit = self.texts[kind], self.columns[kind].unit
        if unit and _BARE_NUMBER.fullmatch(tidied(text)):
            text = f"{text} {unit}"
        return round(self.reading(kind, lambda: reader(text)), digits)

    def read(self, kind: Kind, reader: Callable[[str], _T]) -> _T | None:
        """What a cell of words says, None where it is blank."""
        return self.reading(kind, lambda: reader(self.texts[kind])) if kind in self.texts else None

    def reading(self, kind: Kind, act: Callable[[], _T]) -> _T:
        """Do something with a cell; whatever is wrong is said with its place."""
        try:
            return act()
        except (InputError, ValueError) as err:
            raise InputError(
                f"{_where(self.sheet, self.line, self.columns[kind])}: {err}"
            ) from None


def _visit(line: _Line, when: datetime, rivals: Sequence[Sequence[Kind]]) -> tuple[Visit, bool]:
    """One row as a visit, and whether words under an event name none."""
    length_s = line.number("length", cells.length_s, 3)
    bubbles, seconds = None, None
    if (kind := line.first(rivals[0])) is not None:
        text, column = line.texts[kind], line.columns[kind]
        bubbles, seconds = line.reading(kind, lambda: cells.counted(text, column, length_s))
    sg = None
    if (kind := line.first(rivals[1])) is not None:
        sg = line.number(kind, cells.GRAVITIES[kind], 4)
    event, left = line.read("event", events.done) or (None, "")
    try:
        visit = Visit(
            when=when,
            bubbles=bubbles,
            seconds=seconds,
            temp_c=line.number("temp", cells.temp_c, 1),
            pressure_hpa=line.number("pressure", lambda text: units.number(text, "it"), 1),
            sg=sg,
            sample_c=line.number("sample", cells.temp_c, 1),
            event=event,
            litres=line.number("litres", units.litres, 5),
            note="; ".join(filter(None, (left, line.texts.get("note", "")))),
            struck=line.texts.get("struck", ""),
            added_l=line.number("added", units.added_l, 5),
            sugar_g=line.number("sugar", units.grams, 3),
            bottles=line.read("bottles", bottles.filling) or "",
            closure=line.read("closure", bottles.closure),
            other=line.texts.get("other", ""),
            line=line.line,
        )
    except ValueError as err:
        raise InputError(f"{line.sheet.name}:{line.line}: {err}") from None
    return visit, bool(left) and event is None


def _where(sheet: Sheet, line: int, column: Column) -> str:
    return f"{sheet.name}:{line}, column {quoted(column.heading)}"
