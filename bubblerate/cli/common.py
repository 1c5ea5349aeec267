"""What the commands share: which diary, which moment, and the options that say so."""

from __future__ import annotations

import difflib
import os
import shlex
import shutil
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ..diary import times as moments
from ..diary import units
from ..diary.folder import copies
from ..diary.folder import names as names_in
from ..diary.names import look, why_no_name
from ..diary.reading import read
from ..diary.safe_write import open_elsewhere
from ..diary.settings_file import settings
from ..errors import InputError
from ..text import quoted

if TYPE_CHECKING:
    from ..diary.settings import Settings
    from ..diary.visit import Diary


def vessel_names(ctx: typer.Context, incomplete: str) -> list[str]:
    """Names on the shelf for a shell to complete; one with a blank would come out as two words."""
    try:
        known = names_in(shelf_folder(ctx.params.get("shelf")))
    except InputError:
        return []  # the command itself says what is wrong
    return [name for name in known if name.startswith(incomplete) and " " not in name]


At = Annotated[
    str | None,
    typer.Option(help="Answer as of this moment; rows after it are not used.", show_default=False),
]
Vessel = Annotated[
    str,
    typer.Argument(
        help="Name on the shelf, or a path ending in .csv.",
        show_default=False,
        autocompletion=vessel_names,
    ),
]
Shelf = Annotated[
    Path | None,
    typer.Option(
        help="Folder of diaries; else BUBBLERATE_SHELF, else ~/bubblerate.", show_default=False
    ),
]
When = Annotated[
    str | None,
    typer.Option(
        help='Moment: ISO, "yesterday 9pm", "12 Oct 20:00", "day 12"; else now.', show_default=False
    ),
]
Note = Annotated[str, typer.Option(help="A few words to keep with it.", show_default=False)]
Temp = Annotated[
    str | None,
    typer.Option(help="Temperature of the vessel or its room: 18.5 or 65F.", show_default=False),
]
Below = Annotated[
    str | None,
    typer.Option(
        help="Bubbles a minute below which it is quiet; else bubblerate.toml, else 1.",
        show_default=False,
    ),
]
Width = Annotated[
    float,
    typer.Option(help="Width of the picture in cm: 9 for a phone, 16 for A4.", min=6, max=60),
]
Workers = Annotated[
    int | None,
    typer.Option(
        help="Processes of this machine to work with; many jars take all its cores unless said.",
        show_default=False,
    ),
]
Scheduler = Annotated[
    str,
    typer.Option(
        help="Work on the machines of a Dask scheduler, such as tcp://cellar:8786.",
        show_default=False,
    ),
]

_LONGEST_NAME = 245  # bytes; some more are needed for what is written beside it
_END_OF_DAY = time(23, 59, 59)
_FURTHEST_AHEAD = timedelta(days=3653)  # the calendar ends in 9999, and with it the sums of dates


def now() -> datetime:
    """Tell the time, to the second, with the machine's offset."""
    return datetime.now().astimezone().replace(microsecond=0)


def terminal_width() -> int:
    """Characters a line may hold, no more than can be read with ease."""
    return min(92, shutil.get_terminal_size((92, 24)).columns)


def diary_path(vessel: str, shelf: Path | None) -> Path:
    """Turn the name of a vessel, or a path ending in .csv, into the path of its diary."""
    if vessel.lower().endswith(".csv"):
        path = _at_home(Path(vessel))
        if not path.name.isprintable() or len(os.fsencode(path.name)) > _LONGEST_NAME:
            raise InputError(
                f"{quoted(path.name)} is too long, or holds what cannot be shown; rename the file"
            )
        return path
    if why := why_no_name(vessel):
        raise InputError(f"{why}; or give a path ending in .csv")
    return shelf_folder(shelf) / f"{vessel}.csv"


def shelf_folder(shelf: Path | None) -> Path:
    """Folder of the diaries: the one asked for, else that of the environment, else the usual."""
    folder = shelf or Path(os.environ.get("BUBBLERATE_SHELF") or "~/bubblerate")
    folder = _at_home(folder)
    if folder.exists() and not folder.is_dir():
        raise InputError(f"{folder} is a file; a shelf is the folder that holds the diaries")
    return folder


