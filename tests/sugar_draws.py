"""Wines drawn at random as their makers would have noted them: for the proof's tests and bench.

The truth is drawn, then what is noted of it: each stem reads high or low by 1 point, one hand
scatters by 0.7, readings are rounded to a point and one in fifty is a slip of 3 to 5; a bubble
holds 0.64 to 1.7 mL, 65 to 100 % of them are caught, an evening scatters by 15 %, weather makes 0
to 0.05 a minute. A wine that paused wakes at 15 +- 4 C, 5 days later: the same law that the proof
believes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from bubblerate.diary.events import Event
from bubblerate.diary.settings import Settings, VesselSettings
from bubblerate.diary.visit import Diary, Visit

if TYPE_CHECKING:
    from collections.abc import Callable

START = datetime(2026, 3, 2, 21, tzinfo=UTC)
ML_PER_POINT_LITRE = 540.0
WARMED_DAYS = 14  # before the last reading, of a wine that paused in the cold
DRY_POINTS = -6.0  # where the wine that paused would end
PATTERNS = {
    "2x14d": (0, 14),
    "3x15d": (0, 15, 30),
    "5 weekly": (0, 7, 14, 21, 28),
    "5 monthly": (0, 30, 60, 90, 120),
}


@dataclass(frozen=True, kw_only=True)
class Wine:
    """A wine to draw: its level, and what of it would hurt in a bottle.

    `left` points are to go; it falls `fall` points a day at the last reading, or, if `paused`, not
    until it wakes in the warmth of the last two weeks. `temp_c` is the house.
    """

    og: float = 1.085
    style: str = "dry wine"
    level: float = DRY_POINTS
    left: float = 0.0
    fall: float = 0.0
    wakes: bool = False
    temp_c: float = 18.0
    stabilised: bool = False
    harmful: bool = False


def _falling(fall: float) -> Wine:
    return Wine(level=-4.0, left=4.0, fall=fall, harmful=True)


WINES = {
    "finished dry 0.994": Wine(),
    "finished cider 1.004": Wine(og=1.050, style="cider", level=4.0),
    "finished perry 1.010": Wine(og=1.058, style="perry", level=10.0),
    "finished mead 1.006": Wine(og=1.110, style="mead", level=6.0),
    "finished, style unknown 0.996": Wine(style="plum wine", level=-4.0),
    **{f"falling {r:.2f}, 4 left": _falling(r) for r in (0.02, 0.05, 0.07, 0.10, 0.15, 0.30)},
    **{
        f"paused, {left} left, {where}": Wine(
            level=DRY_POINTS + left, left=left, wakes=wakes, temp_c=c, harmful=True
        )
        for left in (3.5, 5, 10)
        for where, wakes, c in (("8 C", False, 8.0), ("then 19 C", True, 19.0))
    },
    "stuck 1.012": Wine(level=12.0, left=18.0, harmful=True),
    "stabilised sweet 1.010": Wine(og=1.080, level=10.0, stabilised=True),
    "stabilised, falling 0.10": Wine(
        og=1.080, level=10.0, left=15.0, fall=0.10, stabilised=True, harmful=True
    ),
}


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """A diary as it was kept, and whether a bottle of that wine would hurt."""

    diary: Diary
    settings: Settings
    at: datetime
    dangerous: bool
    again: Visit  # the same gravity read once more, on the last evening


def draw(
    wine: Wine,
    days: tuple[int, ...],
    *,
    counts: int,
    rng: np.random.Generator,
    warmth: bool = True,
    outlier: bool = False,
    litres: float = 4.5,
) -> Drawn:
    """Draw one diary: readings on these days, five-minute counts over the last two weeks."""
    last = days[-1]
    above, rate = _life(wine, last, rng)
    stem, ml, caught = rng.normal(0.0, 1.0), rng.uniform(0.64, 1.7), rng.uniform(0.65, 1.0)
    slips = _slips(len(days), outlier, rng)
    read = [
        (d, _read(wine.level + above(d) + slip + stem, rng))
        for d, slip in zip(days, slips, strict=True)
    ]
    again = _read(wine.level + above(last) + stem, rng)
    rows = [Visit(when=_evening(d), sg=sg) for d, sg in read]
    for i in range(counts):
        day = last - math.floor(1.4 * i)
        gas = rate(day) * ML_PER_POINT_LITRE * litres / ml * caught / 1440.0
        per_min = gas * math.exp(rng.normal(0.0, 0.15)) + max(0.0, rng.normal(0.01, 0.02))
        rows.append(
            Visit(when=_evening(day, 5), bubbles=int(rng.poisson(5.0 * per_min)), seconds=300)
        )
    if warmth:
        for day in range(0, last + 1, 3):
            cold = wine.wakes and last - day > WARMED_DAYS
            c = (8.0 if cold else wine.temp_c) + round(rng.normal(0.0, 0.5) * 2) / 2
            rows.append(Visit(when=_evening(day, 10), temp_c=c))
    rows.append(Visit(when=_evening(-60), sg=wine.og, event=Event.PITCHED, litres=litres))
    if wine.stabilised:
        rows.append(Visit(when=_evening(-1), event=Event.STABILISED))
    rows.sort(key=lambda visit: visit.when)
    diary = Diary(path=Path("fig.csv"), vessel="fig", visits=tuple(rows))
    return Drawn(
        diary=diary,
        settings=Settings(vessels={"fig": said(wine)}),
        at=_evening(last, 30),
        dangerous=wine.harmful and not (wine.wakes and above(last) + wine.left <= 3.0),
        again=Visit(when=_evening(last, 20), sg=again),
    )


def said(wine: Wine) -> VesselSettings:
    """All that is seen by eye, long before the question is asked."""
    seen = date(2025, 12, 1) + timedelta(days=60)
    return VesselSettings(
        style=wine.style, clear_since=seen, degassed_on=seen, malolactic_settled_on=seen
    )


def _life(
    wine: Wine, last: int, rng: np.random.Generator
) -> tuple[Callable[[float], float], Callable[[float], float]]:
    """Points above its level on a day, and the fall a day then."""
    if wine.wakes:
        wakes_c = 0.0
        while wakes_c <= 8.0:  # else it would not have paused
            wakes_c = rng.normal(15.0, 4.0)
        woken = last - WARMED_DAYS + (rng.exponential(5.0) if wakes_c <= wine.temp_c else 1e9)

        def above(day: float) -> float:
            return wine.left * math.expm1(-0.05 * max(day - woken, 0.0))

        def rate(day: float) -> float:
            return 0.05 * (wine.left + above(day)) if day > woken else 0.0

        return above, rate
    k = wine.fall / wine.left if wine.left else 0.0
    return (
        lambda day: min(wine.left * math.expm1(k * (last - day)), 60.0),
        lambda day: wine.fall * math.exp(k * (last - day)),
    )


def _slips(n: int, outlier: bool, rng: np.random.Generator) -> np.ndarray:
    """Gross errors: one in fifty, and the one that is asked for."""
    slips = np.where(rng.random(n) < 0.02, rng.choice([-1, 1], n) * rng.uniform(3, 5, n), 0.0)
    if outlier:
        slips[rng.integers(n)] += rng.choice([-1, 1]) * 4.0
    return slips


def _read(points: float, rng: np.random.Generator) -> float:
    """Gravity as one hand reads it off a stem and writes it down."""
    return round(1.0 + round(points + rng.normal(0.0, 0.7)) / 1000.0, 4)


def _evening(day: float, minutes: float = 0.0) -> datetime:
    return START + timedelta(days=float(day), minutes=minutes)
