"""Reads FLAC, Ogg Vorbis, Ogg Opus and MP3 files in blocks, with a library that is an extra.

Samples are floats with full scale at 1, time first, channels last: shape (n, channels).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from ...errors import InputError
from ..hushed import hushed
from .wav import checked, refuse_form, refuse_length, unreadable

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from .wav import Floats

__all__ = ["Coded", "blocks", "is_coded", "opened"]

_SLACK_S = 0.1  # share of the length in the header that coders cut off or add


@dataclass(frozen=True, slots=True, kw_only=True)
class Coded:
    """A compressed sound file that can be read; made by `opened`."""

    path: Path
    rate_hz: int
    channels: int
    frames: int  # samples per channel

    @property
    def seconds(self) -> float:
        """Length [s]."""
        return self.frames / self.rate_hz


def is_coded(head: bytes) -> bool:
    """Whether the first bytes of a file show FLAC, Ogg, or MPEG layer III with or without a tag."""
    layer_3 = head[:1] == b"\xff" and len(head) > 1 and head[1] & 0xE6 == 0xE2
    return head[:4] in (b"fLaC", b"OggS") or head[:3] == b"ID3" or layer_3


def opened(path: Path) -> Coded:
    """Read the header of a compressed sound file.

    Parameters
    ----------
    path : Path
        8 to 192 kHz, mono or stereo.

    Returns
    -------
    Coded

    Raises
    ------
    InputError
        If the file is no such sound, or its library is not installed.
    """
    soundfile = _library(path)
    try:
        with hushed(), soundfile.SoundFile(path) as file:
            form = (file.channels, file.samplerate, file.frames)
    except (soundfile.SoundFileError, OSError) as err:
        raise _torn(path) from err
    channels, rate_hz, frames = form
    refuse_form(path, channels, rate_hz)
    refuse_length(path, frames, rate_hz)
    return Coded(path=path, rate_hz=rate_hz, channels=channels, frames=frames)


def blocks(sound: Coded, *, seconds: float = 1.0) -> Iterator[Floats]:
    """Samples of a sound, a block at a time.

    Parameters
    ----------
    sound : Coded
    seconds : float
        Length of a block [s]; the last may be shorter.

    Yields
    ------
    ndarray, shape (n, channels)

    Raises
    ------
    InputError
        If the file can no longer be read, or has less or more than its header says.
    """
    soundfile = _library(sound.path)
    step, read = max(1, round(seconds * sound.rate_hz)), 0
    try:
        with hushed():
            file = soundfile.SoundFile(sound.path)
        with file:
            while len(block := _block(file, step)):
                read += len(block)
                yield checked(sound.path, block)
    except (soundfile.SoundFileError, OSError) as err:
        raise _torn(sound.path) from err
    if abs(read - sound.frames) > _SLACK_S * sound.rate_hz:
        raise InputError(
            f"{sound.path.name}: its header promises {sound.seconds:.1f} s of sound and "
            f"{read / sound.rate_hz:.1f} s are there; copy it from the phone again"
        )


def _block(file: Any, step: int) -> Floats:
    with hushed():
        return np.asarray(file.read(step, dtype="float64", always_2d=True))


def _library(path: Path) -> Any:
    try:
        import soundfile
    except (ImportError, OSError) as err:  # OSError: it is there, and what it wraps is not
        raise InputError(
            f"{path.name}: is compressed sound; to read it, install soundfile "
            '(pip install "bubblerate[sound]"), or export it as WAV'
        ) from err
    return soundfile


def _torn(path: Path) -> InputError:
    try:
        path.open("rb").close()
    except OSError as err:
        return unreadable(path, err)
    return InputError(
        f"{path.name}: is compressed sound, damaged or of an unknown kind; copy it from the phone "
        "again, or export it as WAV"
    )
