"""Finds pulses that are louder than the usual sound of a room, at the pitch of bubbles.

A bubble that breaks off rings: a tone between 300 and 3000 Hz that starts at once and is gone
within tens of milliseconds. So the sound is cut into short overlapping frames, each pitch is
compared with its usual level, and what is louder is a pulse. Times are in seconds from the start,
levels in decibels, arrays have time first.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray
from scipy.signal import butter, ellip, find_peaks, peak_widths, sosfilt, sosfilt_zi

from .files import blocks, opened

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from .files import Sound

__all__ = ["BAND_HZ", "Meter", "Pulses", "loudness", "pulses"]

Floats = NDArray[np.float64]

BAND_HZ = (300.0, 3000.0)  # bubbles of 1 to 10 mm radius, after Minnaert 1933
_HUM_HZ = 220.0  # filter out everything below this before cutting frames
_PASSED_HZ = 3300.0  # filter out everything above this before dropping samples
_WORKING_HZ = 8000  # at least; enough for the band
_FRAME_S, _HOP_S = 0.016, 0.004  # as long as a bubble rings; a quarter of that
_STRETCH_S = 10.0  # seconds over which the usual level is taken
_MARGIN_S = 0.8  # seconds of its neighbours, so that a pulse is complete
_LEAST_POWER = 1e-12  # power per pitch that rounding to 16 bits leaves
_FULL = 0.99  # share of full scale that clipped samples reach

# What makes a pulse. Chosen on simulated sounds, since there is no source.
_LEAST_OVER_DB, _SPREADS = 6.0, 5.5  # above the usual level: the larger, the second in spreads
_FAINT_DB = 2.0  # a faint one needs this much less; it may reveal a clock
_APART_S, _DIP_DB = 0.02, 6.0  # between two pulses
_ECHO_S, _ECHO_DB = 0.3, 15.0  # after a pulse, and below it: only its echo
_CROWD_S, _CROWD_DB = 1.2, 15.0  # seconds around a pulse, and how much fainter sounds still count
_FEET_DB = 10.0  # below its peak
_SIDE_S = 0.25  # seconds searched for the feet of a pulse


@dataclass(slots=True)
class Meter:
    """Watches samples as they pass: the loudest, how many, how many at full scale."""

    loudest: float = 0.0
    samples: int = 0
    full: int = 0

    def watch(self, block: Floats) -> None:
        """Take note of a block."""
        size = np.abs(block)
        self.loudest = max(self.loudest, float(size.max()))
        self.samples += size.size
        self.full += int(np.count_nonzero(size >= _FULL))


@dataclass(frozen=True, slots=True, kw_only=True)
class Pulses:
    """The pulses, one entry each, in order of time.

    Attributes
    ----------
    at_s : ndarray, shape (n,)
        When each began [s].
    spare_db : ndarray, shape (n,)
        Level above what its stretch needs for a pulse [dB]; a little below 0 for a faint one.
    plain_db : ndarray, shape (n,)
        Power of the pulse over the usual power of all pitches together [dB].
    rise_s, width_s : ndarray, shape (n,)
        From its foot to its peak, and from foot to foot [s].
    tonal : ndarray, shape (n,)
        Share of its power in its strongest pitch.
    crowd : ndarray, shape (n,)
        Share of the second around it that is about as loud.
    """

    at_s: Floats
    spare_db: Floats
    plain_db: Floats
    rise_s: Floats
    width_s: Floats
    tonal: Floats
    crowd: Floats


def pulses(sound: Sound, meter: Meter, *, block_s: float = 1.0) -> Pulses:
    """Find the pulses of a whole sound file, without echoes, with faint ones.

    Parameters
    ----------
    sound : Sound
    meter : Meter
        Sees every sample on the way.
    block_s : float
        Length of the blocks in which the file is read [s]; the answer does not depend on it.

    Returns
    -------
    Pulses

    Notes
    -----
    A pulse is above the usual level of its ten seconds by 5.5 robust spreads (from the median
    absolute deviation) and by 6 dB, in at least one pitch.
    """
    hop_s = _hop_s(sound)
    names = [field.name for field in fields(Pulses)]
    parts = [Pulses(**dict.fromkeys(names, np.zeros(0)))]
    parts += [_standing_out(*one, hop_s) for one in _stretches(sound, meter, block_s, hop_s)]
    whole = {name: np.concatenate([getattr(part, name) for part in parts]) for name in names}
    order = np.argsort(whole["at_s"], kind="stable")
    return Pulses(**{name: values[order] for name, values in whole.items()})


def loudness(path: Path | str, *, points: int = 2000) -> tuple[Floats, Floats]:
    """Work out the loudness of a sound file at the pitch of bubbles, for a picture.

    Parameters
    ----------
    path : Path or str
        As `files.opened` takes it.
    points : int
        About how many there may be.

    Returns
    -------
    at_s, level_db : ndarray, shape (n,)
        Time from the start [s], and the loudest frame around it [dB of full scale].

    Raises
    ------
    InputError
        If the file is no such sound.
    """
    sound = opened(path)
    hop_s = _hop_s(sound)
    each = max(1, int(sound.seconds / hop_s) // points)
    levels = [power.sum(axis=1) for power in _power(sound, Meter(), 1.0)]
    level = np.concatenate([*levels, np.zeros(0)])
    level = level[: len(level) // each * each].reshape(-1, each).max(axis=1, initial=0.0)
    at_s = (np.arange(len(level)) + 0.5) * each * hop_s + _FRAME_S / 2
    return at_s.astype(float), np.asarray(10.0 * np.log10(level + _LEAST_POWER))


def _rate_hz(sound: Sound) -> float:
    """Sampling rate used."""
    return sound.rate_hz / (sound.rate_hz // _WORKING_HZ)


def _hop_s(sound: Sound) -> float:
    """Time from frame to frame, a whole number of samples."""
    return round(_HOP_S * _rate_hz(sound)) / _rate_hz(sound)


def _narrow(sound: Sound, meter: Meter, block_s: float) -> Iterator[Floats]:
    """Blocks filtered to the band, at a rate just high enough for it; shape (n, channels)."""
    every = sound.rate_hz // _WORKING_HZ
    high = butter(4, _HUM_HZ, "highpass", fs=_rate_hz(sound), output="sos")
    low = ellip(8, 0.1, 60.0, _PASSED_HZ, fs=sound.rate_hz, output="sos")
    high_state = low_state = None  # then started at rest, so that nothing clicks
    skip = 0
    for block in blocks(sound, seconds=block_s):
        meter.watch(block)
        kept = block
        if every > 1:
            if low_state is None:
                low_state = sosfilt_zi(low)[:, :, None] * block[0]
            passed, low_state = sosfilt(low, block, axis=0, zi=low_state)
            kept = passed[skip::every]
            skip = (skip - len(block)) % every
        if len(kept):
            if high_state is None:
                high_state = sosfilt_zi(high)[:, :, None] * kept[0]
            kept, high_state = sosfilt(high, kept, axis=0, zi=high_state)
            yield kept


def _power(sound: Sound, meter: Meter, block_s: float) -> Iterator[Floats]:
    """Power by frame and pitch, channels summed; shape (frames, pitches)."""
    rate = _rate_hz(sound)
    n, hop = round(_FRAME_S * rate), round(_HOP_S * rate)
    window = np.hanning(n)
    band = slice(*np.searchsorted(np.fft.rfftfreq(n, 1.0 / rate), BAND_HZ))
    scale = 2.0 / (n * np.sum(window**2))  # so that the pitches add up to the mean square
    rest = np.zeros((0, sound.channels))
    for block in _narrow(sound, meter, block_s):
        rest = np.concatenate([rest, block])
        count = (len(rest) - n) // hop + 1
        if count > 0:
            frames = sliding_window_view(rest, n, axis=0)[: count * hop : hop]
            spectrum = np.fft.rfft(frames * window)[:, :, band]  # (frames, channels, pitches)
            yield scale * np.sum(np.abs(spectrum) ** 2, axis=1)
            rest = rest[count * hop :]


def _stretches(
    sound: Sound, meter: Meter, block_s: float, hop_s: float
) -> Iterator[tuple[int, slice, Floats]]:
    """For each stretch: first frame, its own frames, and its power with margins.

    Stretches are at fixed times, so that the blocks used in reading do not matter.
    """
    length, margin = round(_STRETCH_S / hop_s), round(_MARGIN_S / hop_s)
    first = start = 0
    held: Floats | None = None
    for power in _power(sound, meter, block_s):
        held = power if held is None else np.concatenate([held, power])
        while first + len(held) >= start + 2 * length + margin:  # so that the last is not short
            own = slice(start - first, start - first + length)
            yield first, own, held[: own.stop + margin]
            start += length
            held = held[start - margin - first :]
            first = start - margin
    if held is not None:
        yield first, slice(start - first, len(held)), held


def _standing_out(first: int, own: slice, power: Floats, hop_s: float) -> Pulses:
    """Find the pulses of one stretch."""
    floor = np.median(power, axis=0) + _LEAST_POWER
    level = 10.0 * np.log10((power / floor).max(axis=1) + 1e-3)
    usual = np.median(level)
    asked = max(_LEAST_OVER_DB, _SPREADS * 1.4826 * float(np.median(np.abs(level - usual))))
    reach, before = round(_CROWD_S / 2 / hop_s), round(_ECHO_S / hop_s)
    over = np.pad(level - usual, reach)
    peaks, _ = find_peaks(
        over, height=asked - _FAINT_DB, distance=round(_APART_S / hop_s), prominence=_DIP_DB
    )
    peaks = peaks[(peaks >= own.start + reach) & (peaks < own.stop + reach)]
    around = sliding_window_view(over, 2 * reach + 1)[peaks - reach]  # (peaks, frames)
    echoes = around[:, reach - before : reach].max(axis=1) >= over[peaks] + _ECHO_DB
    peaks, around = peaks[~echoes], around[~echoes]
    feet = np.minimum(_FEET_DB, 0.7 * over[peaks])  # a faint one has its feet in the noise
    side = round(_SIDE_S / hop_s)
    ends = np.clip([peaks - side, peaks + side], 0, len(over) - 1)
    width, _, left, _ = peak_widths(over, peaks, rel_height=1.0, prominence_data=(feet, *ends))
    frames = np.minimum(peaks[:, None] - reach + np.arange(3), len(power) - 1)
    extra = np.maximum(power[frames] - floor, 0.0).sum(axis=1)  # (peaks, pitches)
    lobe = extra[:, :-2] + extra[:, 1:-1] + extra[:, 2:]  # a pure tone fills three pitches
    bar = np.maximum(over[peaks] - _CROWD_DB, asked - _FAINT_DB)
    return Pulses(
        at_s=(left - reach + first) * hop_s + _FRAME_S / 2,
        spare_db=over[peaks] - asked,
        plain_db=10.0 * np.log10(extra.sum(axis=1) / (3.0 * floor.sum())),
        rise_s=(peaks - left) * hop_s,
        width_s=width * hop_s,
        tonal=lobe.max(axis=1) / extra.sum(axis=1),
        crowd=np.mean(around > bar[:, None], axis=1),
    )
