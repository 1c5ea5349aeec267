"""Jars made of ferments that others weighed: their gas, our bubbles.

The curve of each is the mass that left, day by day, from `tests/reference/massloss.csv`. Clock,
litres, bubbles and evenings are a maker's, drawn from a seed: the clock is stretched so that the
fall takes 5 to 25 days, a bubble holds 0.64 to 1.1 mL of the gas, and the threshold, a share of the
peak, lies inside what was weighed. Points far apart may be joined in two ways, and the day of the
crossing depends on it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

import numpy as np
from scipy.interpolate import PchipInterpolator

from bubblerate.diary.events import Event
from bubblerate.diary.visit import Diary, Visit

from scenes import reference

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

PITCHED: Final = datetime(2026, 9, 1, 12, tzinfo=UTC)
DAY: Final = timedelta(days=1)
STEPS: Final = 4001
ML_PER_POINT_LITRE: Final = 540.0  # of gas
Joining = Literal["rates", "sums"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Jar:
    """A diary made of a measured curve, and what is true of it."""

    series: str
    diary: Diary
    threshold_per_min: float
    crossing_day: float  # since pitching
    peak_day: float
    finish_sg: float


def series() -> list[str]:
    """Names of the ferments."""
    return sorted(reference("massloss.csv")["series"].unique())


def jar(name: str, seed: int, *, joining: Joining = "sums", gravity: bool = False) -> Jar:
    """Make a jar of a measured ferment.

    Parameters
    ----------
    name : str
        One of `series`.
    seed : int
    joining : {"rates", "sums"}
        Straight between the rates of the middles of the days, or smooth through the sums.
    gravity : bool
        Whether a hydrometer was floated at pitching and every four to nine evenings.
    """
    rng = np.random.default_rng([seed, *name.encode()])
    day, share = _joined(name, joining)
    rate = np.gradient(share, day)
    past = day[np.searchsorted(share, 0.95)]
    stretch = np.exp(rng.uniform(np.log(5.0), np.log(25.0))) / past
    day, rate = day * stretch, rate / stretch
    litres = float(rng.choice([4.5, 5.0, 10.0]))
    og, fall = rng.uniform(95.0, 108.0), rng.uniform(96.0, 106.0)
    per_min = rate * fall * ML_PER_POINT_LITRE * litres / rng.uniform(0.64, 1.1) / 1440.0
    peak = int(per_min.argmax())
    threshold = float(per_min[peak] * rng.uniform(0.15, 0.5))
    above = np.flatnonzero(per_min >= threshold)[-1]
    evenings = np.arange(int(day[-1])) + rng.normal(9 / 24, 0.025, int(day[-1]))
    evenings = evenings[rng.random(len(evenings)) >= 0.15]
    rows = [Visit(when=PITCHED, event=Event.PITCHED, litres=litres, sg=_read(rng, og, gravity))]
    next_reading = int(rng.integers(1, 5))
    for i, evening in enumerate(evenings):
        seconds = float(rng.choice([60.0, 120.0, 300.0]))
        expected = np.interp(evening, day, per_min) * seconds / 60.0
        counted = rng.poisson(expected * rng.gamma(1.0 / 0.17**2, 0.17**2))
        points = og - fall * np.interp(evening, day, share)
        read = gravity and i == next_reading
        next_reading += int(rng.integers(4, 10)) if read else 0
        when = PITCHED + float(evening) * DAY
        rows.append(Visit(when=when, bubbles=counted, seconds=seconds, sg=_read(rng, points, read)))
    return Jar(
        series=name,
        diary=Diary(path=Path(f"{name}.csv"), vessel=name, visits=tuple(rows)),
        threshold_per_min=threshold,
        crossing_day=float(day[above]),
        peak_day=float(day[peak]),
        finish_sg=1.0 + (og - fall) / 1000.0,
    )


def _joined(name: str, joining: Joining) -> tuple[Floats, Floats]:
    """Days and the share of the gas that had left by then, on a fine grid."""
    table = reference("massloss.csv")
    one = table[table["series"] == name]
    days, lost = one["day"].to_numpy(float), one["lost_g"].fillna(0.0).to_numpy(float)
    fine = np.linspace(days[0], days[-1], STEPS)
    if joining == "sums":
        sums = PchipInterpolator(days, np.cumsum(lost))(fine)
    else:
        middle = np.concatenate([days[:1], 0.5 * (days[1:] + days[:-1]), days[-1:]])
        rates = np.concatenate([[0.0], lost[1:] / np.diff(days), [0.0]])
        rate = np.interp(fine, middle, rates)
        sums = np.concatenate([[0.0], np.cumsum(0.5 * (rate[1:] + rate[:-1]) * np.diff(fine))])
    return fine - fine[0], sums / sums[-1]


def _read(rng: np.random.Generator, points: float, floated: bool) -> float | None:
    """What a hydrometer reads, good to a point."""
    return round(1.0 + (points + rng.normal(0.0, 1.0)) / 1000.0, 3) if floated else None
