"""The diaries of a shelf, read one by one; one that cannot be read says why and stops no other."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from .config import Settings
from .diary import Diary, read
from .errors import DiaryError

__all__ = ["Unread", "diaries", "in_bottle", "names"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Unread:
    """A diary that cannot be read, and what would do."""

    vessel: str
    error: str


def names(folder: Path) -> tuple[str, ...]:
    """Give the names of the vessels of a folder, in order.

    Parameters
    ----------
    folder : Path
        The shelf; it need not exist.

    Returns
    -------
    tuple of str
    """
    # a name that begins with a dot is another program's: the shadow a system leaves beside a file
    return tuple(sorted(p.stem for p in folder.glob("*.csv") if not p.name.startswith(".")))


def diaries(folder: Path, known: Settings) -> Iterator[Diary | Unread]:
    """Read every diary of a folder, by name, one after another.

    Parameters
    ----------
    folder : Path
        The shelf; it need not exist.
    known : Settings
        What lies beside the diaries.

    Yields
    ------
    Diary or Unread
    """
    return (_read(folder / f"{name}.csv", known) for name in names(folder))


def in_bottle(diary: Diary) -> bool:
    """Whether the wine that is in the diary last has been bottled."""
    return any(visit.event == "bottled" for visit in diary.batch)


def _read(path: Path, known: Settings) -> Diary | Unread:
    try:
        return read(path, pitched=known.vessel(path.stem).pitched)
    except DiaryError as err:
        return Unread(vessel=path.stem, error=str(err))
