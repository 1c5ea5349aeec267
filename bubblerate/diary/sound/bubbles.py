"""Counts the bubbles in a sound file of an airlock, or says why it cannot.

Pulses from a clock, from talk and from plain clicks are left out. Of the rest, those close together
are one bubble. Times are in seconds from the start, levels in decibels.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincinv

from ...text import percent
from .files import opened
from .pulses import Meter, pulses

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["Heard", "listen"]

Floats = NDArray[np.float64]

# What makes a pulse a bubble. Chosen on simulated sounds, since there is no source.
_RISE_S, _WIDTH_S, _CROWD = 0.02, 0.08, 0.5  # talk starts slowly, lasts, and never comes alone
_TONAL = 0.35  # a plain click spreads over all pitches
_EDGE_S = 0.1  # seconds at the start of the file that are not used
_TALK_S, _SYLLABLES = 0.75, 2  # this close to this many sounds like talk, no pulse counts
_DEAD_S = 0.4  # pulses no further apart are one bubble; common practice, no source

# What makes a clock.
_BEAT_S, _BEAT_SLACK_S = (0.15, 2.6), 0.008
_BEATS, _PARTNERS = 10, 4  # fewer are chance; share of the eight beats around one
_BIN_S, _ABOUT = 0.004, 0.75

# When the answer is unreliable.
_SHORTEST_S = 20.0
_FAINTEST = 3e-4  # loudest sample
_FULL_SHARE = 1e-4  # share of the samples that may be at full scale
_CLEAR_DB, _CLEAR_SHARE = 3.0, 0.8  # to spare, and over all pitches together; share of the bubbles
_COVERED_SHARE = 0.2
_CLOSE_SHARE = 0.2  # share of gaps that may be shorter than 1.5 dead times
_BESIDE_CLOCK = 0.05  # bubbles to each beat
_IN_STEP = 7.0  # n R^2 of the phases by the clock: one in a thousand by chance (Rayleigh test)
_STRICT_SHARE = 0.7  # share of gaps that may be as equal as a clock's
_OTHERS = 0.5  # sounds set aside for each bubble
_COVERAGE = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """What a sound file tells about an airlock.

    Attributes
    ----------
    bubbles : int
        Bubbles heard.
    seconds : float
        Length of the sound file [s].
    per_min, low80, high80 : float
        Bubbles a minute, and the exact Poisson interval that holds the true rate four times out of
        five. It covers chance only, not bubbles misheard.
    onsets_s : tuple of float
        Start of each bubble [s from the start].
    trusted : bool
        Whether the count can be used as it is.
    why : str
        Why it is not trusted, as a sentence; empty if it can be trusted.
    """

    bubbles: int
    seconds: float
    per_min: float
    low80: float
    high80: float
    onsets_s: tuple[float, ...]
    trusted: bool
    why: str


def listen(path: Path | str, *, block_s: float = 1.0) -> Heard:
    """Count the bubbles in a sound file of an airlock.

    Parameters
    ----------
    path : Path or str
        As for `files.opened`: WAV, FLAC, Ogg Vorbis, Ogg Opus or MP3.
    block_s : float
        Length of the blocks in which it is read [s]; the answer does not depend on it.

    Returns
    -------
    Heard

    Raises
    ------
    InputError
        If the file is no such sound.

    Notes
    -----
    Limits of the rate by Garwood [1]_.

    References
    ----------
    .. [1] F. Garwood, "Fiducial limits for the Poisson distribution", Biometrika 28 (1936).
    """
    sound, meter = opened(path), Meter()
    found = pulses(sound, meter, block_s=block_s)
    beat, beat_s = _clockwork(found.at_s)
    clear = (found.spare_db >= 0.0) & ~beat
    brief = (found.rise_s <= _RISE_S) & (found.width_s <= _WIDTH_S) & (found.crowd <= _CROWD)
    ringing = found.tonal >= _TONAL
    talk_s = found.at_s[clear & ringing & ~brief]
    alone = _count_within(talk_s, found.at_s, _TALK_S) < _SYLLABLES
    # a hum that starts with the file rings in the filters like a bell
    taken = clear & ringing & brief & alone & (found.at_s >= _EDGE_S)
    at_s = found.at_s[taken]
    begins = _begins(at_s)
    standing_db = np.minimum(found.spare_db, found.plain_db)[taken]
    why = _doubt(
        seconds=sound.seconds,
        meter=meter,
        onsets_s=at_s[begins],
        gaps_s=at_s[begins[1:]] - at_s[begins[1:] - 1],
        standing_db=np.maximum.reduceat(standing_db, begins) if len(begins) else standing_db,
        others_s=_others_s(found.at_s[clear & ~taken], at_s),
        covered_s=float(np.minimum(np.diff(talk_s, append=np.inf), 2.0 * _TALK_S).sum()),
        beats_s=found.at_s[beat],
        beat_s=beat_s,
    )
    n, minutes, tail = len(begins), sound.seconds / 60.0, (1.0 - _COVERAGE) / 2.0
    return Heard(
        bubbles=n,
        seconds=sound.seconds,
        per_min=n / minutes,
        low80=float(gammaincinv(n, tail)) / minutes if n else 0.0,
        high80=float(gammaincinv(n + 1, 1.0 - tail)) / minutes,
        onsets_s=tuple(round(float(t), 3) for t in at_s[begins]),
        trusted=not why,
        why=why,
    )


def _begins(at_s: Floats) -> NDArray[np.intp]:
    """Find where in a series of pulses each bubble begins."""
    return np.flatnonzero(np.diff(at_s, prepend=-np.inf) > _DEAD_S)


def _others_s(at_s: Floats, taken_s: Floats) -> Floats:
    """Start of each sound that was left out, without those within a bubble."""
    apart = at_s[_count_within(taken_s, at_s, _DEAD_S) == 0]
    return np.asarray(apart[_begins(apart)])


def _clockwork(at_s: Floats) -> tuple[NDArray[np.bool_], float]:
    """Find pulses that are beats of a clock, and its period [s] (of the last, if several)."""
    beat, period_s = np.zeros(len(at_s), bool), 0.0
    low, high = _BEAT_S
    while True:
        rest = at_s[~beat]
        lags = [rest[k:] - rest[:-k] for k in range(1, min(40, len(rest)))]
        lag = np.concatenate([*lags, np.zeros(0)])
        lag = lag[(lag > low) & (lag < high)]
        count, edge = np.histogram(lag, round((high - low) / _BIN_S), _BEAT_S)
        often = np.convolve(count, np.ones(3), "same")
        # its multiples are about as frequent: the shortest is the beat
        top = edge[np.argmax(often >= _ABOUT * often.max())] + _BIN_S / 2
        near = lag[np.abs(lag - top) < _BEAT_SLACK_S]
        if len(near) < _BEATS:
            return beat, period_s
        period = float(np.median(near))
        there = [
            _count_within(rest, rest + k * period, _BEAT_SLACK_S) > 0 for k in range(-4, 5) if k
        ]
        on = np.sum(there, axis=0) >= _PARTNERS
        if on.sum() < _BEATS:
            return beat, period_s
        beat[np.flatnonzero(~beat)[on]] = True
        period_s = period


def _count_within(times_s: Floats, at_s: Floats, reach_s: float) -> NDArray[np.intp]:
    """Count how many sorted times are this near to each of some others."""
    return np.searchsorted(times_s, at_s + reach_s) - np.searchsorted(times_s, at_s - reach_s)


def _in_step(onsets_s: Floats, beats_s: Floats, beat_s: float) -> bool:
    """Whether bubbles keep time with a clock, as parts of its sound would."""
    if not len(beats_s) or not len(onsets_s):
        return False
    last = beats_s[np.maximum(np.searchsorted(beats_s, onsets_s) - 1, 0)]
    phase = np.exp(2j * np.pi * (onsets_s - last) / beat_s)
    return bool(len(phase) * np.abs(phase.mean()) ** 2 > _IN_STEP)


def _doubt(
    *,
    seconds: float,
    meter: Meter,
    onsets_s: Floats,
    gaps_s: Floats,
    standing_db: Floats,
    others_s: Floats,
    covered_s: float,
    beats_s: Floats,
    beat_s: float,
) -> str:
    """Why the count is unreliable, as a sentence; empty if it can be trusted."""
    n, spacing_s = len(onsets_s), np.diff(onsets_s)
    if seconds < _SHORTEST_S:
        return f"It lasts {seconds:.0f} s; record at least {_SHORTEST_S:.0f} s, better 5 minutes."
    if meter.loudest < _FAINTEST:
        return "It is almost silent; lay the phone against the airlock."
    if meter.full > _FULL_SHARE * meter.samples:
        return "It is too loud and distorted; move the phone away a little."
    if covered_s > _COVERED_SHARE * seconds:
        return (
            "Talk, music or bubbles too fast to tell apart cover "
            f"{percent(covered_s / seconds)} of it; "
            "record in quiet, or count by eye."
        )
    if n < _BESIDE_CLOCK * len(beats_s) or _in_step(onsets_s, beats_s, beat_s):
        return f"What it heard ticks like a clock, every {beat_s:.2f} s; count by eye."
    if not n:
        return "No bubble stands out, but the phone may have been too far away; count by eye."
    if np.sum(standing_db >= _CLEAR_DB) < _CLEAR_SHARE * n:
        return "The bubbles hardly stand out from the noise; lay the phone closer to the airlock."
    if len(others_s) > _OTHERS * n:
        return (
            f"There are {len(others_s)} other sounds that are not clearly bubbles; record in "
            "quiet, or count by eye."
        )
    if n >= _BEATS:
        usual_s = float(np.median(spacing_s))
        if np.mean(np.abs(spacing_s - usual_s) < _BEAT_SLACK_S) > _STRICT_SHARE:
            return f"What it heard comes exactly every {usual_s:.2f} s, which no airlock does."
        if np.mean(gaps_s < 1.5 * _DEAD_S) > _CLOSE_SHARE:
            return (
                "The bubbles come too fast to tell apart; count again when they have slowed down."
            )
    return ""
