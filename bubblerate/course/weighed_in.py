"""Adds the sulphite and sorbate of a row to a wine, in draws of `mass`."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from ..diary.events import Event
from .days import evening_of
from .mass import DRAWS, Draws, Wine, readable

if TYPE_CHECKING:
    from datetime import date

    from ..diary.visit import Visit

__all__ = ["DOSED", "Unweighed", "dosed", "like"]

DOSED: Final = frozenset({Event.SULPHITED, Event.STABILISED})
_LIKE_ABV, _LIKE_POINTS = 1.5, 4.0  # wine topped up from an unknown jar


@dataclass(frozen=True, slots=True)
class Unweighed:
    """A dose whose amount nobody noted."""

    what: Literal["sulphite", "sorbate"]
    vessel: str
    on: date


def dosed(wine: Wine, row: Visit, *, draws: Draws, vessel: str) -> tuple[Wine, list[Unweighed]]:
    """Give the wine after a row of `DOSED`, and what in the dose was not noted."""
    sulphite_g, sorbate_g = (
        draws.dose(grams) if grams else np.zeros(DRAWS) for grams in (row.sulphite_g, row.sorbate_g)
    )
    on, lacking = evening_of(row.when), []
    if row.sulphite_g is None:
        lacking.append(Unweighed("sulphite", vessel, on))
    if row.sorbate_g is None and row.event is Event.STABILISED:
        lacking.append(Unweighed("sorbate", vessel, on))
    return wine.dosed(sulphite_g=sulphite_g, sorbate_g=sorbate_g), lacking


def like(wine: Wine, draws: Draws) -> Wine:
    """Wine from an unknown jar: much like this one, with all, some or none of its doses."""
    abv = np.clip(wine.abv_pct + draws.normal(0.0, _LIKE_ABV), 0.0, 24.0)
    some = draws.between(0.0, 1.0)
    return replace(
        wine,
        abv_pct=abv,
        sg=readable(wine.sg + 0.001 * draws.normal(0.0, _LIKE_POINTS)),
        so2_mg_per_litre=some * wine.so2_mg_per_litre,
        sorbic_mg_per_litre=some * wine.sorbic_mg_per_litre,
    )
