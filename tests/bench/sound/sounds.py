"""Simulated sounds of an airlock and its room, to test listening.

A bubble rings at its Minnaert frequency and dies away by the damping below; its pitch may rise as
it nears the surface, a gulp of the airlock is a cluster of such rings, the room adds an echo.
Nothing here was recorded: a real airlock also has plastic that rattles and foam that hisses.
Samples are floats with full scale at 1; everything follows from the generator handed in.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, fftconvolve, lfilter, sosfilt

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

Floats = NDArray[np.float64]
LEVEL = 0.1  # peak of a usual bubble


def minnaert_hz(
    radius_m: float,
    *,
    pressure_pa: float = 101_325.0,
    density_kg_m3: float = 998.2067,
    gamma: float = 1.30,
) -> float:
    """Pitch of a bubble, M. Minnaert, Phil. Mag. 16 (1933) 235; gamma of CO2 from memory."""
    speed = np.sqrt(3.0 * gamma * pressure_pa / density_kg_m3) / (2.0 * np.pi)
    return float(speed / radius_m)


def damping_per_s(radius_m: float) -> float:
    """Decay of the amplitude [1/s] by radiation and heat, K. van den Doel 2005 (from memory)."""
    return 0.13 / radius_m + 0.0072 * radius_m**-1.5


def ring(radius_m: float, rate_hz: int, *, rise: float = 0.0) -> Floats:
    """One bubble of peak 1; a `rise` of 0.1 is a pitch that climbs by a tenth as it dies away."""
    d = damping_per_s(radius_m)
    t = np.arange(int(min(0.25, 8.0 / d) * rate_hz)) / rate_hz
    phase = 2.0 * np.pi * minnaert_hz(radius_m) * (t + 0.5 * rise * d * t * t)
    attack = 1.0 - np.exp(-t / 0.0007)
    wave = attack * np.exp(-d * t) * np.sin(phase)
    return wave / np.abs(wave).max()


def gulp(
    rng: np.random.Generator,
    rate_hz: int,
    *,
    rings: tuple[int, int] = (1, 5),
    apart_s: tuple[float, float] = (0.025, 0.14),
) -> Floats:
    """One bubble as a person counts it: a large ring and some lesser ones close by."""
    wave = np.zeros(int(0.8 * rate_hz))
    at_s, usual_m = 0.0, rng.uniform(0.0018, 0.0070)
    for k in range(rng.integers(rings[0], rings[1] + 1)):
        radius = usual_m if k == 0 else usual_m * rng.uniform(0.3, 1.0)
        part = ring(radius, rate_hz, rise=rng.uniform(0.0, 0.15))
        part *= 1.0 if k == 0 else rng.uniform(0.2, 1.1)
        start = int(at_s * rate_hz)
        wave[start : start + len(part)] += part[: len(wave) - start]
        at_s += rng.uniform(*apart_s)
    if rng.random() < 0.4:  # the skin of the water breaks with a faint pop
        pop = rng.normal(size=int(0.004 * rate_hz)) * np.linspace(1.0, 0.0, int(0.004 * rate_hz))
        wave[: len(pop)] += rng.uniform(0.05, 0.4) * pop
    return wave


@dataclass(frozen=True, slots=True)
class Take:
    """A sound file of which the truth is known."""

    wave: Floats  # (n,)
    rate_hz: int
    onsets_s: tuple[float, ...]


def airlock(
    seed: int,
    *,
    seconds: float = 60.0,
    per_min: float = 15.0,
    rate_hz: int = 8_000,
    snr_db: float | None = 20.0,
    noise: str = "white",
    rings: tuple[int, int] = (1, 5),
    apart_s: tuple[float, float] = (0.025, 0.14),
    others: Iterable[Floats] = (),
) -> Take:
    """Bubbles in a room with an echo, steady noise and other sounds laid over them.

    `snr_db` is the peak power of a usual bubble over that of the noise from 300 to 3000 Hz; the
    bubbles themselves differ by 3 dB and their spacing by a third.
    """
    rng = np.random.default_rng(seed)
    n = int(seconds * rate_hz)
    wave, onsets = np.zeros(n), []
    at = 60.0 / per_min * rng.uniform(0.2, 1.0) if per_min else seconds
    while at < seconds - 1.0:
        part = (
            LEVEL
            * 10.0 ** (rng.normal(0.0, 3.0) / 20.0)
            * gulp(rng, rate_hz, rings=rings, apart_s=apart_s)
        )
        start = int(at * rate_hz)
        wave[start : start + len(part)] += part[: n - start]
        onsets.append(at)
        at += max(60.0 / per_min * rng.gamma(9.0, 1.0 / 9.0), 0.5)
    wave = echo(rng, wave, rate_hz)
    for other in others:
        wave[: len(other)] += other[:n]
    hiss = coloured(rng, n, rate_hz, noise)
    level = 1e-4 if snr_db is None else LEVEL * 10.0 ** (-snr_db / 20.0)
    return Take(wave + level * hiss, rate_hz, tuple(onsets))


def echo(rng: np.random.Generator, wave: Floats, rate_hz: int) -> Floats:
    """A kitchen: an echo that dies by 60 dB in 0.4 s, 12 dB under what comes straight."""
    t = np.arange(int(0.4 * rate_hz)) / rate_hz
    tail = rng.normal(size=len(t)) * np.exp(-6.9 * t / 0.4) * (t > 0.004)
    tail *= 10.0 ** (-12.0 / 20.0) / np.sqrt(np.sum(tail**2))
    tail[0] = 1.0
    return fftconvolve(wave, tail)[: len(wave)]


def coloured(rng: np.random.Generator, n: int, rate_hz: int, kind: str) -> Floats:
    """White or pink noise whose power from 300 to 3000 Hz is 1."""
    spectrum = np.fft.rfft(rng.normal(size=n))
    f = np.fft.rfftfreq(n, 1.0 / rate_hz)
    if kind == "pink":
        spectrum /= np.sqrt(np.maximum(f, 20.0))
    band = (f >= 300.0) & (f <= 3000.0)
    power = 2.0 * np.sum(np.abs(spectrum[band]) ** 2) / n**2
    return np.fft.irfft(spectrum, n) / np.sqrt(power)


def hum(rng: np.random.Generator, n: int, rate_hz: int, *, mains_hz: float, level: float) -> Floats:
    """Mains and its harmonics up to 1 kHz, falling as 1/k, odd ones stronger."""
    t = np.arange(n) / rate_hz
    wave = np.zeros(n)
    for k in range(1, int(1000 / mains_hz) + 1):
        size = (1.0 if k % 2 else 0.4) / k
        wave += size * np.sin(2.0 * np.pi * mains_hz * k * t + rng.uniform(0, 2 * np.pi))
    return level * wave


def clock(
    rng: np.random.Generator, n: int, rate_hz: int, *, period_s: float, level: float
) -> Floats:
    """A clock that ticks and tocks: short clicks with a little ring of the case."""
    wave = np.zeros(n)
    clicks = []
    for _ in range(2):
        t = np.arange(int(0.03 * rate_hz)) / rate_hz
        click = rng.normal(size=len(t)) * np.exp(-t / 0.0012)
        for f in rng.uniform(900.0, 0.45 * rate_hz, size=3):
            click += 0.5 * np.sin(2 * np.pi * f * t) * np.exp(-t / rng.uniform(0.002, 0.006))
        clicks.append(click / np.abs(click).max())
    at, k = rng.uniform(0.0, period_s), 0
    while at < n / rate_hz - 0.1:
        start = int((at + rng.normal(0.0, 0.0003)) * rate_hz)
        part = level * rng.uniform(0.8, 1.2) * clicks[k % 2]
        start = max(start, 0)
        wave[start : start + len(part)] += part[: n - start]
        at, k = at + period_s, k + 1
    return echo(rng, wave, rate_hz)


def speech(rng: np.random.Generator, n: int, rate_hz: int, *, level: float, share: float) -> Floats:
    """Sentences of vowels with formants, hissed and stopped consonants; `share` of the time."""
    wave, at = np.zeros(n), rng.uniform(0.0, 3.0)
    end = n / rate_hz
    while at < end:
        stop = min(at + rng.uniform(1.5, 4.0), end)
        began, pitch = at, rng.uniform(90.0, 220.0)
        while at < stop:
            part = _syllable(rng, rate_hz, pitch * rng.uniform(0.85, 1.2))
            start = int(at * rate_hz)
            wave[start : start + len(part)] += rng.uniform(0.4, 1.0) * part[: max(n - start, 0)]
            at += len(part) / rate_hz + rng.choice([0.0, 0.02, 0.08])
        at += (at - began) * (1.0 - share) / share * rng.uniform(0.5, 1.5)
    return level * echo(rng, wave, rate_hz)


def _syllable(rng: np.random.Generator, rate_hz: int, pitch_hz: float) -> Floats:
    """A consonant, then a vowel of 80 to 280 ms."""
    n = int(rng.uniform(0.08, 0.28) * rate_hz)
    t = np.arange(n) / rate_hz
    glide = pitch_hz * (1.0 + rng.uniform(-0.15, 0.15) * t / t[-1])
    phase = np.cumsum(glide) / rate_hz
    pulses = np.diff(np.floor(phase), prepend=0.0)
    vowel = lfilter([1.0], [1.0, -0.96], pulses)
    formants = (rng.uniform(280, 800), rng.uniform(850, 2300), rng.uniform(2300, 3000))
    for f, width in zip(formants, (70.0, 100.0, 140.0), strict=True):
        r = np.exp(-np.pi * width / rate_hz)
        vowel = lfilter([1.0 - r], [1.0, -2.0 * r * np.cos(2 * np.pi * f / rate_hz), r * r], vowel)
    rise = rng.uniform(0.01, 0.05)
    vowel *= np.minimum(1.0, t / rise) * np.minimum(1.0, (t[-1] - t) / 0.05)
    vowel /= np.abs(vowel).max() or 1.0
    hiss = np.zeros(0)
    if rng.random() < 0.6:  # a hissed or a stopped consonant
        length = rng.uniform(0.05, 0.12) if rng.random() < 0.5 else 0.012
        m = int(length * rate_hz)
        high = butter(2, 1500.0, "high", fs=rate_hz, output="sos")
        hiss = 0.25 * sosfilt(high, rng.normal(size=m)) * np.hanning(m)
    return np.concatenate([hiss, vowel])


def clinks(rng: np.random.Generator, n: int, rate_hz: int, *, level: float) -> Floats:
    """Crockery six times a minute: several high partials that ring for long."""
    wave = np.zeros(n)
    for at in np.sort(rng.uniform(0, n / rate_hz, rng.poisson(0.1 * n / rate_hz))):
        t = np.arange(int(0.6 * rate_hz)) / rate_hz
        part = sum(
            np.sin(2 * np.pi * f * t) * np.exp(-t / rng.uniform(0.03, 0.2))
            for f in rng.uniform(1200.0, 0.45 * rate_hz, size=5)
        )
        start = int(at * rate_hz)
        wave[start : start + len(t)] += level * 0.3 * np.asarray(part)[: n - start]
    return echo(rng, wave, rate_hz)


def chirps(rng: np.random.Generator, n: int, rate_hz: int, *, level: float) -> Floats:
    """A bird ten times a minute: a short note that slides up."""
    wave = np.zeros(n)
    t = np.arange(int(0.08 * rate_hz)) / rate_hz
    note = np.hanning(len(t)) * np.sin(2.0 * np.pi * (2200.0 * t + 6000.0 * t * t))
    for at in rng.uniform(0, n / rate_hz, rng.poisson(n / rate_hz / 6.0)):
        start = int(at * rate_hz)
        wave[start : start + len(t)] += level * note[: n - start]
    return echo(rng, wave, rate_hz)


def tune(rng: np.random.Generator, n: int, rate_hz: int, *, level: float) -> Floats:
    """Notes plucked one after another, each with five harmonics: a radio in the next room."""
    wave, at = np.zeros(n), 0.0
    while at < n / rate_hz:
        t = np.arange(int(0.7 * rate_hz)) / rate_hz
        f = 220.0 * 2.0 ** (rng.integers(0, 25) / 12.0)
        note = sum(np.sin(2 * np.pi * f * k * t) / k for k in range(1, 6)) * np.exp(-t / 0.25)
        start = int(at * rate_hz)
        wave[start : start + len(t)] += level * 0.5 * np.asarray(note)[: n - start]
        at += rng.choice([0.15, 0.3, 0.3, 0.6])
    return echo(rng, wave, rate_hz)


def wav_bytes(wave: Floats, rate_hz: int, *, bits: int = 16, form: str = "plain") -> bytes:
    """A WAV file of samples, shape (n,) or (n, channels); `form` is plain, extensible or float."""
    frames = wave[:, None] if wave.ndim == 1 else wave
    channels = frames.shape[1]
    flat = np.clip(frames, -1.0, 1.0).reshape(-1)
    if form == "float":
        kind, bits, data = 3, 32, flat.astype("<f4").tobytes()
    elif bits == 8:
        kind, data = 1, (np.clip(np.round(flat * 128.0), -128, 127) + 128).astype("u1").tobytes()
    else:
        top = 2.0 ** (bits - 1)
        whole = np.clip(np.round(flat * top), -top, top - 1).astype("<i8")
        kind, data = 1, whole.view("u1").reshape(-1, 8)[:, : bits // 8].tobytes()
    width = channels * bits // 8
    fmt = struct.pack("<HHIIHH", kind, channels, rate_hz, rate_hz * width, width, bits)
    if form == "extensible":
        guid = struct.pack("<H", kind) + bytes.fromhex("000000001000800000aa00389b71")
        fmt = struct.pack("<H", 0xFFFE) + fmt[2:] + struct.pack("<HHI", 22, bits, 0) + guid
    chunks = b"fmt " + struct.pack("<I", len(fmt)) + fmt + b"data" + struct.pack("<I", len(data))
    pad = b"\0" * (len(data) % 2)
    return (
        b"RIFF"
        + struct.pack("<I", 4 + len(chunks) + len(data) + len(pad))
        + (b"WAVE" + chunks + data + pad)
    )


def saved(path: Path, take: Take, **form: object) -> Path:
    """Write a take down as a WAV file."""
    path.write_bytes(wav_bytes(take.wave, take.rate_hz, **form))  # type: ignore[arg-type]
    return path
