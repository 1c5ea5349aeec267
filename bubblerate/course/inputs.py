"""What the engine is given besides the rows: the maker's word, and what the sums know.

Rates are bubbles a minute, gravities SG, volumes litres.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from .budget import Budget

if TYPE_CHECKING:
    from datetime import date

__all__ = ["BUBBLING", "ODD", "READINGS", "RISK", "About", "Known"]

READINGS: Final = "readings"  # fewer than two, 14 dates apart
ODD: Final = "odd"  # the last reading is far from the others: read again
BUBBLING: Final = "bubbling"  # more than the weather makes
RISK: Final = "risk"  # too likely that sugar is left


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """What the maker says of a jar, besides the rows.

    Attributes
    ----------
    threshold_per_min : float
        Rate under which a jar of up to 10 L counts as quiet [bubbles/min].
    style : str or None
    litres, full_litres : float or None
        Wine in it, and when it is filled to its right headspace [L].
    pitched_on : date or None
        When the yeast went in, if no row says so.
    spare_for : str
        Jar that this one is kept to top up; empty if it is not a spare.
    drink_from_months, best_by_months : float or None
        From bottling.
    """

    threshold_per_min: float = 1.0
    style: str | None = None
    litres: float | None = None
    full_litres: float | None = None
    pitched_on: date | None = None
    spare_for: str = ""
    drink_from_months: float | None = None
    best_by_months: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What the sums make of the rows, as of the last one and never of the clock.

    Attributes
    ----------
    near : bool
        Within 5 points of its end, by 80 %, and a reading says so.
    near_before : bool
        Likely so before it was racked, filtered or fined that evening, where it was.
    points_left : tuple of float or None
        80 % range of what can still ferment [points].
    ended : bool
        Standing still inside the range of its end.
    still_since : date or None
        First of the readings that are steady, if they are for 14 days or more.
    woke_on : date or None
        Reading that showed it below a level at which it had stood; None once the 60 days after it,
        14 of them warm, showed no fall.
    falling : bool
        The readings since it slowed surely fall.
    end_sg : tuple of float or None
        80 % range of the gravity at which it should end [SG].
    ready : bool
        Nothing in the weighing of readings, counts and warmth speaks against bottling. What was
        seen (clear, still, malolactic) and the look on the evening are facts of the table.
    missing : frozenset of str
        What it lacks otherwise: `READINGS`, `ODD`, `BUBBLING`, `RISK`.
    chance_fizz, chance_burst : float or None
        That more than 2, 5 points would ferment in the bottle.
    earliest : date or None
        Day of the next reading on the way to the soonest go, if nothing moves; None where no
        reading can make it ready.
    recount_on : date or None
        Evening of a longer count that can settle it, where only its last, a short one, stands
        against bottling.
    quiet : tuple of date or None
        Early, likely and late day (80 %) on which the count falls below the threshold.
    sudden : bool
        The airlock fell quiet faster than sugar runs out: no racking on bubbles alone.
    leak_on : date or None
        Reading that showed more fall than the bubbles can tell.
    budget : Budget
        Whether the curve behind `quiet` spends the sugar that the gravity leaves; if not, `quiet`
        is not a date.
    curve_failed : bool
        Counts enough for a curve gave none that can be trusted: no racking on them alone.
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
    earliest: date | None = None
    recount_on: date | None = None
    quiet: tuple[date, date, date] | None = None
    budget: Budget = Budget.CLOSED
    curve_failed: bool = False
    sudden: bool = False
    leak_on: date | None = None
