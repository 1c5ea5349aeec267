"""Works out facts on a wine's way to the bottle: warmth, clarity, gas, finings."""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING, Final

from ..diary.styles import kind_of
from ..verdict.reasons import Phase
from . import acts
from .bubbling import WORKS
from .days import days_on, newest
from .parts import Cellar, Cold

if TYPE_CHECKING:
    from datetime import date

    from .jar import Jar

__all__ = ["cellar", "cold"]

COLD_C: Final = 14.0  # the two limits of cold: common practice, no source
COLD_DROP_C: Final = 4.0
WARM_C: Final = 18.0
WARMS_UP_DAYS: Final = 2
RETURN_DAYS: Final = 21  # days before bubbles came back, for how warm it was until then
CLEAR_DAYS, FINED_DAYS = 30, 14  # days clear before bottling: common practice
TWO_PART_DAYS, FINING_DAYS = 3, 7  # days until finings have worked: common practice


def cold(jar: Jar) -> Cold:
    """How warm it is, compared with the warmth in which it worked."""
    temps = [(on, c) for on, c in jar.rows.temps_c if on >= jar.began]
    limit = WORKS * jar.about.threshold_per_min
    worked = {c.on for c in jar.rows.counts(jar.began) if c.per_min >= limit}
    own = [c for on, c in temps if on in worked]
    own_c = median(own) if own else None
    chilled = _put_in_the_cold(jar, own_c, temps)
    since = chilled or _fell_cold(own_c, temps)
    warmed = jar.rows.newest({acts.WARMED})
    return Cold(
        own_c=own_c,
        temp_c=temps[-1][1] if temps else None,
        noted_on=temps[-1][0] if temps else None,
        since=since,
        on_purpose=chilled is not None,
        warm_since=_warm_since(temps, warmed),
        warmed_on=warmed,
        **_around_return(jar.air.back_on, temps),
    )


def _around_return(back: date | None, temps: list[tuple[date, float]]) -> dict[str, float | None]:
    """Temperatures before bubbles came back, and since; None if none was noted."""
    if back is None:
        return {}
    before = [c for on, c in temps if days_on(back, -RETURN_DAYS) <= on < back]
    since = [c for on, c in temps if on >= back]
    return {
        "before_back_c": median(before) if before else None,
        "since_back_c": max(since, default=None),
    }


def _is_cold(temp_c: float, own_c: float | None) -> bool:
    return own_c is not None and temp_c < COLD_C and temp_c <= own_c - COLD_DROP_C


def _fell_cold(own_c: float | None, temps: list[tuple[date, float]]) -> date | None:
    """First evening of a cold spell that goes on; two evenings at its usual warmth end it."""
    since: date | None = None
    warm = 0
    for on, c in temps:
        if _is_cold(c, own_c):
            since, warm = since or on, 0
        else:
            warm += 1
            since = None if warm >= WARMS_UP_DAYS else since
    return since


def _put_in_the_cold(jar: Jar, own_c: float | None, temps: list[tuple[date, float]]) -> date | None:
    """Day on which it was moved to the cold, unless it was moved back or was warm since."""
    day = jar.rows.newest({acts.CHILLED})
    if day is None or jar.rows.newest({acts.WARMED}, since=day) is not None:
        return None
    back = [c for on, c in temps if on > days_on(day, 1)][-WARMS_UP_DAYS:]
    warm = len(back) == WARMS_UP_DAYS and all(
        c >= COLD_C if own_c is None else not _is_cold(c, own_c) for c in back
    )
    return None if warm else day


def _warm_since(temps: list[tuple[date, float]], warmed: date | None) -> date | None:
    """Since when it has been at 18 C, as noted, or was moved to warmth."""
    since: date | None = None
    for on, c in temps:
        since = (since or on) if c >= WARM_C else None
    moved = (
        warmed
        if warmed is not None and all(c >= WARM_C for on, c in temps if on > warmed)
        else None
    )
    return min((d for d in (since, moved) if d is not None), default=None)


