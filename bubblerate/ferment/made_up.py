"""Simulated ferments of many kinds, to test forecasts against a known truth.

Each kind is a rate of fall, on a clock that runs with the temperature. Bubbles, counts, missed
evenings and hydrometer readings follow from it. Nothing here knows how forecasts are made. Days are
since pitching, arrays run over time.
"""

import csv
import io
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

import numpy as np
from scipy.integrate import cumulative_trapezoid
from scipy.signal import lfilter

from ..diary.reading import parse
from ..diary.visit import Diary
from .made_up_kinds import DAYS, KINDS, SHAPES, STEP_DAYS, Array, Rng, correlated

__all__ = ["DAYS", "KINDS", "PITCHED", "Ferment", "simulate"]

PITCHED: Final = datetime(2026, 1, 10, 12, tzinfo=UTC)
GAS_L_PER_L_PER_POINT: Final = 0.54  # at 20 C: 1 point frees about 1 g of CO2 per litre
COLUMNS: Final = "when bubbles seconds temp_c pressure_hpa sg sample_c event litres note struck"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ferment:
    """One simulated ferment: the diary a person would keep, and the truth behind it.

    Attributes
    ----------
    kind, seed : str, int
        What it was made from.
    litres, usual_temp_c : float
        Wine [L], and usual temperature of the room [C].
    csv : str
        The diary as the text of a file.
    grid_per_min, grid_sg : ndarray, shape (20000,)
        Rate [bubbles/min] and gravity [SG] every 0.02 days since pitching, at the usual temperature
        with a sound airlock.

    Examples
    --------
    >>> made = simulate("exponential", 1)
    >>> made.true_sg([0.0]).round(3).item() > made.true_sg([60.0]).round(3).item()
    True
    """

    kind: str
    seed: int
    litres: float
    usual_temp_c: float
    csv: str
    grid_per_min: Array  # on DAYS, at the usual temperature, airlock sound
    grid_sg: Array  # on DAYS

    @property
    def diary(self) -> Diary:
        """The diary, named by its kind and seed."""
        path = Path(f"{self.kind}-{self.seed}.csv")
        return parse(path, self.csv.encode(), pitched=None, now=PITCHED)

    def true_per_min(self, days: Array) -> Array:
        """Bubbles a minute to expect at the usual temperature with a sound airlock.

        The ferment has run at the temperatures it had. A leak is left out, since the silence it
        brings is no end. Dissolved gas that comes out late is included.
        """
        return np.interp(days, DAYS, self.grid_per_min)

    def true_sg(self, days: Array) -> Array:
        """Gravity that a perfect hydrometer would show."""
        return np.interp(days, DAYS, self.grid_sg)

    def crossing_day(self, threshold_per_min: float) -> float:
        """First day after the peak from which the true rate stays below; inf if not in 400 days."""
        above = np.flatnonzero(self.grid_per_min >= threshold_per_min)
        last = int(above[-1]) if above.size else int(np.argmax(self.grid_per_min))
        return float(DAYS[last + 1]) if last + 1 < DAYS.size else np.inf


def simulate(kind: str, seed: int) -> Ferment:
    """Simulate a ferment and its diary; the same `kind` and `seed` give the same one.

    Parameters
    ----------
    kind : str
        "kinetic", "two_sugars", "power_tail", "exponential", "growing", "cold_spell",
        "degassing", "slips", "stuck" or "leak".
    seed : int
        Seed of the only random generator used.

    Returns
    -------
    Ferment

    Raises
    ------
    ValueError
        If there is no such kind, or the seed is below 0.

    Notes
    -----
    Draws that no maker would call a ferment are drawn again: a peak under 5 a minute or over 150,
    or a rate that falls to 1 a minute for good in under 5 or over 110 days.

    Examples
    --------
    >>> made = simulate("two_sugars", 1)
    >>> made.diary.vessel, bool(made.crossing_day(1.0) < made.crossing_day(0.5))
    ('two_sugars-1', True)
    """
    if kind not in KINDS:
        raise ValueError(f"kind is {kind!r}; one of {', '.join(KINDS)}")
    rng = np.random.default_rng([KINDS.index(kind), seed])
    while True:
        ferment = _draw(kind, seed, rng)
        if 5.0 <= ferment.grid_per_min.max() <= 150.0 and 5.0 <= ferment.crossing_day(1.0) <= 110.0:
            return ferment


def _draw(kind: str, seed: int, rng: Rng) -> Ferment:
    """Draw one ferment, sensible or not."""
    litres = float(rng.choice([4.5, 5.0, 10.0, 15.0, 23.0], p=[0.4, 0.2, 0.15, 0.1, 0.15]))
    og = rng.uniform(1.045, 1.110)
    left_points = rng.uniform(8.0, 30.0) if kind == "stuck" else 0.0
    points = 1000.0 * (og - rng.uniform(0.990, 1.004)) - left_points
    shape = SHAPES[kind](rng, points)
    usual_c, q10 = rng.uniform(12.0, 24.0), rng.uniform(1.6, 2.6)
    wander_c = rng.uniform(0.5, 1.5) * correlated(rng, 401, rng.uniform(0.7, 0.9))
    temp_c = usual_c + np.interp(DAYS, np.arange(401), wander_c)
    if kind == "cold_spell":
        begins = _tail_day(_on_clock(shape, _pace(temp_c, usual_c, q10)), rng.uniform(0.1, 0.5))
        inside = np.minimum(DAYS - begins, begins + rng.uniform(3.0, 6.0) - DAYS)
        temp_c = temp_c - rng.uniform(6.0, 10.0) * np.clip(inside / 0.5, 0.0, 1.0)
    pace = _pace(temp_c, usual_c, q10)
    points_per_day = points * _on_clock(shape, pace)
    fallen = cumulative_trapezoid(points_per_day * pace, DAYS, initial=0)
    gas = _let_go_late(rng, points_per_day) if kind == "degassing" else points_per_day
    bubbles_per_point = 1000.0 * GAS_L_PER_L_PER_POINT * litres / rng.uniform(0.64, 1.7)
    per_min = gas * bubbles_per_point * rng.uniform(0.6, 1.0) / 1440.0
    leaks_from = _tail_day(per_min, rng.uniform(0.1, 0.5)) if kind == "leak" else np.inf
    leak = np.where(leaks_from <= DAYS, rng.uniform(0.0, 0.2), 1.0)
    truth = Ferment(
        kind=kind,
        seed=seed,
        litres=litres,
        usual_temp_c=float(usual_c),
        csv="",
        grid_per_min=per_min,
        grid_sg=og - 0.001 * fallen,
    )
    diary = _keep(rng, truth, heard_per_min=per_min * pace * leak, temp_c=temp_c)
    return replace(truth, csv=diary)


