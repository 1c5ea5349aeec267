"""A sound file of any kind that can be read, told by its first bytes and not by its name."""

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
    """Look at the head of a sound file.

    Parameters
    ----------
    path : Path or str
        WAV as `wav.opened` takes it; or FLAC, Ogg Vorbis, Ogg Opus or MP3.

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
    """Samples of a sound, a block at a time, as `wav.blocks` gives them."""
    if isinstance(sound, codecs.Coded):
        return codecs.blocks(sound, seconds=seconds)
    return wav.blocks(sound, seconds=seconds)


def _head(path: Path) -> bytes:
    """First bytes of a file; none of what is not a file, or cannot be read."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            return b""
        with path.open("rb") as file:
            return file.read(12)
    except (OSError, ValueError):  # whoever opens it says what is wrong
        return b""
