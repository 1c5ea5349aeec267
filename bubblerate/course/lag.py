"""The first days of a ferment: how long silence is usual, by temperature, and when to worry.

Hours and days are common practice, no source; the day to act is from the table of steps.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from datetime import date

    from .facts import Facts

__all__ = ["Lag", "lag"]

# Up to this temperature [C], the usual silence [h]; the last also covers warmer ones.
LAGS: Final = ((12.0, (36, 120)), (15.0, (24, 96)), (20.0, (12, 72)), (float("inf"), (6, 48)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Lag:
    """A ferment that has not been heard yet.

    Attributes
    ----------
    usual_hours : (int, int)
        From the yeast to the first bubbles, at this temperature.
    temp_c : float or None
        As last noted; None means a warm room is assumed.
    began : date
    worry_on : date
        From this day on, look for the cause.
    """

    usual_hours: tuple[int, int]
    temp_c: float | None
    began: date
    worry_on: date


def lag(facts: Facts) -> Lag | None:
    """Find what is usual in the first days; None if it was heard, or nobody noted the start."""
    if facts.air.heard or not facts.start_written or facts.gravity.slow:
        return None
    temp_c = facts.cold.temp_c
    at_c = 18.0 if temp_c is None else temp_c
    hours = next(hours for below, hours in LAGS if at_c < below)
    return Lag(usual_hours=hours, temp_c=temp_c, began=facts.sugar_in, worry_on=facts.lag_ends)
