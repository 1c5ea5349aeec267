"""What the engine is given besides the rows: what the maker said, and what the sums know.

Rates are bubbles a minute, gravities SG, volumes litres.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from .budget import Budget

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

__all__ = ["BUBBLING", "ODD", "READINGS", "RISK", "About", "Known", "no_reading"]

READINGS: Final = "readings"  # fewer than two, 14 dates apart
ODD: Final = "odd"  # the last reading is far from the others, so read again
BUBBLING: Final = "bubbling"  # more than the weather makes
RISK: Final = "risk"  # too likely that sugar is left


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """What the maker says about a jar, besides the rows.

    Attributes
    ----------
    threshold_per_min : float
        Rate below which a jar of up to 10 L counts as quiet [bubbles/min].
    style : str or None
    litres, full_litres : float or None
        Wine in it now, and when filled to its right headspace [L].
    pitched_on : date or None
        When the yeast went in, if no row says so.
    spare_for : str
        Jar that this one is there to top up; empty if it is not a spare.
    drink_from_months, best_by_months : float or None
        Months from bottling.
    """

    threshold_per_min: float = 1.0
    style: str | None = None
    litres: float | None = None
    full_litres: float | None = None
    pitched_on: date | None = None
    spare_for: str = ""
    drink_from_months: float | None = None
    best_by_months: float | None = None


def no_reading() -> None:
    """No reading can make it ready: a function with a name, so that `Known` can be pickled."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What the sums say about the rows, as of the last row and never by the clock.

    Attributes
    ----------
    near : bool
        Within 5 points of its end with 80 % chance, and a reading says so.
    near_before : bool
        Likely so before it was racked, filtered or fined that evening, where it was.
    points_left : tuple of float or None
        80 % range of what can still ferment [points].
    ended : bool
        Steady, within the range of its end.
    still_since : date or None
        First of the readings that are steady, if they are for 14 days or more.
    woke_on : date or None
        Reading below a level at which it had been steady; None once the 60 days after it, 14 of
        them warm, showed no fall.
    falling : bool
        The readings since it slowed are surely falling.
    end_sg : tuple of float or None
        80 % range of the gravity at which it should end [SG].
    ready : bool
        Nothing in the weighed readings, counts and warmth speaks against bottling. What was seen
        (clear, still, malolactic) and tonight's look are facts of the table.
    missing : frozenset of str
        What is missing if not: `READINGS`, `ODD`, `BUBBLING`, `RISK`.
    chance_fizz, chance_burst : float or None
        Chance that more than 2, or 5, points would ferment in the bottle.
    find_earliest : callable
        Finds `earliest`, which few rows of the table ask for.
    recount_on : date or None
        Evening of a longer count that can settle it, if only its last, a short one, speaks against
        bottling.
    quiet : tuple of date or None
        Early, likely and late day (80 %) on which the count falls below the threshold.
    sudden : bool
        The airlock fell quiet faster than sugar runs out: no racking on bubbles alone.
    leak_on : date or None
        Reading that showed more fall than the bubbles can explain.
    budget : Budget
        Whether the curve behind `quiet` uses up the sugar that the gravity shows; if not, `quiet`
        is no date.
    curve_failed : bool
        There were enough counts, but no curve that can be trusted: no racking on counts alone.
    """

    near: bool = False
    near_before: bool = False
    points_left: tuple[float, float] | None = None
    ended: bool = False
    still_since: date | None = None
    woke_on: date | None = None
    falling: bool = False
    end_sg: tuple[float, float] | None = None
    ready: bool = False
    missing: frozenset[str] = frozenset()
    chance_fizz: float | None = None
    chance_burst: float | None = None
    find_earliest: Callable[[], date | None] = field(default=no_reading, repr=False, compare=False)
    recount_on: date | None = None
    quiet: tuple[date, date, date] | None = None
    budget: Budget = Budget.CLOSED
    curve_failed: bool = False
    sudden: bool = False
    leak_on: date | None = None

    @property
    def earliest(self) -> date | None:
        """Day of the next reading on the way to the soonest go, if nothing moves, or None."""
        return self.find_earliest()
