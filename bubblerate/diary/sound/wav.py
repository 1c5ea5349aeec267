"""Reads WAV files in blocks, so that a long one needs no more memory.

Samples are floats with full scale at 1, time first, channels last: shape (n, channels).
"""

from __future__ import annotations

import stat
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

import numpy as np
from numpy.typing import NDArray

from ...errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = [
    "Floats",
    "Sound",
    "blocks",
    "checked",
    "opened",
    "refuse_form",
    "refuse_length",
    "unreadable",
]

Floats = NDArray[np.float64]

_PCM, _FLOAT, _EXTENSIBLE = 1, 3, 0xFFFE
_GUID_TAIL = bytes.fromhex("000000001000800000aa00389b71")  # of a subformat that is a plain format
_NEVER_FILLED_IN = (0, 0xFFFF_FFFF)  # sizes written by a recorder that was cut off or used a pipe
_RATES_HZ = (8_000, 192_000)
_LONGEST_SECONDS = 86_400.0
_MOST_CHUNKS = 64  # chunks before the sound; recorders write a few
_OTHER_KINDS = {".mp3", ".m4a", ".aac", ".ogg", ".opus", ".flac", ".wma", ".amr", ".3gp", ".caf"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Sound:
    """Where the samples of a WAV file are and how they are written; made by `opened`."""

    path: Path
    rate_hz: int
    channels: int
    bits: int  # bytes of a sample
    floating: bool
    start: int  # start of the samples [byte of the file]
    frames: int  # samples per channel

    @property
    def seconds(self) -> float:
        """Length [s]."""
        return self.frames / self.rate_hz


def opened(path: Path | str) -> Sound:
    """Read the header of a WAV file.

    Parameters
    ----------
    path : Path or str
        8 to 192 kHz, mono or stereo; PCM of 8, 16, 24 or 32 bits or floats of 32, with the plain or
        the extensible header. Sizes that were never filled in mean all there is.

    Returns
    -------
    Sound

    Raises
    ------
    InputError
        If the file is no such sound, or its header and its length disagree.
    """
    path = Path(path)
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise InputError(f"{path.name}: is not a sound file; name a sound file")
        size = path.stat().st_size
        with path.open("rb") as file:
            return _sound(path, file, size)
    except (OSError, ValueError) as err:  # ValueError: a NUL in the name
        raise unreadable(path, err) from err


def blocks(sound: Sound, *, seconds: float = 1.0) -> Iterator[Floats]:
    """Samples of a sound, a block at a time.

    Parameters
    ----------
    sound : Sound
    seconds : float
        Length of a block [s]; the last may be shorter.

    Yields
    ------
    ndarray, shape (n, channels)

    Raises
    ------
    InputError
        If the file can no longer be read, or has floats that are not numbers.
    """
    width = sound.channels * sound.bits // 8
    step, left = max(1, round(seconds * sound.rate_hz)), sound.frames
    try:
        with sound.path.open("rb") as file:
            file.seek(sound.start)
            while left:
                raw = file.read(min(step, left) * width)
                if len(raw) < min(step, left) * width:
                    raise InputError(f"{sound.path.name}: got shorter while it was being read")
                left -= len(raw) // width
                yield checked(sound.path, _samples(raw, sound).reshape(-1, sound.channels))
    except OSError as err:
        raise unreadable(sound.path, err) from err


def checked(path: Path, block: Floats) -> Floats:
    """Check that samples are sound: a float file may have anything in it.

    Raises
    ------
    InputError
        If their squares are not finite.
    """
    if not (np.abs(block) < 1e6).all():
        raise InputError(
            f"{path.name}: has samples that are not sound; export it again as 16-bit WAV"
        )
    return block


def refuse_form(path: Path, channels: int, rate_hz: int) -> None:
    """Refuse more than two channels, and rates that no recorder has.

    Raises
    ------
    InputError
    """
    if channels not in (1, 2):
        raise InputError(f"{path.name}: has {channels} channels; export it as mono or stereo")
    low, high = _RATES_HZ
    if not low <= rate_hz <= high:
        raise InputError(
            f"{path.name}: has {rate_hz} samples a second, not {low} to {high}; export it at 44100"
        )


def refuse_length(path: Path, frames: int, rate_hz: int) -> None:
    """Refuse a file with no sound, or with more than a day of it.

    Raises
    ------
    InputError
    """
    if not frames:
        raise InputError(f"{path.name}: holds no sound; record it again")
    if frames / rate_hz > _LONGEST_SECONDS:
        raise InputError(f"{path.name}: is longer than 24 hours; cut it into parts")


def unreadable(path: Path, err: Exception) -> InputError:
    """Give what the operating system says, in one line."""
    if isinstance(err, FileNotFoundError):
        return InputError(f"{path.name}: there is no such file; check the name")
    return InputError(f"{path.name}: cannot be read: {getattr(err, 'strerror', None) or err}")


def _sound(path: Path, file: BinaryIO, size: int) -> Sound:
    """Walk the chunks up to the samples."""
    head = file.read(12)
    if head[:4] != b"RIFF" or head[8:12] != b"WAVE":
        raise _no_wav(path, head)
    form = None
    for _ in range(_MOST_CHUNKS):
        name_size = file.read(8)
        if len(name_size) < 8:
            break
        name, length = name_size[:4], _whole(name_size, 4, 4)
        here = file.tell()
        if name == b"fmt ":
            form = _form(path, file.read(min(length, 40)))
        elif name == b"data":
            if form is None:
                break
            # an empty sound only if the size of the file was filled in
            empty = length == 0 and _whole(head, 4, 4) == size - 8
            cut_off = length in _NEVER_FILLED_IN and not empty
            return _checked(path, form, here, size - here if cut_off else length, size - here)
        file.seek(here + length + length % 2)
    raise InputError(f"{path.name}: has no sound in it; record or export it again")


def _form(path: Path, fmt: bytes) -> dict[str, Any]:
    """Read how samples are written, from the chunk `fmt`."""
    if len(fmt) < 16:
        raise InputError(f"{path.name}: its header is cut short; record or export it again")
    kind, channels, rate_hz = _whole(fmt, 0, 2), _whole(fmt, 2, 2), _whole(fmt, 4, 4)
    align, bits = _whole(fmt, 12, 2), _whole(fmt, 14, 2)
    if kind == _EXTENSIBLE and fmt[26:40] == _GUID_TAIL:
        kind = _whole(fmt, 24, 2)
    refuse_form(path, channels, rate_hz)
    if not ((kind == _PCM and bits in (8, 16, 24, 32)) or (kind == _FLOAT and bits == 32)):
        raise InputError(
            f"{path.name}: its samples are of {bits} bits in format {kind}, which is not read "
            "here; export it as 16-bit PCM"
        )
    if align != channels * bits // 8:
        raise InputError(f"{path.name}: its header contradicts itself; record or export it again")
    return {"channels": channels, "rate_hz": rate_hz, "bits": bits, "floating": kind == _FLOAT}


def _checked(path: Path, form: dict[str, Any], start: int, length: int, there: int) -> Sound:
    """Make a sound of that many bytes, which must be there."""
    if length > there:
        raise InputError(
            f"{path.name}: its header promises {length} bytes of sound and {there} are there; "
            "copy it from the phone again"
        )
    frames = length // (form["channels"] * form["bits"] // 8)
    refuse_length(path, frames, form["rate_hz"])
    return Sound(path=path, start=start, frames=frames, **form)


def _no_wav(path: Path, head: bytes) -> InputError:
    """Say how to turn other formats of phones into WAV."""
    compressed = path.suffix.lower() in _OTHER_KINDS or head[4:8] == b"ftyp"
    compressed |= head[:3] == b"ID3" or head[:4] in (b"OggS", b"fLaC")
    compressed |= head[:1] == b"\xff" and head[1:2] >= b"\xe0"  # a frame of MPEG sound
    if compressed:
        return InputError(
            f"{path.name}: is compressed sound; open it in any sound editor and export it as WAV, "
            f'or: ffmpeg -i "{path.name}" "{path.stem}-plain.wav"'
        )
    return InputError(
        f"{path.name}: is not a WAV file; open it in any sound editor and export it as WAV"
    )


def _samples(raw: bytes, sound: Sound) -> Floats:
    """Bytes as floats with full scale at 1."""
    if sound.floating:
        with np.errstate(invalid="ignore"):
            return np.frombuffer(raw, "<f4").astype(float)
    if sound.bits == 8:
        return (np.frombuffer(raw, "u1") - 128.0) / 128.0
    if sound.bits == 24:
        wide = np.zeros((len(raw) // 3, 4), np.uint8)
        wide[:, 1:] = np.frombuffer(raw, np.uint8).reshape(-1, 3)
        return np.asarray(wide.view("<i4")[:, 0] / 2.0**31)
    return np.frombuffer(raw, f"<i{sound.bits // 8}") / 2.0 ** (sound.bits - 1)


def _whole(data: bytes, start: int, size: int) -> int:
    return int.from_bytes(data[start : start + size], "little")
