"""How the commands write a row: find the jar, understand the moment, write, and show it.

Nothing heavy is loaded here: writing a count down must feel instant.
"""

from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from ..diary.outcomes import Moment, Written
from ..diary.places import typed_again
from ..diary.shelf import Shelf, placed
from ..diary.visit import Visit
from ..show.entry_text import doubt_texts, written_text
from .common import echo, say

__all__ = [
    "Entry",
    "entry",
    "say_beside",
    "write_down",
]


class Entry(NamedTuple):
    """Where to write a row, and for which moment."""

    shelf: Shelf
    name: str
    now: datetime
    moment: Moment


def entry(vessel: str, folder: Path | None, when: str | None, *, now: datetime) -> Entry:
    """Find the jar and understand the moment of a row before anything is written.

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
    """Append one row, show how it was understood, and ask if it looks like a mistake.

    Raises
    ------
    DiaryError
        If it cannot be written; the diary is then unchanged.
    """
    shelf, name, day_0 = place.shelf, place.name, place.moment.day_0
    written = shelf.write(name, visit, now=place.now, day_0=day_0)
    path = shelf.path(name)
    echo(written_text(path.stem, written))
    say_beside(path, written)
    return written


def say_beside(path: Path, written: Written) -> None:
    """Print the notices about a new row, what looks like a mistake, and how to strike it.

    Parameters
    ----------
    path : Path
        Diary of the jar.
    written : Written
        The row as it was written.
    """
    say(written.warnings)
    for doubt in doubt_texts(written):
        echo(f"  {doubt}", err=True)
    codes = {doubt.code for doubt in written.doubts}
    strike = typed_again(path, "strike", str(written.line))
    if codes - {"note", "added"}:
        echo(f"  If not: {strike}", err=True)
    if "added" in codes:
        when = f"{written.visit.when:%Y-%m-%dT%H:%M}"
        more = ("--added", "0.2", "--when", when)
        again = typed_again(path, "event", str(written.visit.event), *more)
        echo(f"  To say it: {strike}, then {again}", err=True)
