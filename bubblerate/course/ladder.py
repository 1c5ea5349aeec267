"""Helps for a stuck ferment, one after another: what was tried, and when to try the next.

The days are from the table of steps; each wait is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from ..verdict.reasons import Kind
from .days import days_on, newest
from .parts import PROOF_DAYS
from .waits import RESTARTED_DAYS, ROUSED_DAYS

if TYPE_CHECKING:
    from datetime import date

    from .facts import Facts

__all__ = ["LADDER", "ladder"]

WARM_DAYS: Final = 7
# Each help, and the days to wait before the next.
LADDER: Final = (
    (Kind.WARM, WARM_DAYS),
    (Kind.ROUSE, ROUSED_DAYS),
    (Kind.RESTART, RESTARTED_DAYS),
    (Kind.STABILISE, PROOF_DAYS),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rung:
    """One thing to try.

    Attributes
    ----------
    kind : Kind
    done_on : date or None
        Day it was done.
    on : date
        Day it was done, or may be done at the soonest.
    until : date
        Day until which to wait for it to work.
    """

    kind: Kind
    done_on: date | None
    on: date
    until: date


def ladder(facts: Facts, asked_on: date) -> tuple[Rung, ...]:
    """Find the things to try for a stuck wine; none if it is not stuck.

    Parameters
    ----------
    facts : Facts
    asked_on : date
        Evening asked about.

    Returns
    -------
    tuple of Rung
        In the order to try them; none starts before the one above had its time.
    """
    if not facts.stuck:
        return ()
    free = newest(facts.gravity.read_on, facts.began)
    rungs = []
    for kind, days in LADDER:
        done = _done(facts, kind)
        on = done or newest(free, asked_on)
        until = days_on(on, days)
        rungs.append(Rung(kind=kind, done_on=done, on=on, until=until))
        free = until
    return tuple(rungs)


def _done(facts: Facts, kind: Kind) -> date | None:
    """When a help was tried on the sugar that is stuck now."""
    if kind is Kind.WARM:
        return facts.cold.warm_since
    since = facts.gravity.slow_since
    return facts.done[kind] if facts.was_done(kind, since) else None