def cellar(jar: Jar, phase: Phase, since: date) -> Cellar:
    """Find what was seen and done on the way to the bottle."""
    rows, anew = jar.rows, jar.sugar_in
    racked = rows.newest(acts.RACKINGS, since=since if phase is Phase.CLEARING else None)
    fined = rows.newest(acts.FININGS, since=anew)
    on_finings = fined if fined is not None and (racked is None or fined >= racked) else None
    clear, ripe, unclear = _clear(jar)
    cloudy = rows.newest({acts.CLOUDY}, since=anew)
    lees = rows.newest({acts.LEES}, since=anew)
    still, prickle = _gas(jar)
    settled = _malolactic_settled(jar, phase, since)
    may_work = kind_of(jar.about.style).malolactic or jar.stands
    two_part = on_finings is not None and on_finings == rows.newest({acts.FINED_TWO_PART})
    return Cellar(
        clear_on=clear,
        ripe_on=ripe,
        unclear_on=unclear,
        cloudy_on=cloudy if _later(cloudy, racked, clear) else None,
        lees_on=lees if _later(lees, racked) else None,
        still_on=still,
        prickle_on=prickle,
        malolactic_open=may_work and settled is None,
        malolactic_settled_on=settled if may_work else None,
        fined_on=on_finings,
        fining_days=TWO_PART_DAYS if two_part else FINING_DAYS,
        stabilised_on=jar.stabilised_on,
        hold_from=jar.hold_from,
        racked_on=racked,
        filtered=rows.newest({acts.FILTERED}, since=anew) is not None,
        rackings=len({on for on, _ in rows.on(*acts.RACKINGS) if on >= since}),
    )


def _later(day: date | None, *others: date | None) -> bool:
    return day is not None and all(other is None or day > other for other in others)


def _clear(jar: Jar) -> tuple[date | None, date | None, date | None]:
    """Clear since, long enough on, and what last ended it; the worse of one evening counts."""
    rows = jar.rows
    filtered = rows.newest({acts.FILTERED}, since=jar.sugar_in)
    hazy = {acts.CLOUDY, acts.LEES, *acts.FININGS, acts.STIRRED, acts.JOINED}
    undone = newest(jar.sugar_in, rows.newest(hazy))
    by_filter = filtered if filtered is not None and filtered >= undone else None
    said = [on for on, _ in rows.on(acts.CLEAR) if on > undone]
    since = min([*said, *([by_filter] if by_filter else [])], default=None)
    if since is None:
        return None, None, undone
    fined = rows.newest(acts.FININGS, since=jar.sugar_in)
    ripe = days_on(since, CLEAR_DAYS if fined is None else FINED_DAYS)
    return since, min(ripe, by_filter or ripe), undone


def _gas(jar: Jar) -> tuple[date | None, date | None]:
    """Still since, or prickle on; the worse of one evening counts."""
    joined = jar.rows.newest({acts.JOINED})
    still = jar.rows.newest({acts.STILL}, since=newest(jar.sugar_in, joined))
    prickle = jar.rows.newest({acts.PRICKLE, acts.GUSHED}, since=jar.sugar_in)
    if prickle is not None and not _later(still, prickle):
        return None, prickle
    gone = not _later(still, jar.sugar_in, joined) or (
        jar.air.back_on is not None and not _later(still, jar.air.back_on)
    )
    return (None if gone else still), None


def _malolactic_settled(jar: Jar, phase: Phase, since: date) -> date | None:
    """Day it was noted as over, or sulphited after the ferment ended."""
    said = jar.rows.newest({acts.MALOLACTIC_OVER}, since=jar.sugar_in)
    if phase is not Phase.CLEARING:
        return said
    ended = newest(since, jar.air.back_on)
    sulphited = jar.rows.newest({acts.SULPHITED, acts.STABILISED}, since=ended)
    return min((day for day in (said, sulphited) if day is not None), default=None)
