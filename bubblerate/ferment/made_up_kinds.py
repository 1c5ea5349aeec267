"""The kinds of simulated ferments: for each, the share of its sugar that goes on each day.

Days are since pitching, arrays run over time.
"""

from collections.abc import Callable
from functools import partial
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.signal import lfilter

__all__ = ["DAYS", "KINDS", "SHAPES", "STEP_DAYS", "Array", "Rng", "correlated"]

Array = NDArray[np.float64]
Rng = np.random.Generator
Shape = Callable[[Rng, float], Array]  # (rng, points of sugar) -> share a day, on DAYS

STEP_DAYS: Final = 0.02
DAYS: Final[Array] = np.arange(0.0, 400.0, STEP_DAYS)


def correlated(rng: Rng, days: int, correlation: float) -> Array:
    """One standard normal number a day, each correlated with the day before."""
    fresh = rng.normal(size=days)
    fresh[1:] *= np.sqrt(1.0 - correlation**2)
    return np.asarray(lfilter([1.0], [1.0, -correlation], fresh))


def _swing(rng: Rng, latest_days: float = 2.0) -> tuple[Array, Array]:
    """Growth of the yeast to its full number, and days since full speed ended, from a soft 0."""
    grown = rng.uniform(0.3 * latest_days, latest_days)
    end, soft = grown + rng.uniform(0.0, 4.0), rng.uniform(0.1, 0.6)
    rise = 1.0 / (1.0 + np.exp((grown - DAYS) / (0.22 * grown)))
    return rise, soft * np.logaddexp(0.0, (DAYS - end) / soft)


def _halving(
    rng: Rng, _points: float, *, low: float = 0.3, high: float = 12.0, latest_days: float = 2.0
) -> Array:
    """Grow, stay at full speed, then halve every `low` to `high` days."""
    rise, past = _swing(rng, latest_days)
    shape = rise * np.exp2(-past / np.exp(rng.uniform(np.log(low), np.log(high))))
    return np.asarray(shape / (shape.sum() * STEP_DAYS))


def _power_tail(rng: Rng, _points: float) -> Array:
    rise, past = _swing(rng)
    shape = rise * (1.0 + past / rng.uniform(1.0, 8.0)) ** -rng.uniform(2.2, 4.5)
    return np.asarray(shape / (shape.sum() * STEP_DAYS))


def _two_sugars(rng: Rng, points: float) -> Array:
    """Take up a favoured sugar first, which holds back a second one."""
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
    dry_hour = hours[np.argmax(sugar < 5.0)]  # 0 if the yeast dies first; kept as it is
    days_per_hour = np.exp(rng.uniform(np.log(8.0), np.log(60.0))) / (dry_hour or 700.0)
    per_hour = 0.3 * sugar / (10.0 + sugar) * cells / 0.47 / sugar0
    return np.asarray(np.interp(DAYS, hours * days_per_hour, per_hour / days_per_hour, right=0.0))


SHAPES: Final[dict[str, Shape]] = {
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
KINDS: Final[tuple[str, ...]] = tuple(SHAPES)
