"""What each kind of fact tells about the sugar left: odds from readings, counts, warmth, strips.

Arrays run over `LEFT` [points] and `PACE` [share of them a day at 20 C]. Points are 0.001 SG, rates
bubbles a minute, temperatures C. Every law is log-concave in what was measured, so a worse fact
never makes less sugar look more likely.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln, ndtr

if TYPE_CHECKING:
    from collections.abc import Sequence

    from .acts import Reading
    from .noted import Evening
    from .sugar_evidence import SugarEvidence

__all__ = [
    "FALL_PER_DAY",
    "G_PER_POINT",
    "LEFT",
    "LEFT_WIDTH",
    "PACE",
    "STEM_SD",
    "bottle_odds",
    "count_odds",
    "reading_odds",
    "slept_on",
    "slowness_on",
    "strip_odds",
    "woken_odds",
]

Floats = NDArray[np.float64]

# Readings. One person with one stem scatters this much; the rest is common to all readings of a
# jar.
SAME_HAND_SD: Final = math.hypot(0.7, 1.0 / math.sqrt(12.0))  # with rounding to a point (ours)
HUBER: Final = 1.345  # standard deviations; further off, a reading pulls no harder (Huber 1964)
STEM_SD: Final = 1.0  # one maker tested two stems: both were 2 points off (trade)

# Warmth. A paused wine wakes at 15 +- 4 C, within some 5 days of it; winter pauses are seen to wake
# at 12 to 20 C. One in fifty never shows under an airlock (our judgement, no source).
WAKES_C, WAKES_SD_C, WAKES_DAYS, NEVER_SHOWN = 15.0, 4.0, 5.0, 0.02
Q10, PACE_C, COOLEST_C, WARMEST_C = 2.0, 20.0, 8.0, 25.0  # common practice; unknown counts as 8 C
TEST_BOTTLE_C, TEST_BOTTLE_DAYS, NOTICED_POINTS = 25.0, 14.0, 1.0  # shown by gas (our judgement)

# Gas. 1 point in 1 L makes 540 mL; a bubble is 0.64 to 1.7 mL, and up to a third leaks (trade). The
# share s that is caught has the density 2 s, a power law, so more bubbles never mean less sugar.
GAS_ML_PER_POINT_LITRE: Final = 540.0
BUBBLE_ML, BUBBLE_ML_SPREAD, CAUGHT_POWER, CAUGHT_LEARNT = 1.0, 0.35, 2.0, 20.0
FLOOR_PER_MIN_LITRE: Final = 0.02 / 4.5  # weather and old gas: 10 hPa make 25 to 30 a day (trade)

# A strip or tablet errs by 1.5 g/L plus a quarter of what is there, and reacts to 1 g/L of sugars
# that no yeast uses (our judgement); `sugar-low` means under 3 g/L.
G_PER_POINT: Final = 2.1  # from ABV = 131 x drop
STRIP_G, STRIP_UNFERMENTED_G, STRIP_SD_G, STRIP_SD_SHARE = 3.0, 1.0, 1.5, 0.25

LARGEST_LOG, SMALLEST = 600.0, 1e-250  # beyond all doubt, and within a float
LEFT: Final = np.r_[0.05:1.0:0.15, 1.0:8.0:0.5, 8.0:30.0:1.5, 31.0:62.0:5.0]
LEFT_WIDTH: Final = np.gradient(LEFT)
PACE: Final = np.geomspace(0.0008, 0.3, 16)
FALL_PER_DAY: Final = LEFT[:, None] * PACE[None, :]  # at 20 C
_RATES: Final = np.concatenate([[0.0], np.geomspace(1e-4, LEFT[-1] * PACE[-1], 48)])
_Z: Final = np.linspace(-2.6, 2.6, 27)
_WAKES: Final = WAKES_C + WAKES_SD_C * _Z
_WAKES_CHANCE: Final = np.exp(-0.5 * _Z**2) / np.exp(-0.5 * _Z**2).sum()
_FLOORS: Final = -np.log1p(-(np.arange(12) + 0.5) / 12.0)  # an exponential in equal chances


def reading_odds(
    known: SugarEvidence, readings: Sequence[Reading], level: Floats
) -> tuple[Floats, Floats]:
    r"""Logarithm of the odds of readings, for a wine that is steady and one that is falling.

    Parameters
    ----------
    known : SugarEvidence
        How warm it was.
    readings : sequence of Reading
        Oldest first.
    level : ndarray, shape (level,)
        What the stem would show at the last reading [points].

    Returns
    -------
    flat : ndarray, shape (level,)
    moving : ndarray, shape (left, pace, level)

    Notes
    -----
    With :math:`W_i` days at 20 C from reading :math:`i` to the last, a wine that has :math:`L` left
    and falls at pace :math:`k` was :math:`L (e^{k W_i} - 1)` above today's level. No residual pulls
    harder than Huber's bound. That is log-concave; a law with heavier tails would let a bad reading
    be explained away.
    """
    points = np.array([r.points for r in readings])
    flat = _huber(points, level, np.zeros((1, len(points))))[0]
    grown = np.expm1(np.minimum(PACE[:, None] * _days_at_20_c(known, readings), 6.0))
    return flat, _huber(points, level, LEFT[:, None, None] * grown)


def _huber(points: Floats, level: Floats, above: Floats) -> Floats:
    """Huber's logarithm of the odds; `above` (..., reading) is how much higher it was then."""
    out = np.zeros((*above.shape[:-1], len(level)), dtype=np.float32)
    stood = (above[..., None] / SAME_HAND_SD).astype(np.float32)
    for i, point in enumerate(points):
        off = np.abs(((point - level) / SAME_HAND_SD).astype(np.float32) - stood[..., i, :])
        near = np.minimum(off, np.float32(HUBER))
        out -= near * (off - np.float32(0.5) * near)
    return out.astype(np.float64)


