"""What the fit assumes before it sees a count: all constants, and all priors in one table.

Each is here once, with its reason or source; only the standard library is loaded. Most priors are
log-normal: the centre is in the unit named, the spread in natural logarithms. The finish is normal,
in points.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from ..physics.constants import MINUTES_PER_DAY
from ..physics.gas import co2_from_points_g, wet_gas_ml

if TYPE_CHECKING:
    from .evidence import Evidence

__all__ = [
    "BUBBLE_ML",
    "BUBBLE_ML_SPREAD",
    "COLD_C",
    "COLD_DROP_C",
    "COUNTING_SD",
    "EVENING_CORRELATION",
    "EVENING_SCATTER",
    "GRAVITY_FREEDOM",
    "HEADSPACE_SHARE",
    "LARGEST_BUBBLE_ML",
    "LITRES_UNKNOWN_SPREAD",
    "ML_GAS_PER_POINT_LITRE",
    "MOST_SUGAR_POINTS",
    "MOST_SUGAR_SPREAD",
    "OUTLIER_DECADES",
    "OUTLIER_SHARE",
    "PER_MIN_PER_POINT_DAY",
    "Q10",
    "READING_SD_POINTS",
    "ROOM_C",
    "SAME_HAND_SD_POINTS",
    "UNSETTLED_HOURS",
    "UNSETTLED_TRUST",
    "USUAL_ABV_PCT",
    "USUAL_LITRES",
    "WEIGHED_BUBBLE_ML",
    "WEIGHED_BUBBLE_SPREAD",
    "Prior",
    "choose_priors",
]

# Gas. A fall of 1 point frees 1.0 g of CO2 per litre. It leaves wet: 559 mL at 20 C and 1 atm,
# right to 3 % (balance and gas law of `bubblerate.physics.gas`).
ML_GAS_PER_POINT_LITRE: Final = wet_gas_ml(co2_from_points_g(1.0, litres=1.0))

# Gas made per bubble counted: 0.64 to 1.7 mL in kept diaries, and up to a third may leak. The
# spread is in natural logarithms, and wide, since alarms and the proof for bottling rest on it.
BUBBLE_ML: Final = 1.25
BUBBLE_ML_SPREAD: Final = 0.4
# The same, for dates: six batches compared with their sugar gave 0.64 to 1.1 mL, a spread of 0.2.
WEIGHED_BUBBLE_ML: Final = 1.05
WEIGHED_BUBBLE_SPREAD: Final = 0.3
USUAL_LITRES: Final = 5.0  # where no litres were noted
LITRES_UNKNOWN_SPREAD: Final = 0.55  # spread of litres over mL, natural logarithm
LARGEST_BUBBLE_ML: Final = 3.4  # twice the largest seen; beyond it, other gas made the fall

# Counts.
EVENING_SCATTER: Final = 0.17  # relative, between evenings: 16 to 19 % in kept diaries
EVENING_CORRELATION: Final = 0.5  # of that, a day apart; our choice: weather outlasts an evening
COUNTING_SD: Final = 0.2  # relative error of bubbles added up between evenings; our choice
OUTLIER_SHARE: Final = 0.02  # share of counts that are another jar's or mistyped; our choice
OUTLIER_DECADES: Final = 4.0  # range of such counts, uniform in the logarithm; our choice

# Warmth. Rates double with 10 C; common practice, no source.
Q10: Final = 2.0
COLD_C: Final = 12.0  # below this, yeast may only be resting; common practice, no source
COLD_DROP_C: Final = 4.0  # and this far below the jar's usual temperature
ROOM_C: Final = 18.0  # if no temperature was noted

# Hours for which the airlock may mislead after the jar was disturbed. Opened, it may stay silent
# for a day or more; shaken, it gives off a burst of dissolved gas. Common practice, no source.
UNSETTLED_HOURS: Final[dict[str, float]] = dict.fromkeys(
    (
        *("sampled", "stirred", "degassed", "moved", "chilled", "warmed", "strained", "pressed"),
        *("split", "racked", "filtered", "fined", "fined-two-part", "sulphited", "stabilised"),
    ),
    36.0,
)
UNSETTLED_TRUST: Final = 0.2  # trust in a count of those hours; our choice

# Gravity. A hydrometer is right to 1 to 2 points, its graduation included; common practice.
READING_SD_POINTS: Final = 1.3
SAME_HAND_SD_POINTS: Final = 0.7  # one wine, one person: the error of the stem is shared
GRAVITY_FREEDOM: Final = 4.0  # degrees of freedom of the Student-t, our choice: misreadings happen
MOST_SUGAR_POINTS: Final = 120.0  # no must has much more; common practice, no source
MOST_SUGAR_SPREAD: Final = 0.1  # natural logarithm: how firm that limit is

# Where a ferment ends, for a curve that does not know its start. Measured ends move from dry, -3
# points, by a quarter of the way to what physics expects. A vessel's own `finish` overrides it.
_FINISH_POINTS, _DRY_POINTS, _FINISH_SHARE = -2.3, -3.0, 0.26
_FINISH_SPREAD: Final = 6.0  # wide enough for a ferment that got stuck
_KNOWN_FINISH_SPREAD: Final = 2.0  # points, if the maker says where it ends; our choice

# The wine that releases gas when the weather changes.
HEADSPACE_SHARE: Final = 0.07  # share of the wine: about 4 cm in the neck of a jar; common practice
USUAL_ABV_PCT: Final = 12.0  # a weaker wine holds 8 % more gas

# Bubbles a minute from one point a day in one litre, with bubbles of 1 mL.
PER_MIN_PER_POINT_DAY: Final = ML_GAS_PER_POINT_LITRE / MINUTES_PER_DAY


# No `eq`: priors are hashed often, and comparing them field by field would be slow.
@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prior:
    """A prior; `spread` is in natural logarithms or, if linear, in the unit of `centre`."""

    name: str
    centre: float
    spread: float
    unit: str
    why: str
    linear: bool = False


_GAS = Prior(
    name="gas",
    centre=PER_MIN_PER_POINT_DAY * USUAL_LITRES / BUBBLE_ML,
    spread=0.85,
    unit="bubbles a minute per point a day",
    why="4.5 to 23 L unknown, 0.6 to 1.7 mL a bubble and up to a third leaking by",
)
# Wide, since readings tell much: with firmer ones, dates of ferments that got stuck were too sure.
_ALWAYS = (
    Prior(
        name="fall",
        centre=4.5,
        spread=1.5,
        unit="points/day",
        why="from 1 point a day (cool mead) to 20 (warm fruit wine) at the peak, or less if late",
    ),
    Prior(
        name="sugar",
        centre=35.0,
        spread=0.85,
        unit="points",
        why="a peak stands early (60 points to go) or the counting began late (10)",
    ),
    Prior(
        name="half_saturation",
        centre=5.0,
        spread=1.5,
        unit="points",
        why="10 g/L of sugar (Cramer 2002); far more where spirit or want of food slows the end",
    ),
    Prior(
        name="inactivation_per_day",
        centre=0.05,
        spread=1.3,
        unit="1/day",
        why="half-lives of the yeast's activity from 3 days to 2 months",
    ),
    Prior(
        name="second",
        centre=1.2,
        spread=1.4,
        unit="points",
        why="1.5 points' worth of gas in solution at 12 %; at times a second sugar, rarely much",
    ),
    Prior(
        name="pace",
        centre=0.14,
        spread=0.9,
        unit="1/day",
        why="a second sugar, or dissolved gas, goes over weeks; common practice, no source",
    ),
    Prior(
        name="overdispersion",
        centre=EVENING_SCATTER,
        spread=0.35,
        unit="1",
        why="evening-to-evening scatter of 16 to 19 % in kept diaries",
    ),
)
# The same if the tail has no reading, as (centre, spread). Ferments that others weighed and
# simulated ones both call for these values. With a reading they would be too sure, and the atlas
# makes up for what the first table lacks.
_BY_BUBBLES: Final = {
    "fall": (3.8, 1.11),
    "sugar": (34.0, 0.82),
    "half_saturation": (4.4, 1.31),
    "inactivation_per_day": (0.040, 0.91),
    "second": (1.65, 1.41),
    "pace": (0.146, 0.91),
}
_Q10 = Prior(
    name="q10",
    centre=Q10,
    spread=0.2,
    unit="1 per 10 C",
    why="rates double with 10 C, common practice, no source",
)
_FINISH = Prior(
    name="finish",
    centre=_FINISH_POINTS,
    spread=_FINISH_SPREAD,
    unit="points above 1.000",
    why="what physics expects of start and style tells a quarter; a stem may be 2 points off",
    linear=True,
)
_BUBBLES = Prior(
    name="bubbles",
    centre=1.0,
    spread=0.3,
    unit="1",
    why="of an earlier stretch to today's, for the same gas: another airlock or fill of it",
)


def choose_priors(evidence: Evidence) -> tuple[Prior, ...]:
    """Choose the prior of each parameter that the evidence can tell about.

    Parameters
    ----------
    evidence : Evidence
        `q10` is used only with temperatures, `finish` only with gravity, ``bubbles 0`` and so on
        only with stretches before the last.

    Returns
    -------
    tuple of Prior
        `gas` first; the reason for each is its `why`.
    """
    read = len(evidence.reading_days) > 0
    chosen = [_gas(evidence, read=read), *(_ALWAYS if read else map(_by_bubbles, _ALWAYS))]
    if evidence.tail.temp_offset_10c.any():
        chosen.append(_Q10)
    if read:
        chosen.append(_finish(evidence))
    chosen += [replace(_BUBBLES, name=f"bubbles {i}") for i in range(evidence.tail.stretch.max())]
    return tuple(chosen)


def _gas(evidence: Evidence, *, read: bool) -> Prior:
    """Bubbles for one point of fall: learnt, or from weighed batches if alone, or wider."""
    litres, bubble = evidence.litres, evidence.bubble_ml
    if litres is None or bubble is None:
        usual = PER_MIN_PER_POINT_DAY * USUAL_LITRES / WEIGHED_BUBBLE_ML
        return _GAS if read else replace(_GAS, centre=usual, spread=LITRES_UNKNOWN_SPREAD)
    ml, spread = bubble.ml, bubble.spread
    if not (read or bubble.learnt):
        ml, spread = WEIGHED_BUBBLE_ML, WEIGHED_BUBBLE_SPREAD
    why = "litres known; 0.6 to 1.7 mL a bubble and up to a third leaking by, or as learnt"
    return replace(_GAS, centre=PER_MIN_PER_POINT_DAY * litres / ml, spread=spread, why=why)


def _by_bubbles(prior: Prior) -> Prior:
    """The prior if there are only bubbles."""
    centre, spread = _BY_BUBBLES.get(prior.name, (prior.centre, prior.spread))
    return replace(prior, centre=centre, spread=spread)


def _finish(evidence: Evidence) -> Prior:
    """Where it ends: as the maker says, or as physics says."""
    if evidence.finish is not None:
        return replace(_FINISH, centre=evidence.finish, spread=_KNOWN_FINISH_SPREAD)
    off = _FINISH_SHARE * (evidence.likely_finish - _DRY_POINTS)
    return replace(_FINISH, centre=_FINISH_POINTS + off)
