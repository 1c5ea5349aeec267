"""Simulates whole ferments, from pitching to silence, by published kinetics, to make the atlas.

Run as a program, it makes them again and writes the file that comes with the package: ``python -m
bubblerate.ferment.kinetics``. Nothing else calls it.

Sugar, ethanol and cells are in g/L, gravity in points (0.001 SG), time in days since pitching.

The core is nitrogen-limited growth, saturating uptake of sugar and death by ethanol [1]_. Its
constants for wine are 0.16/h, 0.010 g/L, 31, 0.3/h, 10 g/L, 0.47 and 1e-4 L/(g h) (two public codes
agree on them; from memory). Each is drawn from a wide range around its value, since a jar of fruit
is not a laboratory's must: it is the width that makes the atlas useful. Added to it, from common
knowledge and with ranges of our choice: a lag, a second sugar held back by the first, a limit of
ethanol, a slow hardy yeast beside or after the first, tiring yeast, a room that warms, cools or is
changed, and gas that leaves late.

References
----------
.. [1] A. C. Cramer, S. Vlassides and D. E. Block, "Kinetic model for nitrogen-limited wine
   fermentations", Biotechnol. Bioeng. 77 (2002) 49.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from .atlas import ATLAS_FILE, DAYS, FALL_POINTS, MOST_EXTRACT_POINTS, SUGAR_POINTS, save_atlas

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["draw_ferments", "write_atlas"]

Floats = NDArray[np.float64]
Must = dict[str, Floats]  # what was drawn for m ferments, by name; each of shape (m,)

SEED: Final = 20261001
FERMENTS: Final = 2500  # more do not help: the width of the ranges decides
LOT: Final = 500  # ferments at a time, each lot from its own seed
G_ETHANOL_PER_G_SUGAR: Final = 0.47
NITROGEN_HALF: Final = 0.010  # g/L at which growth is half its fastest

# Steps of the integration [days]: fine while it rises, coarse when it is slow; 252 days in all.
_STEPS: Final = np.concatenate([np.full(500, 0.04), np.full(300, 0.1), np.full(800, 0.24)])
_ENDS: Final = np.cumsum(_STEPS)
_LEAST: Final = 1e-12  # share of what is left, so that nothing turns negative
_LEAST_SHARE: Final = 1e-9  # share of the whole fall in a day: silence

# Uniform between two ends. `og` and `extract` are in points, `soaked` in points of gas that the
# must takes up first, `moved` in ln of the speed, `first_share` is the share of the favoured sugar.
_EVEN: Final = {
    "og": (40.0, 145.0),
    "extract": (0.0, MOST_EXTRACT_POINTS),
    "first_share": (0.3, 1.0),
    "lag_soft": (0.1, 0.5),
    "phase": (0.0, 2.0 * np.pi),
    "moved": (-1.2, 0.4),
    "moved_soft": (0.1, 1.0),
    "late": (0.0, 0.025),
    "soaked": (0.3, 1.8),
}
# Uniform in the logarithm between two ends. Rates are per day, half-saturations in g/L; `pace` is
# the speed from the room and the strain, 1 at about 24 C.
_LOG_EVEN: Final = {
    "nitrogen": (0.015, 0.40),
    "cells": (0.02, 0.5),
    "cells_per_nitrogen": (18.0, 40.0),
    "growth": (3.84 * 0.6, 3.84 * 1.6),
    "uptake": (7.2 * 0.5, 7.2 * 1.7),  # g of ethanol per g of cells
    "half": (3.0, 50.0),
    "held_back": (3.0, 200.0),  # first sugar at which the second is used half as fast
    "second_speed": (0.3, 0.9),
    "second_half": (1.0, 4.0),  # times as fast as the first
    "kills": (0.024 * 5e-4, 0.024 * 3e-2),  # per g/L of ethanol
    "tires": (5e-4, 0.2),
    "lag": (0.1, 20.0),
    "hardy_days": (12.0, 150.0),  # days in which the hardy yeast alone would use all sugar
    "hardy_lag": (1.0, 15.0),
    "hardy_half": (3.0, 80.0),
    "hardy_tires": (1e-3, 4e-2),
    "pace": (0.25, 4.0),
    "wave_days": (8.0, 50.0),
    "cools_days": (2.0, 20.0),
    "moved_on": (3.0, 60.0),
    "late_days": (0.3, 8.0),
}

# Ferments that somebody would wait for and count are kept.
_LEAST_FALL_POINTS: Final = 12.0
_SLOWED_LN: Final = 3.0  # ln below its peak: a twentieth
_SLOWED_DAYS: Final = (2.0, 60.0)  # after the peak
_LATEST_PEAK_DAYS: Final = 25.0


def write_atlas(path: Path = ATLAS_FILE) -> None:
    """Make the ferments of the atlas again and write the file; takes some seconds.

    Parameters
    ----------
    path : Path
        The file that comes with the package.
    """
    lots: list[tuple[Floats, ...]] = []
    while sum(len(lot[1]) for lot in lots) < FERMENTS:
        lots.append(draw_ferments(np.random.default_rng([SEED, len(lots)]), LOT))
    log_share, fall, og, extract = (
        np.concatenate(part)[:FERMENTS] for part in zip(*lots, strict=True)
    )
    save_atlas(path, log_share=log_share, fall=fall, og=og, extract=extract)


def draw_ferments(rng: np.random.Generator, m: int) -> tuple[Floats, Floats, Floats, Floats]:
    """Draw whole ferments, without those that nobody would wait for.

    Parameters
    ----------
    rng : numpy.random.Generator
    m : int
        Ferments drawn; about half are kept.

    Returns
    -------
    log_share : ndarray, shape (kept, len(DAYS))
        Ln of the share of the whole fall that leaves as gas in a day.
    fall, og, extract : ndarray, shape (kept,)
        Points: the whole fall, the gravity at the start, and what in the must is no sugar.
    """
    must = _draw_must(rng, m)
    fallen = _fallen(must)
    fall = fallen[-1]
    share = _on_days(_gas(must, fallen) / np.maximum(fall, 1e-6))
    peak = DAYS[share.argmax(axis=1)]
    slow = (share < share.max(axis=1, keepdims=True) - _SLOWED_LN) & (peak[:, None] < DAYS)
    slowed = np.where(slow.any(axis=1), DAYS[slow.argmax(axis=1)], np.inf) - peak
    kept = (fall > _LEAST_FALL_POINTS) & (peak < _LATEST_PEAK_DAYS)
    kept &= (slowed > _SLOWED_DAYS[0]) & (slowed < _SLOWED_DAYS[1])
    return share[kept], fall[kept], must["og"][kept], must["extract"][kept]


def _draw_must(rng: np.random.Generator, m: int) -> Must:
    """Draw everything that differs between ferments."""

    def some(share: float | Floats) -> NDArray[np.bool_]:
        return rng.random(m) < share

    must = {name: rng.uniform(low, high, m) for name, (low, high) in _EVEN.items()}
    for name, (low, high) in _LOG_EVEN.items():
        must[name] = np.exp(rng.uniform(math.log(low), math.log(high), m))
    must["sugar"] = (must["og"] - must["extract"]) / SUGAR_POINTS
    must["first"] = np.where(some(0.6), 1.0, must["first_share"]) * must["sugar"]
    must["second_half"] *= must["half"]
    weak = some(0.2)  # ethanol soon stops this yeast; usually a hardier one goes on
    most_ethanol = np.where(weak, rng.uniform(25.0, 90.0, m), rng.uniform(75.0, 190.0, m))
    must["most_ethanol"] = most_ethanol
    must["power"] = np.where(some(0.4), np.exp(rng.uniform(math.log(0.3), math.log(2.0), m)), 0.0)
    must["kills"] *= np.where(some(0.15), 6.0, 1.0)
    must["hardy"] = some(np.where(weak, 0.85, 0.15)) * must["sugar"] / must["hardy_days"]
    must["wave"] = np.abs(rng.normal(0.0, 0.12, m))
    must["cools"] = rng.normal(0.1, 0.25, m)
    must["moved"] *= some(0.1)
    must["late"] *= some(0.4)
    return must


def _change(must: Must, day: float, state: list[Floats]) -> list[Floats]:
    """How cells, nitrogen, the favoured sugar and the other one change in a day."""
    cells, nitrogen, first, second = state
    ethanol = G_ETHANOL_PER_G_SUGAR * (must["sugar"] - first - second)
    room = np.maximum(1.0 - ethanol / must["most_ethanol"], 0.0)
    pace = _pace(must, day)
    awake = pace * _risen(day, must["lag"], must["lag_soft"] * must["lag"])
    grown = awake * must["growth"] * nitrogen / (NITROGEN_HALF + nitrogen) * room * cells
    eats = awake * must["uptake"] / G_ETHANOL_PER_G_SUGAR * cells * room ** must["power"]
    hardy = pace * must["hardy"] * np.exp(-must["hardy_tires"] * pace * day)
    hardy *= _risen(day, must["hardy_lag"], 0.25 * must["hardy_lag"])
    hardy /= must["hardy_half"] + first + second
    restrained = must["held_back"] / (must["held_back"] + first)
    slow_eats = eats * must["second_speed"] / (must["second_half"] + second) * restrained
    return [
        grown - pace * cells * (must["kills"] * ethanol + must["tires"]),
        -grown / must["cells_per_nitrogen"],
        -first * (eats / (must["half"] + first) + hardy),
        -second * (slow_eats + hardy),
    ]


def _pace(must: Must, day: float) -> Floats:
    """Speed of the yeast in the room of that day."""
    wave = must["wave"] * np.sin(2.0 * np.pi * day / must["wave_days"] + must["phase"])
    cooled = -must["cools"] * -np.expm1(-day / must["cools_days"])
    moved = must["moved"] * _risen(day, must["moved_on"], must["moved_soft"])
    return np.asarray(must["pace"] * np.exp(wave + cooled + moved), float)


def _risen(day: float, at: Floats, soft: Floats) -> Floats:
    """A soft step from 0 to 1 on a day."""
    return np.asarray(1.0 / (1.0 + np.exp(np.clip((at - day) / soft, -40.0, 40.0))), float)


def _fallen(must: Must) -> Floats:
    """Points fallen at the start and by the end of each step, shape (steps + 1, m).

    By the method of Heun: E. Hairer, S. P. Norsett and G. Wanner, "Solving Ordinary Differential
    Equations I" (from memory).
    """
    state = [must["cells"], must["nitrogen"], must["first"], must["sugar"] - must["first"]]
    left = [must["sugar"]]
    for end, h in zip(_ENDS, _STEPS, strict=True):
        before = _change(must, end - h, state)
        guess = [np.maximum(s + h * d, _LEAST) for s, d in zip(state, before, strict=True)]
        after = _change(must, end, guess)
        state = [
            np.maximum(s + 0.5 * h * (d + e), _LEAST)
            for s, d, e in zip(state, before, after, strict=True)
        ]
        left.append(state[2] + state[3])
    return np.asarray((must["sugar"] - np.array(left)) * FALL_POINTS, float)


def _gas(must: Must, fallen: Floats) -> Floats:
    """Gas that leaves in each step [points/day], shape (steps, m): some dissolves, some is late."""
    made = np.diff(fallen, axis=0) / _STEPS[:, None]
    made *= _risen(0.0, must["soaked"] - fallen[1:], np.full(made.shape[1], 0.3))
    gas, dissolved = np.empty(made.shape), np.zeros(made.shape[1])
    for i, h in enumerate(_STEPS):
        stays = np.exp(-h / must["late_days"])
        gas[i] = (1.0 - must["late"]) * made[i] + dissolved * (1.0 - stays) / h
        dissolved = dissolved * stays + must["late"] * made[i] * h
    return np.asarray(gas, float)


def _on_days(share: Floats) -> Floats:
    """Ln of a value known for each step, on the days of the atlas; shape (m, len(DAYS))."""
    log_share = np.log(np.maximum(share, _LEAST_SHARE))
    middle = _ENDS - 0.5 * _STEPS
    i = np.clip(np.searchsorted(middle, DAYS), 1, len(middle) - 1)
    part = np.clip((DAYS - middle[i - 1]) / (middle[i] - middle[i - 1]), -0.5, 1.5)[:, None]
    return np.asarray(((1.0 - part) * log_share[i - 1] + part * log_share[i]).T, float)


if __name__ == "__main__":
    write_atlas()
