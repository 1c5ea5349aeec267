"""Keeps judgements in memory until a diary or the settings change."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from threading import Lock
from typing import TYPE_CHECKING, Final

from ..course.days import evening_of
from ..diary.folder import Unread, unshowable
from ..diary.places import SUFFIX
from ..diary.settings_file import FILE_NAME
from ..errors import BubbleRateError, ConfigError
from .faults import told_fault

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from ..course.judgement import Judgement
    from ..diary.shelf import Shelf
    from .views import JarView

__all__ = ["PICTURE_CM", "Judgements"]

_FRESH: Final = timedelta(minutes=10)  # in which nothing on a screen moves by more than a digit
PICTURE_CM: Final = 9.0  # readable on a phone

Mark = tuple[tuple[int, int, int] | None, ...]


@dataclass(slots=True, kw_only=True)
class _Kept:
    """A judgement, from which files and when; and its page and picture once made."""

    mark: Mark
    at: datetime
    found: Judgement | Unread
    view: JarView | None = None
    picture: bytes | None = None


class Judgements:
    """Judges the jars of a shelf, each again only if something changed."""

    def __init__(self) -> None:
        self._kept: dict[str, _Kept] = {}
        self._judging = Lock()
        self._drawing = Lock()  # the drawing library has settings shared by all threads

    def of(self, shelf: Shelf, jar: str, *, at: datetime) -> Judgement | Unread:
        """Judge a jar as of now, or say why it cannot be judged.

        Parameters
        ----------
        shelf : Shelf
        jar : str
            Name of the jar.
        at : datetime
            Now, aware.

        Returns
        -------
        Judgement or Unread
        """
        return self._of(shelf, jar, at).found

    def all(self, shelf: Shelf, *, at: datetime) -> list[Judgement | Unread]:
        """Judge every jar of a shelf by name; jars that are gone are forgotten."""
        jars = shelf.names()
        for gone in {*self._kept} - {*jars}:
            self._kept.pop(gone, None)
        return [self.of(shelf, jar, at=at) for jar in jars]

    def view(self, shelf: Shelf, jar: str, *, at: datetime) -> JarView:
        """A jar as its page shows it."""
        from .views import jar_view

        kept = self._of(shelf, jar, at)
        with self._judging:
            if kept.view is None:
                known = None if isinstance(shelf.said, ConfigError) else shelf.said
                kept.view = jar_view(jar, kept.found, settings=known)
            return kept.view

    def picture(self, shelf: Shelf, jar: str, *, at: datetime) -> bytes | None:
        """Picture of a jar as SVG; None if it cannot be judged."""
        kept = self._of(shelf, jar, at)
        if isinstance(kept.found, Unread):
            return None
        from ..show.pictures.tail import tail_picture

        with self._drawing:
            if kept.picture is None:
                kept.picture = tail_picture(kept.found, "svg", axis="log", width_cm=PICTURE_CM)
            return kept.picture

    def _of(self, shelf: Shelf, jar: str, at: datetime) -> _Kept:
        with self._judging:  # else two phones would have the same jar judged twice
            mark = _mark(shelf, jar)
            kept = self._kept.get(jar)
            if kept is None or kept.mark != mark or not _fresh(kept.at, at):
                kept = _Kept(mark=mark, at=at, found=_found(shelf, jar, at))
                self._kept[jar] = kept
            return kept


def _found(shelf: Shelf, jar: str, at: datetime) -> Judgement | Unread:
    from ..course.judgement import judge  # heavy libraries, loaded after the address is printed

    if unread := unshowable(jar):
        return unread
    try:
        known = shelf.open(f"{jar}{SUFFIX}")
        return judge(known.diary, at=at, settings=known.settings)
    except BubbleRateError as err:
        return Unread(vessel=jar, error=str(err))
    except Exception as err:  # noqa: BLE001 - a fault of ours in one jar must not stop the others
        return Unread(vessel=jar, error=told_fault(jar, err))


def _fresh(then: datetime, now: datetime) -> bool:
    return timedelta(0) <= now - then < _FRESH and evening_of(then) == evening_of(now)


def _mark(shelf: Shelf, jar: str) -> Mark:
    """What changes with every save of the diary or of the settings."""
    return tuple(_saved(path) for path in (shelf.path(f"{jar}{SUFFIX}"), shelf.folder / FILE_NAME))


def _saved(path: Path) -> tuple[int, int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_ino, found.st_size, found.st_mtime_ns
