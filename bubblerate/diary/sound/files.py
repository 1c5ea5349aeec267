"""Opens a sound file of any readable kind, recognised by its first bytes, not its name."""

from __future__ import annotations

import stat
from pathlib import Path
from typing import TYPE_CHECKING

from . import codecs, wav

if TYPE_CHECKING:
    from collections.abc import Iterator

    from .wav import Floats

    Sound = wav.Sound | codecs.Coded

__all__ = ["blocks", "opened"]


def opened(path: Path | str) -> Sound:
    """Read the header of a sound file.

    Parameters
    ----------
    path : Path or str
        WAV as for `wav.opened`; or FLAC, Ogg Vorbis, Ogg Opus or MP3.

    Returns
    -------
    Sound

    Raises
    ------
    InputError
        If the file is no such sound.
    """
    path = Path(path)
    return codecs.opened(path) if codecs.is_coded(_head(path)) else wav.opened(path)


def blocks(sound: Sound, *, seconds: float = 1.0) -> Iterator[Floats]:
    """Give the samples of a sound, a block at a time, like `wav.blocks`."""
    if isinstance(sound, codecs.Coded):
        return codecs.blocks(sound, seconds=seconds)
    return wav.blocks(sound, seconds=seconds)


def _head(path: Path) -> bytes:
    """First bytes of a file; none if it is no file or cannot be read."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            return b""
        with path.open("rb") as file:
            return file.read(12)
    except (OSError, ValueError):  # the reader says what is wrong
        return b""