def _at_home(path: Path) -> Path:
    """Path with the home folder in place of a ~."""
    try:
        return path.expanduser()
    except RuntimeError:
        raise InputError(f"{path}: there is no such home folder; write the path in full") from None


def refuse_twin(path: Path) -> None:
    """Refuse a new diary whose name looks like that of another, or will not do as a name."""
    stems = {other.stem for other in path.parent.glob("*.csv")}
    if path.stem in stems:
        return
    if why := why_no_name(path.stem):
        raise InputError(why)
    twin = next((stem for stem in sorted(stems) if look(stem) == look(path.stem)), None)
    if twin is not None:
        raise InputError(f"there is a diary {twin} already; choose a name unlike it")


def open_diary(vessel: str, shelf: Path | None) -> tuple[Diary, Settings]:
    """Read the diary of a vessel and the settings beside it."""
    path = diary_path(vessel, shelf)
    if not path.exists():
        raise InputError(_missing(vessel, path))
    known = settings(path.parent)
    say_copies(path.parent, of=path.stem)
    return read(path, pitched=known.vessel(path.stem).pitched), known


def say_if_open(path: Path) -> None:
    """Warn that another program, which has a diary open, may undo what was just written."""
    if open_elsewhere(path):
        typer.echo(
            f"bubblerate: written, but {path.name} is open in another program; load it anew there "
            "before you save, or that save takes this away",
            err=True,
        )


def say_copies(folder: Path, *, of: str | None = None) -> None:
    """Name the diaries that look like copies of another, or of one vessel's."""
    for copy, original in copies(folder).items():
        if of in {None, original, copy}:
            ours, other = (shlex.quote(f"{folder / name}.csv") for name in (original, copy))
            typer.echo(
                f"bubblerate: {copy}.csv begins with the rows of {original}.csv, as the copy does "
                "that a synced folder makes; give it another name, or take over what only it "
                f"holds and delete it: bubblerate import {other} --into {ours}",
                err=True,
            )


def moment(text: str | None, *, pitched: datetime | None, asking: bool = False) -> datetime:
    """Understand the moment a person named; a date alone means all of that day when asking."""
    if text is None:
        return now()
    return moments.moment(text, now=now(), clock=_END_OF_DAY if asking else None, pitched=pitched)


def asked_moment(text: str | None, diary: Diary, known: Settings) -> datetime:
    """Understand --at, the moment that is asked about."""
    pitched = known.vessel(diary.vessel).pitched or diary.pitched
    asked_at = moment(text, pitched=pitched, asking=True)
    if asked_at - now() > _FURTHEST_AHEAD:
        raise InputError(f"--at is {text}, more than ten years ahead; check the year")
    return asked_at


def known_threshold(text: str | None) -> float | None:
    """Understand the rate below which a vessel counts as quiet."""
    if text is None:
        return None
    per_min = units.number(text, "--below")
    if not 0.001 <= per_min <= 1000.0:
        raise InputError(f"--below is {text}; write bubbles a minute, 0.001 to 1000, such as 1")
    return per_min


def _missing(vessel: str, path: Path) -> str:
    """No such diary: say where it was looked for, and which name may have been meant."""
    if path.is_symlink():
        return f"{path} is a link that leads nowhere; make it lead to a diary, or delete it"
    names = sorted(p.stem for p in path.parent.glob("*.csv")) if path.parent.is_dir() else []
    alike = {name.lower(): name for name in names}
    near = difflib.get_close_matches(path.stem.lower(), alike, 1)
    if near:
        return f"no diary {path.name} in {path.parent}; did you mean {alike[near[0]]}?"
    there = f"there are {', '.join(names[:6])}" if names else "the folder holds none"
    return f"no diary {path.name} in {path.parent} ({there}); begin one: bubblerate start {vessel}"
