"""Finds the start gravity of a wine's must: as read, or from the best substitute.

Usual values are common practice, no source.
"""

from __future__ import annotations

from datetime import timedelta
from enum import StrEnum
from typing import TYPE_CHECKING, Final

import numpy as np

from ..diary.events import Event
from ..ferment.priors import BUBBLE_ML_SPREAD, ML_GAS_PER_POINT_LITRE
from ..physics.alcohol import OG_HIGH
from ..physics.constants import MINUTES_PER_DAY
from ..physics.scales import sg_from_g_per_litre

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from ..diary.visit import Visit
    from ..physics.alcohol import Style
    from .mass import Draws, Floats

__all__ = ["START_DAYS", "Told", "must"]


class Told(StrEnum):
    """What a gravity is based on, the surest first."""

    READ = "read"
    RECIPE = "recipe"  # the sugar of the recipe, and what fruit brings
    BUBBLES = "bubbles"  # all bubbles counted, and the litres
    USUAL = "usual"  # what is usual for the style


START_DAYS: Final = 2  # days after pitching; a later reading is not the must's
# Gravity of must, by style, if nothing tells it.
USUAL_OG: Final[Mapping[Style | None, tuple[float, float]]] = {
    None: (1.075, 1.100),
    "dry wine": (1.075, 1.100),
    "cider": (1.045, 1.060),
    "perry": (1.045, 1.065),
    "mead": (1.085, 1.125),
}
# Sugar from fruit or juice on top of the recipe's, by style [g/L]: cider is juice alone.
BESIDE_G_PER_LITRE: Final[Mapping[Style | None, tuple[float, float]]] = {
    "mead": (0.0, 10.0),
    "cider": (100.0, 140.0),
    "perry": (100.0, 140.0),
}
FRUIT_G_PER_LITRE: Final = (10.0, 60.0)
MOST_G_PER_LITRE: Final = 400.0
BUBBLE_ML: Final = 1.0  # 0.64 to 1.7 in kept diaries
FEWEST_COUNTS: Final = 3
WIDEST_GAP_DAYS: Final = 8.0  # days between counts that are added up; half of it before the first
LEAST_OG: Final = 1.0005


def must(
    rows: Sequence[Visit],
    draws: Draws,
    *,
    read: Callable[[Visit], Floats],
    litres: float | None,
    style: Style | None,
) -> tuple[Floats, Told] | None:
    """Find the gravity at the start, in draws, and what it is based on.

    Parameters
    ----------
    rows : sequence of Visit
        Live rows of one wine, oldest first, at least one.
    draws : Draws
    read : callable
        Gravity of a row that has one, in draws.
    litres : float or None
        Of must [L].
    style : {"dry wine", "cider", "perry", "mead"} or None
        None for most fruit.

    Returns
    -------
    gravity, told : ndarray of shape (n,), Told
        None if neither gravity nor bubbles nor sugar was ever noted.
    """
    start = rows[0]
    pitched = start.event is Event.PITCHED
    first = next((v for v in rows if v.sg is not None), None)
    if first is not None and pitched and _of_the_must(first, start):
        og = read(first)
        if 1.0 < float(og[0]) <= OG_HIGH:
            return _kept(og), Told.READ
    if pitched and start.sugar_g is not None and litres:
        beside = BESIDE_G_PER_LITRE.get(style, FRUIT_G_PER_LITRE)
        g_per_litre = draws.grams(start.sugar_g) / draws.litres(litres) + draws.between(*beside)
        return _kept(sg_from_g_per_litre(np.minimum(g_per_litre, MOST_G_PER_LITRE))), Told.RECIPE
    usual = draws.between(*USUAL_OG[style])
    fallen = _fallen(rows, first, draws, litres)
    if fallen is not None:
        return _kept(usual if first is None else read(first) + 0.001 * fallen), Told.BUBBLES
    if first is None:
        return None
    return _kept(np.maximum(usual, read(first))), Told.USUAL


def _of_the_must(first: Visit, start: Visit) -> bool:
    return first.when - start.when <= timedelta(days=START_DAYS)


def _kept(og: Floats) -> Floats:
    """Keep within what a must may read."""
    return np.clip(og, LEAST_OG, OG_HIGH)


def _fallen(
    rows: Sequence[Visit], first: Visit | None, draws: Draws, litres: float | None
) -> Floats | None:
    """Fall in points, from the bubbles counted before the first reading."""
    counted = [v for v in rows if v.per_min is not None and (first is None or v.when <= first.when)]
    if len(counted) < FEWEST_COUNTS or not litres:
        return None
    began = rows[0].when
    days = np.array([(v.when - began) / timedelta(days=1) for v in counted])
    if days[0] > WIDEST_GAP_DAYS / 2.0 or float(np.max(np.diff(days))) > WIDEST_GAP_DAYS:
        return None
    per_day = np.array([v.per_min or 0.0 for v in counted]) * MINUTES_PER_DAY
    bubbles = float(np.trapezoid(per_day, days))
    ml = draws.times(BUBBLE_ML, BUBBLE_ML_SPREAD)
    return bubbles * ml / (ML_GAS_PER_POINT_LITRE * litres)
