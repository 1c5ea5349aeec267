"""The diaries of a shelf, read one by one; one that cannot be read says why and stops no other."""

from dataclasses import dataclass
from pathlib import Path

from .config import Settings
from .diary import Diary, read
from .errors import DiaryError

__all__ = ["Unread", "diaries", "in_bottle"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Unread:
    """A diary that cannot be read, and what would do."""

    path: Path
    error: str

    @property
    def vessel(self) -> str:
        """Name of the vessel."""
        return self.path.stem


def diaries(folder: Path, known: Settings) -> tuple[Diary | Unread, ...]:
    """Read every diary of a folder, by name.

    Parameters
    ----------
    folder : Path
        The shelf; it need not exist.
    known : Settings
        What lies beside the diaries.

    Returns
    -------
    tuple of Diary or Unread
    """
    # a name that begins with a dot is another program's: the shadow a system leaves beside a file
    paths = sorted(p for p in folder.glob("*.csv") if not p.name.startswith("."))
    return tuple(_read(path, known) for path in paths)


def in_bottle(diary: Diary) -> bool:
    """Whether the wine that is in the diary last has been bottled."""
    return any(visit.event == "bottled" for visit in diary.batch)


def _read(path: Path, known: Settings) -> Diary | Unread:
    try:
        return read(path, pitched=known.vessel(path.stem).pitched)
    except DiaryError as err:
        return Unread(path=path, error=str(err))
