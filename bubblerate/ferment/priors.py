"""What is taken for granted of a ferment before it is looked at: every prior in one table.

Most are log-normal: the centre is in the unit named, the spread in natural logarithms. The finish
is normal, in points.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from .bubble_totals import BUBBLE_ML, ML_GAS_PER_POINT_LITRE
from .evidence import EVENING_SCATTER

if TYPE_CHECKING:
    from .evidence import Evidence

__all__ = ["PER_MIN_PER_POINT_DAY", "Prior", "priors"]

# Bubbles a minute that one point a day makes in one litre, through bubbles of 1 mL.
PER_MIN_PER_POINT_DAY = ML_GAS_PER_POINT_LITRE / 1440.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """A prior: `centre` in the unit named, `spread` in natural logarithms or, if linear, in it."""

    name: str
    centre: float
    spread: float
    unit: str
    why: str
    linear: bool = False


_GAS = Prior(
    name="gas",
    centre=PER_MIN_PER_POINT_DAY * 5.0 / BUBBLE_ML,
    spread=0.85,
    unit="bubbles a minute per point a day",
    why="4.5 to 23 L unknown, 0.6 to 1.7 mL a bubble and up to a third leaking by",
)
_ALWAYS = (
    Prior(
        name="fall",
        centre=4.0,
        spread=1.0,
        unit="points/day",
        why="from 1 point a day (cool mead) to 20 (warm fruit wine) at the peak",
    ),
    Prior(
        name="sugar",
        centre=30.0,
        spread=0.9,
        unit="points",
        why="a peak stands early (60 points to go) or the counting began late (10)",
    ),
    Prior(
        name="half",
        centre=5.0,
        spread=1.2,
        unit="points",
        why="10 g/L of sugar (Cramer 2002); far more where spirit or want of food slows the end",
    ),
    Prior(
        name="dying",
        centre=0.06,
        spread=1.1,
        unit="1/day",
        why="half-lives of the yeast's activity from 3 days to 2 months",
    ),
    Prior(
        name="second",
        centre=2.0,
        spread=1.5,
        unit="points",
        why="1.5 points' worth of gas in solution at 12 %, up to half the must of a second sugar",
    ),
    Prior(
        name="pace",
        centre=0.13,
        spread=0.8,
        unit="1/day",
        why="a second sugar, or dissolved gas, goes over weeks; common practice, no source",
    ),
    Prior(
        name="scatter",
        centre=EVENING_SCATTER,
        spread=0.35,
        unit="1",
        why="evening-to-evening scatter of 16 to 19 % in kept diaries",
    ),
)
_Q10 = Prior(
    name="q10",
    centre=2.0,
    spread=0.2,
    unit="1 per 10 C",
    why="rates double with 10 C, common practice, no source",
)
_FINISH = Prior(
    name="finish",
    centre=-2.0,
    spread=5.0,
    unit="points above 1.000",
    why="table wine 0.990 to 0.998, cider to 1.005, mead to 1.010; a stem may be 2 points off",
    linear=True,
)
FINISH_SPREAD = 2.0  # points, where the maker says at what gravity it ends
_BUBBLES = Prior(
    name="bubbles",
    centre=1.0,
    spread=0.3,
    unit="1",
    why="of an earlier stretch to today's, for the same gas: another airlock or fill of it",
)


def priors(known: Evidence) -> tuple[Prior, ...]:
    """The prior of each parameter that the evidence can speak of.

    Parameters
    ----------
    known : Evidence
        `q10` comes in only with temperatures, `finish` with gravity, ``bubbles 0`` and so on with
        stretches before the last.

    Returns
    -------
    tuple of Prior
        `gas` first; the table documents every assumption.
    """
    table = [_GAS, *_ALWAYS]
    if known.litres is not None and known.bubble_ml is not None:
        table[0] = replace(
            _GAS,
            centre=PER_MIN_PER_POINT_DAY * known.litres / known.bubble_ml.ml,
            spread=known.bubble_ml.spread,
            why="litres known; 0.6 to 1.7 mL a bubble and up to a third leaking by, or as learnt",
        )
    if known.tail.warmth.any():
        table.append(_Q10)
    if len(known.reading_days):
        said = known.finish
        table.append(
            _FINISH if said is None else replace(_FINISH, centre=said, spread=FINISH_SPREAD)
        )
    table += [replace(_BUBBLES, name=f"bubbles {i}") for i in range(known.tail.stretch.max())]
    return tuple(table)
