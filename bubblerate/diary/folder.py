"""Reads all diaries of a shelf; one that cannot be read says why and does not stop the others."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from pathlib import Path

from ..errors import DiaryError
from ..text import printable
from .csv_rows import content, rows
from .events import Event
from .journal import mend
from .reading import read
from .settings import Settings
from .visit import Diary, bottled

__all__ = [
    "Unread",
    "at_hand",
    "copies",
    "diaries",
    "in_bottle",
    "names",
    "put_away",
    "unshowable",
]

_ALIKE = 3  # header and two rows: jars pitched together may well share the first


@dataclass(frozen=True, slots=True, kw_only=True)
class Unread:
    """A diary that cannot be read, and what would do.

    Examples
    --------
    >>> from pathlib import Path
    >>> from bubblerate import Settings
    >>> jars = diaries(Path("examples"), Settings())
    >>> [jar.error for jar in jars if isinstance(jar, Unread)]
    []
    """

    vessel: str
    error: str


def names(folder: Path) -> tuple[str, ...]:
    """List the names of the vessels in a folder, in order.

    Parameters
    ----------
    folder : Path
        The shelf; it need not exist.

    Returns
    -------
    tuple of str
    """
    # names with a leading dot belong to other programs, such as shadow files of a system
    return tuple(sorted(p.stem for p in folder.glob("*.csv") if not p.name.startswith(".")))


def diaries(folder: Path, known: Settings) -> Iterator[Diary | Unread]:
    """Read every diary of a folder, by name, one after another.

    Parameters
    ----------
    folder : Path
        The shelf; it need not exist.
    known : Settings
        The settings beside the diaries.

    Yields
    ------
    Diary or Unread
    """
    mend(folder)
    return (_read(folder / f"{name}.csv", known) for name in names(folder))


def copies(folder: Path) -> dict[str, str]:
    """Find diaries that look like copies of another, as synced folders leave them.

    Their name is that of the other plus some more after a space or a mark, and they start with the
    same rows. Jars split off the other, or that the other was joined into, are not meant.

    Parameters
    ----------
    folder : Path
        The shelf; it need not exist.

    Returns
    -------
    dict of str to str
        From the name of the copy to the name of the other.
    """
    known = {*names(folder)}
    found = {}
    for name in sorted(known):
        shorter = (name[:i] for i in range(len(name) - 1, 0, -1) if not name[i].isalnum())
        alike = (other for other in shorter if other in known and _alike(folder, name, other))
        other = next(alike, None)
        if other is not None and not _poured(folder, name, other):
            found[name] = other
    return found


def in_bottle(diary: Diary) -> bool:
    """Whether the last wine in the diary has been bottled."""
    return bool(bottled(diary.batch))


def put_away(diary: Diary) -> bool:
    """Whether the jar was put away for good, with nothing written since."""
    return any(visit.event is Event.PUT_AWAY for visit in diary.batch[-1:])


def at_hand(found: Iterable[Diary | Unread], at: datetime) -> Iterator[Diary | Unread]:
    """Leave out those put away by a moment; unreadable ones are kept."""
    return (one for one in found if not isinstance(one, Diary) or not put_away(one.until(at)))


def unshowable(name: str) -> Unread | None:
    """Say why a vessel with such a name is not read; None if its name can be shown."""
    if name.isprintable():
        return None
    shown = printable(name)
    return Unread(
        vessel=shown,
        error=(f"{shown}.csv: its name has characters that cannot be shown; rename the file"),
    )


def _read(path: Path, known: Settings) -> Diary | Unread:
    if unread := unshowable(path.stem):
        return unread
    try:
        return read(path, pitched=known.vessel(path.stem).pitched)
    except DiaryError as err:
        return Unread(vessel=path.stem, error=str(err))


def _alike(folder: Path, *two: str) -> bool:
    """Whether two diaries start with the same rows, as far as the shorter one goes."""
    a, b = (_beginning(folder / f"{name}.csv") for name in two)
    least = min(len(a), len(b))
    return least > 1 and a[:least] == b[:least]


def _poured(folder: Path, name: str, other: str) -> bool:
    """Whether a diary says that its wine came from another jar, with that jar's history."""
    try:
        visits = read(folder / f"{name}.csv").visits
    except DiaryError:
        return False
    return any(v.other == other and v.event in (Event.SPLIT, Event.JOINED) for v in visits)


def _beginning(path: Path) -> list[list[str]]:
    try:
        return [row.cells for row in islice(rows(path, content(path)), _ALIKE)]
    except (DiaryError, OSError):
        return []  # its reader says what is wrong