def _days_at_20_c(known: SugarEvidence, readings: Sequence[Reading]) -> Floats:
    """Days at 20 C from each reading to the last one."""
    first, last = readings[0].day, readings[-1].day
    days = np.arange(first, last) + 0.5
    temp_c = np.full(len(days), np.inf)
    for spell in known.warmth:
        some = slice(*np.searchsorted(days, [spell.first, np.nextafter(spell.last, np.inf)]))
        temp_c[some] = np.minimum(temp_c[some], spell.temp_c)
    temp_c[np.isinf(temp_c)] = COOLEST_C
    slowness = {c: _slowness(c) for c in set(temp_c.tolist())}
    pace = [slowness[c] for c in temp_c.tolist()]
    run = np.concatenate([[0.0], np.cumsum(pace)])
    return np.asarray(run[-1] - run[[r.day - first for r in readings]])


def slowness_on(known: SugarEvidence, day: float) -> float:
    """Pace on a day relative to 20 C; an unknown temperature counts as cool."""
    near = [s.temp_c for s in known.warmth if s.first <= day <= s.last]
    return _slowness(min(near, default=COOLEST_C))


def _slowness(temp_c: float) -> float:
    return float(Q10 ** ((max(COOLEST_C, min(temp_c, WARMEST_C)) - PACE_C) / 10.0))


def slept_on(known: SugarEvidence, since: int) -> float:
    """Chance that a paused wine would have shown nothing yet: its longest warm spell counts.

    A cold spell takes nothing away, and months at 16 C never replace two weeks at 20 C.
    """
    first, last, temp_c = np.array(known.warmth, float).reshape(-1, 3).T
    length = np.maximum(np.minimum(last, known.looked) - np.maximum(first, since), 0.0)
    warm = np.sum(length[:, None] * (temp_c[:, None] >= _WAKES), axis=0)
    if known.tested:
        warm += TEST_BOTTLE_DAYS * (_WAKES <= TEST_BOTTLE_C)
    shown_nothing = float(_WAKES_CHANCE @ np.exp(-warm / WAKES_DAYS))
    return NEVER_SHOWN + (1.0 - NEVER_SHOWN) * shown_nothing


