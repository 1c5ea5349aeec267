"""The starting chances (priors) for sugar left in a wine, one set for each question."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

__all__ = ["BOTTLING", "HELD", "RACKING", "Before"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """What is assumed before any evidence (our judgement, no source).

    Attributes
    ----------
    ended, falling, paused : float
        Chances of the three stories, which sum to 1.
    left_mean : float or None
        Mean points left in a wine that has not ended, exponential; None if the finish alone tells.
    pace, pace_spread : float
        Share of them that goes in a day at 20 C, and its spread in natural logarithms.
    above : float
        Earlier readings count if no more than this above the lowest ones [points].
    reading_days, count_days : int
        How far back readings and counts tell about today.
    """

    ended: float
    falling: float
    paused: float
    left_mean: float | None
    pace: float
    pace_spread: float
    above: float
    reading_days: int
    count_days: int


BOTTLING: Final = Before(
    ended=0.76,
    falling=0.18,
    paused=0.06,
    left_mean=6.0,
    pace=0.03,  # half-lives of 23 days, 5 to 110
    pace_spread=0.8,
    above=5.0,
    reading_days=120,
    count_days=14,
)

# After stabilising: one in forty fails, often slowly; then all the sweetness may ferment.
HELD: Final = Before(
    ended=0.975,
    falling=0.015,
    paused=0.01,
    left_mean=None,
    pace=0.01,
    pace_spread=1.2,
    above=5.0,
    reading_days=120,
    count_days=14,
)
RACKING: Final = Before(
    ended=0.30,
    falling=0.65,
    paused=0.05,
    left_mean=12.0,
    pace=0.08,
    pace_spread=0.9,
    above=20.0,
    reading_days=30,
    count_days=3,
)
