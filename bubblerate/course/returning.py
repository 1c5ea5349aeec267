"""Tells whether warmth explains bubbles that came back in a quiet jar.

Warm wine holds less gas than cold wine. What a warmer room drives out of a full jar is worked out
from the published solubility. A bubble is taken as 1 mL, the middle of those measured.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ..physics.constants import MINUTES_PER_DAY
from ..physics.gas import saturated_g_per_litre, wet_gas_ml
from ..text import format_day
from ..verdict.reasons import Kind, Phase

if TYPE_CHECKING:
    from .facts import Facts

__all__ = ["driven_out_ml", "returned", "returned_text"]

BUBBLE_ML: Final = 1.0
WARMER_C: Final = 1.0  # a room thermometer shows no smaller difference
USUAL_L: Final = 4.5
USUAL_ABV_PCT: Final = 12.0
HELPED_DAYS: Final = 14  # until stirring or a starter shows: common practice
MOST_C: Final = 40.0  # the solubility is published from 0 C to this


def returned(facts: Facts) -> bool:
    """Whether it bubbles again after quiet, and was not read since.

    Not if it was stirred, given a starter or, while it still fermented, warmed to that end.
    """
    back, read = facts.air.back_on, facts.gravity.read_on
    if back is None or (read is not None and read >= back):
        return False
    helped = [facts.done.get(kind) for kind in (Kind.ROUSE, Kind.RESTART)]
    if facts.phase is Phase.FERMENTING:
        helped.append(facts.cold.warmed_on)
    return all(day is None or not 0 <= (back - day).days <= HELPED_DAYS for day in helped)


def driven_out_ml(litres: float, before_c: float, now_c: float) -> float:
    """Gas that leaves a saturated wine when it gets warmer [mL]; 0 if it does not."""
    before_c, now_c = (min(max(c, 0.0), MOST_C) for c in (before_c, now_c))
    held_g = saturated_g_per_litre(before_c, abv_pct=USUAL_ABV_PCT)
    holds_g = saturated_g_per_litre(now_c, abv_pct=USUAL_ABV_PCT)
    freed_g = max(0.0, float(held_g - holds_g)) * litres
    return float(wet_gas_ml(freed_g, temp_c=now_c))


def returned_text(facts: Facts) -> str:
    """Word since when it bubbles again, and whether warmth and dissolved gas explain that.

    Parameters
    ----------
    facts : Facts
        Of a jar that has `returned`.

    Returns
    -------
    str
        One sentence.
    """
    air, before_c, now_c = facts.air, facts.cold.before_back_c, facts.cold.since_back_c
    assert air.back_on is not None
    lead = f"Bubbling again since {format_day(air.back_on, year=False)}"
    if before_c is None or now_c is None:
        return f"{lead}; without temperatures, it may only be warmer."
    warmer = now_c - before_c
    if warmer < WARMER_C:
        return f"{lead}, and it is no warmer: yeast or malolactic, unless a reading shows only gas."
    days = 1 if air.counted_on is None else (air.counted_on - air.back_on).days + 1
    made_ml = (air.per_min or 0.0) * MINUTES_PER_DAY * days * BUBBLE_ML
    litres = facts.volume.litres or facts.volume.full or USUAL_L
    enough = made_ml <= driven_out_ml(litres, before_c, now_c)
    why = (
        "that warmth can drive out this much gas"
        if enough
        else ("that warmth cannot drive out this much gas")
    )
    return f"{lead}, {warmer:.0f} C warmer: {why}."