def bottle_odds() -> Floats:
    """Odds that a falling wine showed nothing in a test bottle at 25 C, shape (left, pace)."""
    days_at_20_c = TEST_BOTTLE_DAYS * _slowness(TEST_BOTTLE_C)
    fell = LEFT[:, None] * -np.expm1(-days_at_20_c * PACE)
    return np.asarray(np.exp(-fell / NOTICED_POINTS))


def strip_odds(low: bool, left: Floats) -> Floats:
    """Chance of what a strip or tablet showed, for each number of points left."""
    g_per_litre = G_PER_POINT * left
    over = STRIP_G - STRIP_UNFERMENTED_G - g_per_litre
    chance: Floats = ndtr(over / (STRIP_SD_G + STRIP_SD_SHARE * g_per_litre))
    return chance if low else 1.0 - chance


def count_odds(known: SugarEvidence, counts: Sequence[Evening]) -> Floats:
    """Odds of counts, pooled by time, for a falling wine against a quiet one, (left, pace)."""
    rates = _log_poisson(known, _RATES, counts)
    fall = FALL_PER_DAY * slowness_on(known, known.looked)
    return _odds(np.interp(fall, _RATES, rates) - rates[0])


def woken_odds(known: SugarEvidence, counts: Sequence[Evening]) -> Floats:
    """Odds of counts for a wine that has woken, against a quiet one; shape (left, pace).

    Only the newest evening tells about that; the older ones are from its sleep.
    """
    rates = _log_poisson(known, _RATES, counts[-1:])
    return _odds(np.interp(FALL_PER_DAY, _RATES, rates) - rates[0])


def _odds(log: Floats) -> Floats:
    return np.asarray(np.exp(np.minimum(log, LARGEST_LOG)))


def _log_poisson(known: SugarEvidence, fall: Floats, counts: Sequence[Evening]) -> Floats:
    """Logarithm of the chance of counts, averaged over bubble size, leaks and weather."""
    n, minutes = sum(e.bubbles for e in counts), sum(e.minutes for e in counts)
    learnt = known.bubble_ml
    ml, spread = learnt or (BUBBLE_ML, BUBBLE_ML_SPREAD)
    x, weight = _bubbles_per_ml(spread, CAUGHT_POWER if learnt is None else CAUGHT_LEARNT)
    per_min = fall * GAS_ML_PER_POINT_LITRE * known.litres / ml / 1440.0
    floor = FLOOR_PER_MIN_LITRE * known.litres * _FLOORS
    log = np.log(weight)
    if n == 0:  # silence: leaks and weather separate
        log = log - per_min[:, None] * np.exp(x) * minutes
        top = log.max(axis=1, keepdims=True)
        calm = np.log(np.exp((floor[0] - floor) * minutes).mean()) - floor[0] * minutes
        return np.asarray(top[:, 0] + np.log(np.exp(log - top).sum(1)) + calm)
    mean = (per_min[:, None, None] * np.exp(x)[None, :, None] + floor) * minutes
    log = n * np.log(mean) - mean - gammaln(n + 1.0) + log[None, :, None]
    top = log.max(axis=(1, 2), keepdims=True)
    return np.asarray(top[:, 0, 0] + np.log(np.exp(log - top).sum((1, 2)) / len(floor)))


@lru_cache(maxsize=64)
def _bubbles_per_ml(spread: float, power: float) -> tuple[Floats, Floats]:
    """Natural logarithm of bubbles counted per mL, relative to the usual, and its chances."""
    x, z = np.linspace(-4.5, 1.2, 39), np.linspace(-2.5, 2.5, 11)
    share = x[:, None] - spread * z[None, :]
    caught = np.where(share <= 0.0, np.exp(power * np.minimum(share, 0.0)), 0.0)
    weight = caught @ np.exp(-0.5 * z**2)
    return x, np.maximum(weight / weight.sum(), SMALLEST)
