"""A shelf is one folder of diaries; this is the interface for reading and writing them.

Commands, the round and the page call it and only show what it gives back. Nothing heavy is loaded
here, since every count goes through it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..errors import BubbleRateError, ConfigError
from . import folder as of_folder
from . import striking, times, writing
from .doubts import doubts
from .journal import mend
from .outcomes import Extended, Moment, Opened, Struck, Written, beside_told, fault_told, open_told
from .places import SUFFIX, check_new, diary_path, missing
from .reading import read
from .settings import Settings
from .settings_file import settings
from .visit import Diary

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime
    from pathlib import Path

    from .folder import Unread
    from .outcomes import Notice
    from .visit import Visit

__all__ = ["Shelf", "placed", "shelf_at"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """One folder of diaries with its settings.

    A jar is known by its name, or by its file name with .csv.

    Attributes
    ----------
    folder : Path
        Need not exist yet.
    said : Settings or ConfigError
        Settings of `bubblerate.toml`, or why they cannot be read, which stops no count.
    """

    folder: Path
    said: Settings | ConfigError

    @property
    def settings(self) -> Settings:
        """The settings of the shelf.

        Raises
        ------
        ConfigError
            If they cannot be read.
        """
        if isinstance(self.said, ConfigError):
            raise self.said
        return self.said

    @property
    def _known(self) -> Settings:
        """The settings, or the usual ones if they cannot be read, so that a count never waits."""
        return Settings() if isinstance(self.said, ConfigError) else self.said

    def names(self) -> tuple[str, ...]:
        """Names of the jars, in order."""
        return of_folder.names(self.folder)

    def path(self, name: str) -> Path:
        """Where the diary of a jar is, or would be."""
        return self.folder / (name if name.lower().endswith(SUFFIX) else f"{name}{SUFFIX}")

    def has(self, name: str) -> bool:
        """Whether there is a diary of a jar."""
        return self.path(name).exists()

    def check_there(self, name: str) -> None:
        """Refuse a jar that has no diary.

        Raises
        ------
        InputError
            Names the jars there are, and which may have been meant.
        """
        if not self.has(name):
            path = self.path(name)
            raise missing(path)

    def check_new(self, name: str) -> None:
        """Refuse a bad name for a new diary, or one that looks like another on the shelf.

        Raises
        ------
        InputError
            It says why.
        """
        check_new(self.path(name))

    def diaries(self) -> Iterator[Diary | Unread]:
        """Read every diary, by name, one after another.

        Raises
        ------
        ConfigError
            If the settings cannot be read.
        """
        return of_folder.diaries(self.folder, self.settings)

    def unbottled(self) -> tuple[Diary | Unread, ...]:
        """Read diaries of jars with wine, and note unreadable ones; bad settings stop none."""
        return tuple(
            one
            for one in of_folder.diaries(self.folder, self._known)
            if not isinstance(one, Diary)
            or not (of_folder.in_bottle(one) or of_folder.put_away(one))
        )

    def told(self) -> tuple[Notice, ...]:
        """Give notices about the settings of all jars, and about diaries that look like copies."""
        return beside_told(self.folder, self._known)

    def open(self, name: str) -> Opened:
        """Read the diary of a jar and the settings beside it.

        Raises
        ------
        InputError
            If there is no such diary; names those there are.
        ConfigError
            If the settings cannot be read.
        DiaryError
            If the diary cannot be read.
        """
        self.check_there(name)
        mend(self.folder)
        path, known = self.path(name), self.settings
        diary = read(path, pitched=known.vessel(path.stem).pitched)
        return Opened(diary, known, beside_told(self.folder, known, of=path.stem))

    def moment(self, name: str, text: str | None, *, now: datetime) -> Moment:
        """Work out the moment of a row; `now` if nothing is given.

        Raises
        ------
        InputError
            If the words are no moment, or count days for a jar whose day 0 is unknown.
        """
        if text is None:
            return Moment(now)
        # a diary with only day numbers has no calendar, so only day numbers fit in it
        by_day = text.strip().lower().startswith("day")
        day_0 = self._pitched(name) or self._before(name)[0].pitched if by_day else None
        return Moment(times.moment(text, now=now, pitched=day_0), day_0)

    def begin(self, name: str, first: Visit, *, now: datetime) -> Written:
        """Start the diary of a jar.

        Raises
        ------
        InputError
            If the name is bad, or looks like that of another jar.
        DiaryError
            If it exists, or cannot be written; then nothing is left behind.
        """
        self.check_new(name)
        path = self.path(name)
        writing.create(path, first)
        blank = Diary(path=path, vessel=path.stem, visits=())
        return Written(2, first, doubts(blank, first, now=now), ())

    def write(
        self, name: str, visit: Visit, *, now: datetime, day_0: datetime | None = None
    ) -> Written:
        """Write one row at the end; neither a bad row nor a bad setting stops it.

        Parameters
        ----------
        name : str
            Of the jar.
        visit : Visit
            What the row holds.
        now : datetime
            The moment of writing, aware.
        day_0 : datetime, optional
            Day 0, if its moment was given as a day number.

        Raises
        ------
        InputError
            If there is no such diary.
        DiaryError
            If the row cannot be written; the diary is then unchanged.
        """
        path, (before, faults) = self.path(name), self._before(name)
        line = writing.append(path, visit, pitched=day_0 or self._pitched(name))
        odd = doubts(before, visit, now=now, style=self._known.vessel(path.stem).style)
        return Written(line, visit, odd, (*faults, *open_told(path)))

    def extend(self, name: str, visits: Sequence[Visit], *, held: Sequence[Visit]) -> Extended:
        """Write many rows at once or none; starts the diary if there is none.

        Parameters
        ----------
        name : str
            Of the jar.
        visits : sequence of Visit
            What the rows hold.
        held : sequence of Visit
            What the diary had when they were chosen, so that none is written twice.

        Raises
        ------
        ConfigError
            If the settings cannot be read.
        DiaryError
            If the diary has changed since, or cannot be written; then it is unchanged.
        """
        path, known = self.path(name), self.settings
        line = writing.extend(path, visits, held=held, pitched=known.vessel(path.stem).pitched)
        return Extended(line, open_told(path))

    def strike(
        self, name: str, lines: Sequence[int], *, at: datetime, back: bool = False
    ) -> Struck:
        """Mark rows as mistakes that no longer count, or let them count again.

        Parameters
        ----------
        name : str
            Of the jar.
        lines : sequence of int
            Lines on which the rows start; the header is 1. A bad one stops all of them.
        at : datetime
            The moment of it, aware.
        back : bool
            Whether to undo striking.

        Raises
        ------
        BubbleRateError
            If there is no such diary, or `striking` refuses one of them.
        """
        self.check_there(name)
        path, mark = self.path(name), striking.take_back if back else striking.strike
        live = {visit.line for visit in read(path).live}
        # a line to be refused comes first, before any row is changed
        in_turn = sorted({*lines}, key=lambda line: ((line in live) is not back, line))
        visits = tuple(mark(path, line, at=at) for line in in_turn)
        return Struck(visits, open_told(path))

    def _pitched(self, name: str) -> datetime | None:
        """When the settings say that a jar was pitched, if they can be read."""
        return self._known.vessel(self.path(name).stem).pitched

    def _before(self, name: str) -> tuple[Diary, tuple[Notice, ...]]:
        """What a diary has, or nothing if it or its settings have a fault, which is told."""
        path = self.path(name)
        try:
            told = tuple(map(fault_told, self.settings.faults.get(path.stem, ())))
            return read(path, pitched=self._pitched(name)), told
        except BubbleRateError as err:
            self.check_there(name)
            return Diary(path=path, vessel=path.stem, visits=()), (fault_told(str(err)),)


def shelf_at(folder: Path) -> Shelf:
    """Make the shelf of a folder, which need not exist yet, and read its settings."""
    try:
        return Shelf(folder=folder, said=settings(folder))
    except ConfigError as err:
        return Shelf(folder=folder, said=err)


def placed(vessel: str, folder: Path | None) -> tuple[Shelf, str]:
    """Find the shelf of a jar, and its name there.

    Parameters
    ----------
    vessel : str
        Its name, or the path of its diary, which ends in .csv and needs no `folder`.
    folder : Path or None
        The shelf; see `places.shelf_folder`.

    Returns
    -------
    shelf, name : Shelf and str

    Raises
    ------
    InputError
        If no diary can have that name, or `folder` is not a folder.
    """
    path = diary_path(vessel, folder)
    return shelf_at(path.parent), path.name if vessel.lower().endswith(SUFFIX) else vessel
