"""Made-up ferments of many kinds, to measure forecasts against a truth that is known.

Each kind is a rate of fall, laid on a clock that runs with the temperature; bubbles, counting,
missed evenings and hydrometer follow from it. Nothing here knows how forecasts are made. Days
are since pitching, arrays run over time. Run as a program it prints a table to look at.
"""

import csv
import io
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from functools import partial
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import cumulative_trapezoid, solve_ivp
from scipy.signal import lfilter

__all__ = ["KINDS", "Ferment", "simulate"]

Array = NDArray[np.float64]
Rng = np.random.Generator
Shape = Callable[[Rng, float], Array]  # (rng, points on offer) to the share a day, on DAYS

PITCHED: Final = datetime(2026, 1, 10, 12, tzinfo=UTC)
STEP_DAYS: Final = 0.02
DAYS: Final[Array] = np.arange(0.0, 400.0, STEP_DAYS)
GAS_L_PER_L_PER_POINT: Final = 0.54  # at 20 C: 1 point frees about 1 g of CO2 a litre
COLUMNS: Final = "when bubbles seconds temp_c pressure_hpa sg sample_c event litres note struck"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ferment:
    """One made-up ferment: the diary a person kept, and the truth behind it."""

    kind: str
    seed: int
    litres: float
    usual_temp_c: float
    csv: str
    grid_per_min: Array  # on DAYS, at the usual temperature, airlock sound
    grid_sg: Array  # on DAYS

    def true_per_min(self, days: Array) -> Array:
        """Bubbles a minute to expect at the usual temperature of a sound airlock.

        The ferment has run at the temperatures it met. A leak is left out, for the silence it
        brings is no end; dissolved gas that comes out late is in.
        """
        return np.interp(days, DAYS, self.grid_per_min)

    def true_sg(self, days: Array) -> Array:
        """Gravity a faultless hydrometer would show."""
        return np.interp(days, DAYS, self.grid_sg)

    def crossing_day(self, threshold_per_min: float) -> float:
        """First day after the peak from which the true rate stays below; inf if not in 400 days."""
        above = np.flatnonzero(self.grid_per_min >= threshold_per_min)
        last = int(above[-1]) if above.size else int(np.argmax(self.grid_per_min))
        return float(DAYS[last + 1]) if last + 1 < DAYS.size else np.inf


def simulate(kind: str, seed: int) -> Ferment:
    """Make one ferment and the diary of it; the same `kind` and `seed` make the same one.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    seed : int
        Seed of the one generator that everything is drawn from.

    Returns
    -------
    Ferment

    Notes
    -----
    Draws that no maker would call a ferment are thrown back: a peak under 5 a minute or over 150,
    or a rate that takes under 5 or over 110 days to fall to 1 a minute for good.
    """
    rng = np.random.default_rng([KINDS.index(kind), seed])
    while True:
        ferment = _draw(kind, seed, rng)
        if 5.0 <= ferment.grid_per_min.max() <= 150.0 and 5.0 <= ferment.crossing_day(1.0) <= 110.0:
            return ferment


def _draw(kind: str, seed: int, rng: Rng) -> Ferment:
    """One ferment as it comes, sane or not."""
    litres = float(rng.choice([4.5, 5.0, 10.0, 15.0, 23.0], p=[0.4, 0.2, 0.15, 0.1, 0.15]))
    og = rng.uniform(1.045, 1.110)
    left_points = rng.uniform(8.0, 30.0) if kind == "stuck" else 0.0
    points = 1000.0 * (og - rng.uniform(0.990, 1.004)) - left_points
    shape = _SHAPES[kind](rng, points)
    usual_c, q10 = rng.uniform(12.0, 24.0), rng.uniform(1.6, 2.6)
    wander_c = rng.uniform(0.5, 1.5) * _correlated(rng, 401, rng.uniform(0.7, 0.9))
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


def _swing(rng: Rng, latest_days: float = 2.0) -> tuple[Array, Array]:
    """Yeast growing to its full number; and days gone since full swing ended, softly from 0."""
    grown = rng.uniform(0.3 * latest_days, latest_days)
    end, soft = grown + rng.uniform(0.0, 4.0), rng.uniform(0.1, 0.6)
    rise = 1.0 / (1.0 + np.exp((grown - DAYS) / (0.22 * grown)))
    return rise, soft * np.logaddexp(0.0, (DAYS - end) / soft)


