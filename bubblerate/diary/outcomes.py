"""What a shelf gives back, with notices for its maker, each a code and a sentence."""

import shlex
from datetime import datetime
from pathlib import Path
from typing import Literal, NamedTuple

from .doubts import Doubt
from .folder import copies
from .safe_write import open_elsewhere
from .settings import Settings
from .visit import Diary, Visit

__all__ = [
    "Extended",
    "Moment",
    "Notice",
    "Opened",
    "Struck",
    "Written",
    "beside_told",
    "fault_told",
    "open_told",
]


class Notice(NamedTuple):
    """Something to tell about a diary.

    Attributes
    ----------
    code : {"fault", "setting", "open-elsewhere", "copy"}
        A row or a setting cannot be read, but the new row is written; the settings of a jar cannot
        be understood and is left out; another program has the diary open, and its next save may
        undo the row; a diary looks like a copy of another.
    text : str
        The same in words.
    """

    code: Literal["fault", "setting", "open-elsewhere", "copy"]
    text: str


class Opened(NamedTuple):
    """A diary, its settings, and what to tell about it."""

    diary: Diary
    settings: Settings
    warnings: tuple[Notice, ...]


class Moment(NamedTuple):
    """The moment of a row, and day 0 if its words count days."""

    when: datetime
    day_0: datetime | None = None


class Written(NamedTuple):
    """A row on the disk: its line, its values, what looks like a mistake, what to tell."""

    line: int
    visit: Visit
    doubts: tuple[Doubt, ...]
    warnings: tuple[Notice, ...]


class Struck(NamedTuple):
    """Rows that were struck, as they are now, and what to tell."""

    visits: tuple[Visit, ...]
    warnings: tuple[Notice, ...]


class Extended(NamedTuple):
    """Line of the first of many rows written at once, and what to tell."""

    line: int
    warnings: tuple[Notice, ...]


def fault_told(error: str) -> Notice:
    """Tell that something above a new row cannot be read."""
    return Notice(code="fault", text=f"written, but there is something to fix: {error}")


def beside_told(folder: Path, known: Settings, *, of: str | None = None) -> tuple[Notice, ...]:
    """Tell which settings of a vessel cannot be understood, and what looks like a copy.

    Parameters
    ----------
    folder : Path
        The shelf; it need not exist.
    known : Settings
        Settings of the shelf.
    of : str, optional
        Only what is about this vessel.

    Returns
    -------
    tuple of Notice
    """
    faults = [fault for name, some in known.faults.items() if of in {None, name} for fault in some]
    left_out = (Notice(code="setting", text=f"{fault}; it is left out") for fault in faults)
    return (*left_out, *copies_told(folder, of=of))


def open_told(path: Path) -> tuple[Notice, ...]:
    """Tell if another program has open a diary that was just written; otherwise nothing."""
    if not open_elsewhere(path):
        return ()
    text = (
        f"written, but {path.name} is open in another program; reload it there before you save, "
        "or saving there will undo this"
    )
    return (Notice(code="open-elsewhere", text=text),)


def copies_told(folder: Path, *, of: str | None = None) -> tuple[Notice, ...]:
    """Tell which diaries of a folder look like copies of another.

    Parameters
    ----------
    folder : Path
        The shelf; it need not exist.
    of : str, optional
        Only those about this vessel.

    Returns
    -------
    tuple of Notice
    """
    return tuple(
        Notice(code="copy", text=_copy(folder, copy, original))
        for copy, original in copies(folder).items()
        if of in {None, original, copy}
    )


def _copy(folder: Path, copy: str, original: str) -> str:
    ours, other = (shlex.quote(f"{folder / name}.csv") for name in (original, copy))
    return (
        f"{copy}.csv begins with the rows of {original}.csv, like the copy that a synced folder "
        "makes; rename it, or import what only it holds and delete it: bubblerate "
        f"import {other} --into {ours}"
    )
