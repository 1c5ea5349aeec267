"""When a wine should be ready to drink, in months from its bottling.

What is usual is common practice, no source; `bubblerate.toml` goes before it.
"""

from __future__ import annotations

from calendar import monthrange
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from ..diary.settings import VesselSettings

__all__ = ["RIPE_MONTHS", "best_by_months", "months_on", "ripe_months"]

# From bottling to the first and to the better glass [months], by style; common practice, no source.
RIPE_MONTHS: Final[dict[str, tuple[float, float]]] = {
    "dry wine": (6.0, 12.0),
    "cider": (3.0, 6.0),
    "perry": (3.0, 6.0),
    "mead": (6.0, 12.0),
    "strong mead": (12.0, 60.0),
    "apple wine": (6.0, 12.0),
    "plum wine": (6.0, 12.0),
    "rhubarb wine": (6.0, 12.0),
    "elderberry wine": (12.0, 24.0),
    "sloe wine": (12.0, 24.0),
    "parsnip wine": (12.0, 24.0),
    "strawberry wine": (6.0, 12.0),
}
_USUAL_MONTHS: Final = (6.0, 12.0)  # of most fruit
_FADES_MONTHS: Final = {"strawberry wine": 12.0}  # the early end of 12 to 24


def ripe_months(known: VesselSettings) -> tuple[float, float]:
    """First and better months for drinking.

    Parameters
    ----------
    known : VesselSettings

    Returns
    -------
    first, better : float
        From bottling [months].
    """
    usual = RIPE_MONTHS.get((known.style or "").casefold(), _USUAL_MONTHS)
    first = usual[0] if known.drink_from_months is None else known.drink_from_months
    return first, max(first, usual[1])


def best_by_months(known: VesselSettings) -> float | None:
    """Months by which it is at its best; None where it is not known to fade."""
    return known.best_by_months or _FADES_MONTHS.get((known.style or "").casefold())


def months_on(day: date, months: float) -> date:
    """Day so many months on: the last of a month that is too short, and half a month is 15 days.

    Examples
    --------
    >>> months_on(date(2026, 11, 30), 3.0).isoformat()
    '2027-02-28'
    """
    whole = int(months)
    year, month = divmod(day.year * 12 + day.month - 1 + whole, 12)
    last = monthrange(year, month + 1)[1]
    return date(year, month + 1, min(day.day, last)) + timedelta(days=round(30.0 * (months % 1.0)))