def _halving(
    rng: Rng, _points: float, *, low: float = 0.3, high: float = 12.0, latest_days: float = 2.0
) -> Array:
    """Grow, stay in full swing, and halve every `low` to `high` days."""
    rise, past = _swing(rng, latest_days)
    shape = rise * np.exp2(-past / np.exp(rng.uniform(np.log(low), np.log(high))))
    return np.asarray(shape / (shape.sum() * STEP_DAYS))


def _power_tail(rng: Rng, _points: float) -> Array:
    rise, past = _swing(rng)
    shape = rise * (1.0 + past / rng.uniform(1.0, 8.0)) ** -rng.uniform(2.2, 4.5)
    return np.asarray(shape / (shape.sum() * STEP_DAYS))


def _two_sugars(rng: Rng, points: float) -> Array:
    """Take up a favoured sugar, and a second one that it holds back."""
    first = points * rng.uniform(0.3, 0.7)
    half1, half2, held = *rng.uniform(2.0, 8.0, 2), rng.uniform(1.0, 6.0)  # points
    v1 = points / rng.uniform(4.0, 14.0)  # points a day
    v2 = v1 * rng.uniform(0.25, 0.8)
    yeast = _swing(rng)[0] * np.exp(-rng.uniform(0.0, 0.06) * DAYS)

    def change(day: float | Array, left: Array) -> Array:
        s1, s2 = np.maximum(left, 0.0)
        taken1 = v1 * s1 / (half1 + s1)
        taken2 = v2 * s2 / (half2 + s2) * held / (held + s1)
        return -np.array([taken1, taken2]) * np.interp(day, DAYS, yeast)

    start = [first, points - first]
    run = solve_ivp(change, (0.0, DAYS[-1]), start, t_eval=DAYS, method="LSODA", rtol=1e-7)
    return np.asarray(-change(DAYS, run.y).sum(axis=0) / points)


def _kinetic(rng: Rng, points: float) -> Array:
    """Run the nitrogen-limited model of wine, its clock stretched to 8 to 60 days.

    A. C. Cramer, S. Vlassides, D. E. Block, "Kinetic model for nitrogen-limited wine
    fermentations", Biotechnol. Bioeng. 77 (2002) 49-60; constants as two public codes agree.
    """
    sugar0 = 2.1 * points  # g/L
    nitrogen0, cells0 = rng.uniform(0.06, 0.30), rng.uniform(0.05, 0.4)
    kills = 1e-4 * rng.uniform(0.3, 1.5)  # L/(g ethanol h)

    def change(_hour: float, state: Array) -> Array:
        cells, nitrogen, ethanol, sugar = state
        grown = 0.16 * nitrogen / (0.010 + nitrogen) * cells
        made = 0.3 * sugar / (10.0 + sugar) * cells
        return np.array([grown - kills * ethanol * cells, -grown / 31.0, made, -made / 0.47])

    hours = np.linspace(0.0, 1500.0, 6001)
    start = [cells0, nitrogen0, 0.0, sugar0]
    run = solve_ivp(change, (0.0, hours[-1]), start, t_eval=hours, method="LSODA", rtol=1e-7)
    cells, _, _, sugar = np.maximum(run.y, 0.0)
    dry_hour = hours[np.argmax(sugar < 5.0)]  # 0 if it never is: yeast dead first, kept as it is
    days_per_hour = np.exp(rng.uniform(np.log(8.0), np.log(60.0))) / (dry_hour or 700.0)
    per_hour = 0.3 * sugar / (10.0 + sugar) * cells / 0.47 / sugar0
    return np.asarray(np.interp(DAYS, hours * days_per_hour, per_hour / days_per_hour, right=0.0))


