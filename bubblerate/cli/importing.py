"""The command that imports a table: it shows what it understood, asks, and writes."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal, TypeVar

import typer

from ..diary import units
from ..diary.shelf import Shelf, placed
from ..errors import InputError
from ..text import format_day, plural, quoted
from .common import Folder, clock_of, say, terminal_width, vessel_names

if TYPE_CHECKING:
    from ..diary.dates import Order
    from ..diary.tables.dates import Orders, Written
    from ..diary.tables.hints import Hint
    from ..diary.tables.sheet import Sheet
    from ..diary.visit import Diary, Visit

__all__ = ["import_"]

_T = TypeVar("_T")


def import_(
    ctx: typer.Context,
    file: Annotated[
        Path,
        typer.Argument(
            help="Table: CSV with commas, semicolons or tabs; xlsx, xls or ods.", show_default=False
        ),
    ],
    into: Annotated[
        str,
        typer.Option(
            help=("Jar to write into; a new name starts a new diary."),
            show_default=False,
            autocompletion=vessel_names,
        ),
    ],
    dates: Annotated[
        Literal["day-first", "month-first", "year-first"] | None,
        typer.Option(
            help=("How to read dates such as 3/4/2026, if no row makes it clear."),
            show_default=False,
        ),
    ] = None,
    year: Annotated[
        int | None,
        typer.Option(
            help=("Year of the first row, if the dates have no year."),
            min=1900,
            max=2200,
            show_default=False,
        ),
    ] = None,
    column: Annotated[
        list[str] | None,
        typer.Option(
            metavar="HEADING=MEANING",
            help='What a column holds: "Plopp=per minute", "Rum=temp".',
            show_default=False,
        ),
    ] = None,
    jar: Annotated[
        str,
        typer.Option(help="Which jar to take, if the table holds several.", show_default=False),
    ] = "",
    events_in_notes: Annotated[
        bool | None,
        typer.Option(
            "--events-in-notes/--no-events-in-notes",
            help="Turn notes such as racked into events, or not (default: it asks).",
            show_default=False,
        ),
    ] = None,
    pool: Annotated[
        str | None,
        typer.Option(
            help="For a sensor's log: combine it into one row per 1h, 30m, ...",
            show_default=False,
        ),
    ] = None,
    yes: Annotated[bool, typer.Option("--yes", help="Write without asking.")] = False,
    shelf: Folder = None,
) -> None:
    """Import a table that you already keep.

    It shows what it understood, asks, and then writes all of it.

    Examples: bubblerate import plums.csv --into plum;
    bubblerate import a.xlsx --into fig --jar Fig;
    bubblerate import counter.csv --into fig --pool 1h --yes

    Raises
    ------
    BubbleRateError
        If the table cannot be read, nobody can be asked, or the rows cannot be written.
    """
    where, name = placed(into, shelf)
    where.check_new(name)
    asking = not yes and sys.stdin.isatty() and sys.stdout.isatty()
    if pool is not None:
        taken = _pooled(file, column or [], where, name, every_s=units.seconds(pool))
    else:
        table = _table(file, jar, column or [])
        taken = _taken(table, where, name, dates, year, now=clock_of(ctx)(), asking=asking)
    typer.echo(taken.preview)
    if not taken.new:
        typer.echo("\nThere is nothing to write.")
    elif not yes and not asking:
        raise InputError(
            f"nothing was written, as there is no one to ask; to write {taken.rows}, add --yes"
        )
    elif asking and not _answer(f"\nWrite {taken.rows}? [y/n] ", {"y": True, "n": False}):
        typer.echo("Nothing was written.")
    else:
        new = _with_events(taken, asking=asking, said=events_in_notes)
        written = where.extend(name, new, held=taken.held)
        say(written.warnings)
        vessel = where.path(name).stem
        typer.echo(f"\n{vessel}: {taken.rows} written, from line {written.line} on.")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Taken:
    """What is taken from a table: the rows to write, and how they are shown before."""

    preview: str
    rows: str  # how many, in words
    new: tuple[Visit, ...]
    hints: tuple[Hint, ...]
    held: tuple[Visit, ...]


def _table(file: Path, jar: str, said: Sequence[str]) -> Sheet:
    """Table in a file, with what its maker says about its columns."""
    from ..diary.tables.meanings import meanings
    from ..diary.tables.sheet import MOST_BYTES, sheet

    return sheet(file.name, _bytes(file, MOST_BYTES), jar=jar, meant=meanings(said))


def _pooled(file: Path, said: Sequence[str], shelf: Shelf, name: str, *, every_s: float) -> _Taken:
    """Pool the log of a sensor into rows that the diary does not hold yet."""
    from ..diary.tables import counter
    from ..diary.tables.meanings import meanings
    from ..diary.tables.visits import fresh
    from ..show.counter_text import pooled_text

    data = _bytes(file, counter.MOST_BYTES)
    found = counter.log(file.name, data, every_s=every_s, meant=meanings(said))
    begun = shelf.has(name)
    held = shelf.open(name).diary.visits if begun else ()
    new, path, width = fresh(found.visits, held), shelf.path(name), terminal_width()
    return _Taken(
        preview=pooled_text(file.name, found, new, path, fresh=not begun, width=width),
        rows=plural(len(new.visits), "row"),
        new=new.visits,
        hints=(),
        held=held,
    )


def _taken(
    table: Sheet,
    shelf: Shelf,
    name: str,
    order: Order | None,
    year: int | None,
    *,
    now: datetime,
    asking: bool,
) -> _Taken:
    """Understand a table, asking for the order of its dates and their year if necessary."""
    from ..diary.tables.dates import moments, orders, yearless
    from ..diary.tables.hints import hints
    from ..diary.tables.visits import days, entries, fresh
    from ..show.import_text import preview

    diary = shelf.open(name).diary if shelf.has(name) else None
    held = diary.visits if diary else ()
    written = days(table, pitched=_day_0(shelf, name, diary))
    found = orders(written)
    order = order or _order(found, asking=asking)
    if year is None and (first := yearless(written)):
        year = _year(first, asking=asking, now=now)
    said = entries(table, moments(written, order=order, year=year, now=now))
    new = fresh(said.visits, held)
    path, width, told = shelf.path(name), terminal_width(), hints(new.visits)
    return _Taken(
        preview=preview(
            table, written, found, order, said, new, told, diary, path, now=now, width=width
        ),
        rows=plural(len(new.visits), "row"),
        new=new.visits,
        hints=told,
        held=held,
    )


def _with_events(taken: _Taken, *, asking: bool, said: bool | None) -> tuple[Visit, ...]:
    """Rows to write, with the events in their notes if the maker says so."""
    from ..diary.tables.hints import with_events

    if said is None and taken.hints and asking:
        notes = plural(len(taken.hints), "note")
        asked = f"Some notes may be events ({notes}). Write them as events too? [y/n] "
        said = _answer(asked, {"y": True, "n": False})
    return with_events(taken.new, taken.hints) if said else taken.new


def _day_0(shelf: Shelf, name: str, diary: Diary | None) -> datetime | None:
    """Where a table that counts days begins, as far as the shelf tells."""
    said = shelf.settings.vessel(shelf.path(name).stem).pitched
    return said or (diary.pitched if diary else None)


def _bytes(file: Path, most: int) -> bytes:
    """Read a file, but hardly more of it than may be taken."""
    try:
        with file.expanduser().open("rb") as stream:
            return stream.read(most + 1)
    except FileNotFoundError:
        reason = "there is no such file; check the name"
    except IsADirectoryError:
        reason = "is a folder; name a table in it"
    except OSError as err:
        reason = f"cannot be read ({err.strerror or err}); check its permissions"
    raise InputError(f"{file.name or file}: {reason}")


def _order(found: Orders, *, asking: bool) -> Order | None:
    """Order of day, month and year: as the rows show it, or as the maker says."""
    shown = found.shown_by
    if shown is None or len(found.possible) < 2:
        return found.possible[0] if found.possible else None
    ways = {order: _reading(shown, order) for order in found.possible}
    if not asking:
        raise InputError(
            f"{shown.where}: {quoted(shown.text)} can be {' or '.join(ways.values())}; "
            f"add --dates {'|'.join(ways)}"
        )
    asked = " or ".join(f"{order.replace('-', ' ')} ({way})" for order, way in ways.items())
    return _answer(
        f"Line {shown.line} has {quoted(shown.text)}: {asked}? [{'/'.join(o[0] for o in ways)}] ",
        {order[0]: order for order in ways},
    )


def _reading(written: Written, order: Order) -> str:
    year, month, day = written.readings[order]
    shown = date(2000 if year is None else year, month, day)  # a leap year holds any day
    return format_day(shown, year=year is not None)


def _year(first: Written, *, asking: bool, now: datetime) -> int:
    if not asking:
        raise InputError(
            f"{first.where}: {quoted(first.text)} has no year; add it, such as --year {now.year}"
        )
    years = {str(year): year for year in range(1900, 2201)}
    return _answer(f"Line {first.line} has {quoted(first.text)}. Which year is that? ", years)


def _answer(question: str, choices: Mapping[str, _T]) -> _T:
    """Ask until one of the choices is typed, or a word that begins with it."""
    while True:
        typer.echo(question, nl=False)
        line = sys.stdin.readline()
        if not line:
            typer.echo()
            raise InputError("stopped; nothing was written")
        typed = line.strip().lower()
        for choice in (typed, typed[:1]):
            if choice in choices:
                return choices[choice]
