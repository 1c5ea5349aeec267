"""Works out between which days a wine should be bottled, and drunk.

Months from pitching, and in bottle, are common practice, no source. Handbooks say: clear in three
months at least, better six; bottled about six months after the end. What the maker says about the
jar comes first.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final, NamedTuple

from ..diary.styles import kind_of
from ..verdict.reasons import Phase
from .budget import Budget
from .days import days_on, months_later, newest

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from .facts import Facts

__all__ = [
    "STYLES",
    "Usual",
    "Window",
    "bottling_window",
    "drink_from",
    "drinking_window",
    "usual_of",
]

CLEARS_DAYS: Final = 60  # two looks of 30 days
CLEARS_LATE_DAYS: Final = 120  # and a second racking in between
HAZY_DAYS: Final = 60
LEES_DAYS: Final = 44  # a racking two weeks later, and the look 30 days after it
USUAL_FERMENT_DAYS: Final = (21, 60)  # if no day of quiet is known yet


class Usual(NamedTuple):
    """Usual months of a style: bottled between (from pitching), then time in bottle."""

    low: float
    high: float
    first: float
    better: float
    keeps: float


USUAL: Final = Usual(4, 7, 6, 12, 36)
# fmt: off
STYLES: Final[Mapping[str, Usual]] = {
    "flower wine":     Usual(3, 5, 3, 6, 18),
    "rhubarb wine":    Usual(4, 6, 6, 12, 24),
    "apple wine":      Usual(4, 7, 6, 12, 36),
    "plum wine":       Usual(5, 8, 6, 12, 48),
    "strawberry wine": Usual(4, 6, 6, 9, 24),
    "elderberry wine": Usual(6, 10, 12, 24, 60),
    "sloe wine":       Usual(6, 10, 12, 24, 60),
    "parsnip wine":    Usual(6, 9, 12, 24, 60),
    "mead":            Usual(5, 9, 6, 12, 60),
    "strong mead":     Usual(9, 15, 12, 24, 60),
    "cider":           Usual(3, 6, 3, 6, 24),
    "perry":           Usual(4, 7, 3, 6, 24),
}
# fmt: on


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Two days between which something should be done, and the earliest day from the table.

    `low` equals `high` once the day is known; `if_` names what the window supposes, as keys of
    `words.SUPPOSED`.
    """

    low: date
    high: date
    soonest: date
    if_: tuple[str, ...] = ()


# Words that recognise a maker's own name for a wine; the first one found decides.
_WORDS: Final = (
    (r"flower|blossom", "flower wine"),
    (r"\brhubarb", "rhubarb wine"),
    (r"\bapple", "apple wine"),
    (r"\b(plum|damson|greengage)", "plum wine"),
    (r"\bstrawberr", "strawberry wine"),
    (r"\belder", "elderberry wine"),
    (r"\bsloe", "sloe wine"),
    (r"\bparsnip", "parsnip wine"),
    (r"\bstrong (mead|honey)", "strong mead"),
)


@lru_cache(maxsize=256)  # a plan uses it at every step
def usual_of(
    style: str | None, *, drink_from_months: float | None, best_by_months: float | None
) -> Usual:
    """Find the months of a style; what the maker says comes first.

    Parameters
    ----------
    style : str or None
        In the maker's words.
    drink_from_months, best_by_months : float or None
        From bottling, as the maker says.

    Returns
    -------
    Usual

    Examples
    --------
    >>> usual_of("Damson, dry", drink_from_months=None, best_by_months=None).first
    6
    """
    text = (style or "").casefold()
    kind = kind_of(text).style
    word = next((name for words, name in _WORDS if re.search(words, text)), "")
    if kind in ("cider", "perry", "mead") and word != "strong mead":
        word = kind
    of_style = STYLES.get(word, USUAL)
    first = of_style.first if drink_from_months is None else drink_from_months
    keeps = best_by_months or of_style.keeps
    return of_style._replace(
        first=first, better=max(first, of_style.better), keeps=max(first, keeps)
    )


def usual(facts: Facts) -> Usual:
    """Months of its style; what the maker says comes first."""
    about = facts.about
    return usual_of(
        about.style,
        drink_from_months=about.drink_from_months,
        best_by_months=about.best_by_months,
    )


def drink_from(facts: Facts, bottled: date) -> date:
    """Day of the first glass of a wine bottled on this day."""
    return months_later(bottled, usual(facts).first)


def keeps_until(facts: Facts, bottled: date) -> date:
    """Day until which a wine bottled on this day is at its best."""
    return months_later(bottled, usual(facts).keeps)


def bottling_window(facts: Facts, soonest: date) -> Window:
    """Find the days between which it should be bottled.

    Parameters
    ----------
    facts : Facts
        Of a wine in the jar.
    soonest : date
        Day of bottling from the table, if all goes well.

    Returns
    -------
    Window
    """
    supposed = _supposed(facts)
    if facts.cellar.clear_on is not None:
        return Window(low=soonest, high=soonest, soonest=soonest, if_=supposed)
    early, late = _ends(facts)
    months = usual(facts)
    low = newest(
        soonest,
        days_on(early, CLEARS_DAYS),
        months_later(facts.began, months.low),
        *_held_up(facts),
    )
    late_on = newest(days_on(late, CLEARS_LATE_DAYS), months_later(facts.began, months.high))
    return Window(low=low, high=newest(low, late_on), soonest=soonest, if_=supposed)


def drinking_window(facts: Facts, bottling: Window) -> Window:
    """Days between the first glass and the best ones, for a wine bottled in its window."""
    months = usual(facts)
    return Window(
        low=months_later(bottling.low, months.first),
        high=months_later(bottling.high, months.better),
        soonest=months_later(bottling.soonest, months.first),
        if_=(*bottling.if_, "bottled"),
    )


def _ends(facts: Facts) -> tuple[date, date]:
    """Early and late end of the ferment (80 %); once it clears, both are the day of that act."""
    if facts.phase is Phase.CLEARING:
        return facts.phase_on, facts.phase_on
    if facts.air.quiet_on is not None:
        return facts.air.quiet_on, facts.air.quiet_on
    early, late = (days_on(facts.sugar_in, days) for days in USUAL_FERMENT_DAYS)
    if facts.known.quiet is None:
        return early, late
    soon, likely, latest = facts.known.quiet
    if facts.known.budget is Budget.SHORT:  # the day from the bubbles is too early
        return likely, newest(late, latest)
    return soon, latest


def _held_up(facts: Facts) -> list[date]:
    """First days allowed by what was seen."""
    cellar = facts.cellar
    waits = (
        (cellar.cloudy_on, HAZY_DAYS),
        (cellar.lees_on, LEES_DAYS),
        (cellar.prickle_on, 14),
        (facts.known.woke_on, 60),
    )
    return [days_on(day, wait) for day, wait in waits if day is not None]


def _supposed(facts: Facts) -> tuple[str, ...]:
    """What a plan supposes."""
    supposed = {
        "warm": facts.asleep,
        "ends": facts.phase is Phase.FERMENTING,
        "clears": facts.cellar.clear_on is None,
        "malolactic": facts.cellar.malolactic_open,
    }
    return tuple(key for key, holds in supposed.items() if holds)