_SHAPES: Final[dict[str, Shape]] = {
    "kinetic": _kinetic,
    "two_sugars": _two_sugars,
    "power_tail": _power_tail,
    "exponential": _halving,
    "growing": partial(_halving, latest_days=14.0),
    "cold_spell": partial(_halving, low=2.0),
    "degassing": _halving,
    "slips": _halving,
    "stuck": partial(_halving, high=3.0),
    "leak": partial(_halving, low=2.0),
}
KINDS: Final[tuple[str, ...]] = tuple(_SHAPES)


def _correlated(rng: Rng, days: int, correlation: float) -> Array:
    """One standard normal number a day, each leaning on the day before."""
    fresh = rng.normal(size=days)
    fresh[1:] *= np.sqrt(1.0 - correlation**2)
    return np.asarray(lfilter([1.0], [1.0, -correlation], fresh))


def _pace(temp_c: Array, usual_c: float, q10: float) -> Array:
    """Speed of all that yeast does, by Arrhenius: 1 at `usual_c`, `q10` at 10 C above it."""
    usual_k, now_k = usual_c + 273.15, temp_c + 273.15
    tens = (now_k - usual_k) / 10.0 * (usual_k + 10.0) / now_k  # 1 when 10 C warmer
    return np.asarray(q10**tens)


def _on_clock(shape: Array, pace: Array) -> Array:
    """Read a shape by a clock that runs at `pace`."""
    return np.interp(cumulative_trapezoid(pace, DAYS, initial=0), DAYS, shape)


def _tail_day(curve: Array, level: float) -> float:
    """Day on which a curve has come down to this share of its peak."""
    peak = int(np.argmax(curve))
    return float(DAYS[peak + np.argmax(curve[peak:] < level * curve[peak])])


def _let_go_late(rng: Rng, points_per_day: Array) -> Array:
    """Dissolve 1 to 3 points' worth of gas and let it go with a half-life of 4 to 14 days."""
    share = rng.uniform(1.0, 3.0) / (points_per_day.sum() * STEP_DAYS)
    a_day = np.log(2.0) / rng.uniform(4.0, 14.0)
    held = lfilter([share * STEP_DAYS], [1.0, -np.exp(-a_day * STEP_DAYS)], points_per_day)
    return np.asarray((1.0 - share) * points_per_day + a_day * held)


def _keep(rng: Rng, truth: Ferment, *, heard_per_min: Array, temp_c: Array) -> str:
    """Write the diary as a person would, until some days after the end."""
    grain = rng.choice([0.001, 0.001, 0.002])
    notes_temp = truth.kind == "cold_spell" or rng.random() < 0.6
    patient = rng.random() < 0.8  # counts longer when it is slow
    evenings = np.arange(int(min(truth.crossing_day(0.2) + rng.uniform(4.0, 9.0), 150.0)))
    days = evenings + rng.normal(9 / 24, 0.025, evenings.size)  # about 21:00, pitched at noon
    scatter = rng.uniform(0.08, 0.25) * _correlated(rng, evenings.size, rng.uniform(0.0, 0.7))
    per_min = np.interp(days, DAYS, heard_per_min) * np.exp(scatter)
    written = rng.random(evenings.size) >= rng.uniform(0.0, 0.4)
    written[-1] = True  # the last row is where a diary ends

    tail = np.flatnonzero(written & (days > _tail_day(heard_per_min, 0.5)))
    readings = int(rng.integers(1, 5)) * (rng.random() < 0.5)
    if truth.kind in {"slips", "stuck", "leak"}:
        readings = 3  # gravity alone tells these
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


def _main() -> None:
    """Print what a few seeds of each kind look like."""
    print("kind         seed  litres  peak/min on day  under 1/min on day        gravity  rows")
    for f in (simulate(kind, seed) for kind in KINDS for seed in range(4)):
        peak, rows = int(np.argmax(f.grid_per_min)), f.csv.count("\n") - 1
        bubbling = f"{f.grid_per_min[peak]:9.1f} {DAYS[peak]:6.1f} {f.crossing_day(1.0):19.1f}"
        gravity = f"{f.grid_sg[0]:8.3f}-{f.grid_sg[-1]:.3f}"
        print(f"{f.kind:12s} {f.seed:4d} {f.litres:7.1f} {bubbling} {gravity} {rows:5d}")


if __name__ == "__main__":
    _main()
