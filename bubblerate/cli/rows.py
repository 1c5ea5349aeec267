"""How the commands write a row: find the jar, understand the moment, write, say what was written.

Nothing heavy is loaded here: writing a count down must feel instant.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

import typer

from ..diary import units
from ..diary.outcomes import Moment, Written
from ..diary.shelf import Shelf, placed
from ..diary.visit import Visit
from ..errors import InputError
from ..show.diary_text import visit_text
from .common import say

__all__ = [
    "Entry",
    "entry",
    "say_beside",
    "typed_litres",
    "typed_pressure",
    "typed_temp",
    "writable",
    "write_down",
]


class Entry(NamedTuple):
    """Where a row is to be written, and of which moment it is."""

    shelf: Shelf
    name: str
    now: datetime
    moment: Moment


def entry(vessel: str, folder: Path | None, when: str | None, *, now: datetime) -> Entry:
    """Find the jar a row is for, and understand when it is of, before anything is written.

    Parameters
    ----------
    vessel : str
        Name of the jar, or path of its diary.
    folder : Path or None
        The shelf, where one was named.
    when : str or None
        As typed; nothing means now.
    now : datetime
        The present moment, aware.

    Returns
    -------
    Entry

    Raises
    ------
    InputError
        If there is no such diary, or no such moment.
    """
    shelf, name = placed(vessel, folder)
    shelf.check_there(name)
    return Entry(shelf=shelf, name=name, now=now, moment=shelf.moment(name, when, now=now))


def write_down(place: Entry, visit: Visit) -> Written:
    """Append one row, say how it was understood, and ask where it looks like a slip.

    Raises
    ------
    DiaryError
        If it cannot be written; then the diary is as it was.
    """
    shelf, name, day_0 = place.shelf, place.name, place.moment.day_0
    written = shelf.write(name, visit, now=place.now, day_0=day_0)
    vessel = shelf.path(name).stem
    typer.echo(f"{vessel}: {visit_text(visit)}. Line {written.line}.")
    say_beside(vessel, written)
    return written


def typed_temp(text: str | None) -> float | None:
    """Temperature [C] to a tenth, where one was given.

    Raises
    ------
    InputError
        If it cannot be read, or is no temperature of a jar.
    """
    return None if text is None else round(units.temp_c(text), 1)


def typed_pressure(text: str | None) -> float | None:
    """Pressure of the air [hPa] to a tenth, where one was given.

    Raises
    ------
    InputError
        If it cannot be read.
    """
    if text is None:
        return None
    bare = units.tidied(text)
    for unit in ("hpa", "mbar", "mb"):
        bare = bare.removesuffix(unit).rstrip()
    return round(units.number(bare, "--pressure"), 1)


def typed_litres(text: str | None) -> float | None:
    """Wine in a vessel [L], where it was given.

    Raises
    ------
    InputError
        If it cannot be read, or is no volume of a jar.
    """
    return None if text is None else units.litres(text)


@contextmanager
def writable() -> Iterator[None]:
    """Let a row that no diary can hold be refused as what was typed.

    Raises
    ------
    InputError
        Where the row is a `ValueError`.
    """
    try:
        yield
    except ValueError as err:
        raise InputError(f"this cannot be written down: {err}") from err


def say_beside(vessel: str, written: Written) -> None:
    """Say what is to be told of a new row, what looks like a slip, and how to strike it.

    Parameters
    ----------
    vessel : str
        Name of the jar.
    written : Written
        The row as it was written.
    """
    say(written.warnings)
    for doubt in written.doubts:
        asked = "" if doubt.code == "bottled" else "Is that right? "  # that is no question
        typer.echo(f"  {asked}{doubt.text}", err=True)
    if written.doubts:
        typer.echo(f"  If not: bubblerate strike {vessel} {written.line}", err=True)
