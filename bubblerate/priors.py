"""What is taken for granted of a ferment before it is counted: every prior in one table.

All are log-normal. The centre is in the unit named, the spread in natural logarithms.
"""

from __future__ import annotations

from dataclasses import dataclass

from .ledger import BUBBLE_ML, BUBBLE_ML_SPREAD, ML_GAS_PER_POINT_LITRE

__all__ = ["EVENING_SCATTER", "PARAMETERS", "PER_MIN_PER_POINT_DAY", "Prior", "priors"]

# Bubbles a minute that one point a day makes in one litre, through bubbles of 1 mL.
PER_MIN_PER_POINT_DAY = ML_GAS_PER_POINT_LITRE / 1440.0

EVENING_SCATTER = 0.17  # relative, from one evening to the next: 16 to 19 % in kept diaries


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """A log-normal prior: `centre` in the unit named, `spread` in natural logarithms."""

    name: str
    centre: float
    spread: float
    unit: str
    why: str


_TABLE = (
    Prior(
        name="gas",
        centre=PER_MIN_PER_POINT_DAY * 5.0 / BUBBLE_ML,
        spread=0.85,
        unit="bubbles a minute per point a day",
        why="4.5 to 23 L unknown, 0.6 to 1.7 mL a bubble and up to a third leaking by",
    ),
    Prior(
        name="uptake",
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
        centre=4.5,
        spread=0.5,
        unit="points",
        why="10 g/L of sugar (Cramer 2002), left looser for ferments that end unlike that model",
    ),
    Prior(
        name="dying",
        centre=0.06,
        spread=1.1,
        unit="1/day",
        why="half-lives of the yeast's activity from 3 days to 2 months",
    ),
    Prior(
        name="seeping",
        centre=3.0,
        spread=1.0,
        unit="points",
        why="1.5 points' worth of gas in solution at 12 %, and as much of a second, slower sugar",
    ),
    Prior(
        name="seep",
        centre=0.15,
        spread=0.8,
        unit="1/day",
        why="dissolved gas is let go over weeks; common practice, no source",
    ),
    Prior(
        name="scatter",
        centre=EVENING_SCATTER,
        spread=0.35,
        unit="1",
        why="evening-to-evening scatter of 16 to 19 % in kept diaries",
    ),
    Prior(
        name="q10",
        centre=2.0,
        spread=0.2,
        unit="1 per 10 C",
        why="rates double with 10 C, common practice, no source",
    ),
)

PARAMETERS = ("rate", *(prior.name for prior in _TABLE[1:]))


def priors(litres: float | None) -> tuple[Prior, ...]:
    """The prior of each parameter, for a vessel of known or unknown size.

    Parameters
    ----------
    litres : float or None
        Wine in the vessel [L].

    Returns
    -------
    tuple of Prior
        In the order of `PARAMETERS`, with `gas` for the rate; the table documents every assumption.

    Raises
    ------
    ValueError
        If `litres` is not above 0.
    """
    if litres is None:
        return _TABLE
    if not litres > 0.0:
        raise ValueError(f"litres must be above 0, got {litres}")
    gas = Prior(
        name="gas",
        centre=PER_MIN_PER_POINT_DAY * litres / BUBBLE_ML,
        spread=BUBBLE_ML_SPREAD,
        unit="bubbles a minute per point a day",
        why="0.6 to 1.7 mL a bubble and up to a third leaking by, litres known",
    )
    return (gas, *_TABLE[1:])
