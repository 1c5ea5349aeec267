"""Works out which phase a jar is in, from facts and not by counting rackings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ..physics.scales import fall_points
from ..verdict.reasons import Phase
from . import acts
from .days import days_on
from .parts import MOVED_POINTS

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from .jar import Jar
    from .parts import Bottles, Reading

__all__ = ["phase"]

FALLEN_POINTS: Final = 10.0  # points fallen since the act: it works again
TOLD_DAYS: Final = 14  # days: readings this soon after an act tell what it was then


def phase(jar: Jar, in_bottle: Bottles | None) -> tuple[Phase, date]:
    """Find the phase of a jar, and since when.

    Parameters
    ----------
    jar : Jar
    in_bottle : Bottles or None
        The wine in bottle, if none is left in the jar.

    Returns
    -------
    Phase, date
    """
    gone, part = _gone(jar), in_bottle is not None and in_bottle.part
    if gone is not None and not (part and _away(jar) is None):  # bottles that may burst stay
        return Phase.EMPTY, gone
    if in_bottle is not None:
        last = jar.rows.newest({acts.OPENED}, since=in_bottle.on)
        if in_bottle.stock is not None and in_bottle.stock <= 0:
            return Phase.EMPTY, last or in_bottle.on
        return Phase.BOTTLED, in_bottle.on
    clearing = _clearing(jar)
    return (Phase.FERMENTING, jar.sugar_in) if clearing is None else (Phase.CLEARING, clearing)


def _away(jar: Jar) -> date | None:
    away = jar.rows.newest({acts.PUT_AWAY})
    return away if away is not None and away >= jar.rows.last else None


def _gone(jar: Jar) -> date | None:
    """Put away, or racked, split or joined to nothing."""
    if (away := _away(jar)) is not None:
        return away
    emptying = {acts.RACKED, acts.SPLIT, acts.JOINED}
    none = [on for on, row in jar.rows.on(*emptying) if row.litres == 0.0]
    return none[-1] if none and none[-1] >= jar.rows.last else None


def _clearing(jar: Jar) -> date | None:
    """Day of the oldest clearing act that is still true."""
    acted = sorted({on for on, _ in jar.rows.on(*acts.RACKINGS, *acts.FININGS, acts.STABILISED)})
    return next((on for on in acted if _holds(jar, on) and _clears(jar, on)), None)


def _holds(jar: Jar, act: date) -> bool:
    """Whether nothing since the act shows that it works again."""
    if act <= jar.sugar_in:
        return False
    busy = jar.air.busy_on
    if busy is not None and busy > act and not jar.stands:
        return _stabilised(jar, act) and jar.air.quiet  # it did not stop it, but it has ended
    read = jar.gravity.readings
    then = [r.sg for r in read if r.on <= act][-1:] or [r.sg for r in read if r.on > act][:1]
    return not then or fall_points(then[0], read[-1].sg) <= FALLEN_POINTS


def _stabilised(jar: Jar, act: date) -> bool:
    return any(on == act for on, _ in jar.rows.on(acts.STABILISED))


def _clears(jar: Jar, act: date) -> bool:
    """Whether it was near its end, by what was known then or by a reading in the next 14 days."""
    then = jar.unjoined(act)  # often racked and joined on one evening
    if _stabilised(jar, act) and (then.air.state != "busy" or jar.air.quiet):
        return True
    if then.gravity.near or (then.air.quiet and not then.gravity.high):
        return True
    if then.known.near_before and then.gravity.slow and then.air.state != "busy":
        return True
    told = [r for r in jar.gravity.readings if act < r.on <= days_on(act, TOLD_DAYS)]
    return any(jar.upto(r.on).gravity.near for r in told) or _stood(jar, told)


def _stood(jar: Jar, told: Sequence[Reading]) -> bool:
    """Whether it reads near its end now, and no lower than soon after the act."""
    if not told or not jar.gravity.near:
        return False
    return fall_points(told[0].sg, jar.gravity.readings[-1].sg) < MOVED_POINTS