def _pace(temp_c: Array, usual_c: float, q10: float) -> Array:
    """Speed of the yeast, by Arrhenius: 1 at `usual_c`, `q10` at 10 C above it."""
    usual_k, now_k = usual_c + 273.15, temp_c + 273.15
    tens = (now_k - usual_k) / 10.0 * (usual_k + 10.0) / now_k  # 1 when 10 C warmer
    return np.asarray(q10**tens)


def _on_clock(shape: Array, pace: Array) -> Array:
    """Read a curve by a clock that runs at `pace`."""
    return np.interp(cumulative_trapezoid(pace, DAYS, initial=0), DAYS, shape)


def _tail_day(curve: Array, level: float) -> float:
    """Day on which a curve has fallen to this share of its peak."""
    peak = int(np.argmax(curve))
    return float(DAYS[peak + np.argmax(curve[peak:] < level * curve[peak])])


def _let_go_late(rng: Rng, points_per_day: Array) -> Array:
    """Dissolve 1 to 3 points' worth of gas and release it with a half-life of 4 to 14 days."""
    share = rng.uniform(1.0, 3.0) / (points_per_day.sum() * STEP_DAYS)
    a_day = np.log(2.0) / rng.uniform(4.0, 14.0)
    held = lfilter([share * STEP_DAYS], [1.0, -np.exp(-a_day * STEP_DAYS)], points_per_day)
    return np.asarray((1.0 - share) * points_per_day + a_day * held)


def _keep(rng: Rng, truth: Ferment, *, heard_per_min: Array, temp_c: Array) -> str:
    """Write the diary as a person would, until some days after the end."""
    grain = rng.choice([0.001, 0.001, 0.002])
    notes_temp = truth.kind == "cold_spell" or rng.random() < 0.6
    patient = rng.random() < 0.8  # a person counts longer when it is slow
    evenings = np.arange(int(min(truth.crossing_day(0.2) + rng.uniform(4.0, 9.0), 150.0)))
    days = evenings + rng.normal(9 / 24, 0.025, evenings.size)  # about 21:00, pitched at noon
    scatter = rng.uniform(0.08, 0.25) * correlated(rng, evenings.size, rng.uniform(0.0, 0.7))
    per_min = np.interp(days, DAYS, heard_per_min) * np.exp(scatter)
    written = rng.random(evenings.size) >= rng.uniform(0.0, 0.4)
    written[-1] = True  # so the diary ends with its last row

    tail = np.flatnonzero(written & (days > _tail_day(heard_per_min, 0.5)))
    readings = int(rng.integers(1, 5)) * (rng.random() < 0.5)
    if truth.kind in {"slips", "stuck", "leak"}:
        readings = 3  # only gravity can tell these kinds
    read_on = rng.choice(tail, size=min(readings, tail.size), replace=False)
    wild, misread = (rng.choice(tail), read_on[0]) if truth.kind == "slips" else (-1, -1)

    def visit(day: float, **cells: object) -> dict[str, object]:
        return {"when": (PITCHED + timedelta(days=day)).isoformat(timespec="minutes"), **cells}

    def read_sg(day: float, slip: float = 0.0) -> str:
        sg = np.interp(day, DAYS, truth.grid_sg) + rng.normal(0.0, 0.001) + slip
        return f"{round(sg / grain) * grain:.3f}"

    rows = [visit(0.0, sg=read_sg(0.0), event="pitched", litres=truth.litres)]
    for k in np.flatnonzero(written):
        seconds = (60, 120, 300)[patient * (int(per_min[k] < 4.0) + int(per_min[k] < 1.5))]
        bubbles = int(rng.poisson(per_min[k] * seconds / 60.0))
        if k == wild:
            bubbles = 10 * (bubbles + 1)  # one digit too many
        seen_c = round(2.0 * (np.interp(days[k], DAYS, temp_c) + rng.normal(0.0, 0.3))) / 2.0
        temp = seen_c if notes_temp else ""
        rows.append(visit(days[k], bubbles=bubbles, seconds=seconds, temp_c=temp))
        if k in read_on:
            later = days[k] + rng.uniform(3.0, 10.0) / 1440.0
            slip = rng.choice([-0.010, 0.010]) if k == misread else 0.0
            rows.append(visit(later, sg=read_sg(later, slip), event="sampled"))
    page = io.StringIO()
    writer = csv.DictWriter(page, COLUMNS.split(), restval="")
    writer.writeheader()
    writer.writerows(rows)
    return page.getvalue()
