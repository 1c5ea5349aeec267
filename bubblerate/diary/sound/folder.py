"""Counts bubbles in all sound files of a folder, and finds when each was recorded."""

from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

from ...errors import InputError
from .bubbles import Heard, listen

__all__ = ["Recording", "began", "recordings"]

_ENDINGS = {
    *(".wav", ".wave", ".flac", ".ogg", ".oga", ".opus", ".mp3"),
    *(".m4a", ".aac", ".wma", ".amr", ".3gp", ".caf"),
}


class Recording(NamedTuple):
    """One sound file: its path, what was heard or why nothing was, and when it was saved."""

    path: Path
    heard: Heard | None
    fault: str
    saved: datetime


def recordings(folder: Path) -> tuple[Recording, ...]:
    """Listen to each sound file of a folder, in order of their names.

    Parameters
    ----------
    folder : Path
        Files of other kinds in it, and folders, are skipped.

    Returns
    -------
    tuple of Recording
        At least one.

    Raises
    ------
    InputError
        If the folder cannot be read, or has no sound file.
    """
    try:
        paths = sorted(path for path in folder.iterdir() if path.suffix.lower() in _ENDINGS)
    except OSError as err:
        raise InputError(f"{folder.name}: cannot be read: {err.strerror or err}") from err
    if not paths:
        raise InputError(f"{folder.name}: is a folder without sound files; name one that has some")
    return tuple(_recording(path) for path in paths)


def began(some: tuple[Recording, ...]) -> dict[Path, datetime]:
    """Work out when each recording began, from when it was saved.

    Raises
    ------
    InputError
        If two overlap: then they were copied, and have the times of copying.
    """
    heard = [
        (one, one.saved - timedelta(seconds=round(one.heard.seconds))) for one in some if one.heard
    ]
    heard.sort(key=lambda one: one[1])
    for (before, _), (after, start) in pairwise(heard):
        if start < before.saved:
            raise InputError(
                f"{before.path.name} and {after.path.name} seem to overlap, so these files have "
                "the times of a copy; write each one down by itself, with --when"
            )
    return {one.path: start for one, start in heard}


def _recording(path: Path) -> Recording:
    heard, fault = None, ""
    try:
        heard = listen(path)
        saved_s = int(path.stat().st_mtime)
    except InputError as err:
        saved_s, fault = 0, str(err)
    except OSError as err:
        saved_s, fault = 0, f"{path.name}: cannot be read: {err.strerror or err}"
    return Recording(path, heard, fault, datetime.fromtimestamp(saved_s).astimezone())
