"""What the commands share: the clock, the diary, the moment, and their options."""

from __future__ import annotations

import shutil
import sys
import textwrap
from collections.abc import Callable, Iterable
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ..diary import times
from ..diary.folder import names
from ..diary.places import shelf_folder, typed_again
from ..diary.shelf import placed
from ..diary.sugar_notes import open_note
from ..errors import InputError
from ..show.diary_text import note_text

if TYPE_CHECKING:
    from ..diary.outcomes import Notice, Opened
    from ..diary.visit import Diary

__all__ = [
    "At",
    "Clock",
    "Folder",
    "Litres",
    "Note",
    "Temp",
    "Vessel",
    "When",
    "ask_of_notes",
    "asked_moment",
    "clock_of",
    "echo",
    "lacking",
    "machine_clock",
    "moment_asked",
    "opened",
    "say",
    "terminal_width",
    "vessel_names",
    "window_width",
]

Clock = Callable[[], datetime]


def machine_clock() -> datetime:
    """Give the time to the second, with the machine's offset."""
    return datetime.now().astimezone().replace(microsecond=0)


def clock_of(ctx: typer.Context) -> Clock:
    """Clock that `main` handed to the command."""
    clock: Clock = ctx.obj
    return clock


def vessel_names(ctx: typer.Context, incomplete: str) -> list[str]:
    """Names on the shelf for a shell to complete; one with a space would become two words."""
    try:
        known = names(shelf_folder(ctx.params.get("shelf")))
    except InputError:
        return []  # the command itself says what is wrong
    return [name for name in known if name.startswith(incomplete) and " " not in name]


At = Annotated[
    str | None,
    typer.Option(help="Answer as of this moment, ignoring later rows.", show_default=False),
]
Vessel = Annotated[
    str,
    typer.Argument(
        metavar="JAR",
        help="Name of a jar on the shelf, or a path ending in .csv.",
        show_default=False,
        autocompletion=vessel_names,
    ),
]
Folder = Annotated[
    Path | None,
    typer.Option(
        help="Folder of diaries (default: BUBBLERATE_SHELF, or ~/bubblerate).", show_default=False
    ),
]
When = Annotated[
    str | None,
    typer.Option(
        help='Moment: "last night", "Saturday 9pm", "12 Oct 20:00", "day 12" (default: now).',
        show_default=False,
    ),
]
Litres = Annotated[
    str | None,
    typer.Option(help='Wine in the jar: 4.5, "1 UK gal", "1 US gal".', show_default=False),
]
Note = Annotated[str, typer.Option(help="A few words of your own.", show_default=False)]
Temp = Annotated[
    str | None,
    typer.Option(help="Temperature of the jar or its room: 18.5 or 65F.", show_default=False),
]

_END_OF_DAY = time(23, 59, 59)
_FURTHEST_AHEAD = timedelta(days=3653)  # the calendar ends in 9999, and with it the sums of dates


def terminal_width() -> int:
    """Width of a line in characters, no wider than is easy to read."""
    return min(92, shutil.get_terminal_size((92, 24)).columns)


def window_width(*, err: bool = False) -> int:
    """Width of the terminal in characters; 0 if it goes elsewhere, so that no line is broken."""
    stream = sys.stderr if err else sys.stdout
    return shutil.get_terminal_size((0, 24)).columns if stream.isatty() else 0


def echo(text: str, *, err: bool = False) -> None:
    """Print a line, broken between words where a terminal is too narrow for it."""
    width = window_width(err=err)
    if 0 < width < len(text):
        lines = textwrap.TextWrapper(width, subsequent_indent="    ", break_long_words=False)
        lines.break_on_hyphens = False  # in names, and in lines to be typed
        text = lines.fill(text)
    typer.echo(text, err=err)


def lacking(err: ModuleNotFoundError) -> InputError:
    """Say which library the page lacks, and what installs it."""
    return InputError(
        f"a page needs {err.name}, which is not installed: "
        'python3 -m pip install "bubblerate[phone]"'
    )


def say(notices: Iterable[Notice]) -> None:
    """Print notices beside the answer."""
    for notice in notices:
        echo(f"bubblerate: {notice.text}", err=True)


def ask_of_notes(diary: Diary) -> None:
    """Ask about a note that mentions sugar, until a row of the diary answers."""
    visit = open_note(diary.batch)
    if visit is not None:
        fed = typed_again(diary.path, "event", "fed", "--when", f"{visit.when:%Y-%m-%dT%H:%M}")
        not_fed = typed_again(diary.path, "event", "not-fed")
        typer.echo(f"{note_text(visit)}\n  If you did: {fed}\n  If not: {not_fed}", err=True)


def opened(vessel: str, folder: Path | None) -> Opened:
    """Read the diary of a jar and the settings beside it, and print its notices.

    Parameters
    ----------
    vessel : str
        Name of the jar, or path of its diary.
    folder : Path or None
        The shelf, where one was named.

    Returns
    -------
    Opened

    Raises
    ------
    BubbleRateError
        If there is no such diary, or it or the settings cannot be read.
    """
    shelf, name = placed(vessel, folder)
    found = shelf.open(name)
    say(found.warnings)
    return found


def asked_moment(
    text: str | None, found: Opened, *, now: datetime, option: str = "--at", ahead: bool = False
) -> datetime:
    """Understand --at, the moment asked about; a date alone means all of that day.

    Parameters
    ----------
    text : str or None
        As typed; nothing means now.
    found : Opened
        The diary that is asked about.
    now : datetime
        The present moment, aware.
    option : str
        What it is called where it cannot be used.
    ahead : bool
        Whether a weekday is one to come.

    Returns
    -------
    datetime

    Raises
    ------
    InputError
        If it names no moment, or one more than ten years ahead.
    """
    diary = found.diary
    pitched = found.settings.vessel(diary.vessel).pitched or diary.pitched
    return moment_asked(text, now=now, pitched=pitched, option=option, ahead=ahead)


def moment_asked(
    text: str | None,
    *,
    now: datetime,
    pitched: datetime | None = None,
    option: str = "--at",
    ahead: bool = False,
) -> datetime:
    """Understand the moment asked about, for no jar in particular.

    Parameters
    ----------
    text : str or None
        As typed; nothing means now.
    now : datetime
        The present moment, aware.
    pitched : datetime, optional
        From which a day is counted.
    option : str
        What it is called where it cannot be used.
    ahead : bool
        Whether a weekday is one to come.

    Returns
    -------
    datetime

    Raises
    ------
    InputError
        If it names no moment, or one more than ten years ahead.
    """
    if text is None:
        return now
    asked_at = times.moment(text, now=now, clock=_END_OF_DAY, pitched=pitched, ahead=ahead)
    if asked_at - now > _FURTHEST_AHEAD:
        raise InputError(f"{option} is {text}, more than ten years ahead; check the year")
    return asked_at
