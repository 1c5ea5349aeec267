"""Works out the day of each row of the table: the day of a fact, plus a wait.

Waits without a source are common practice.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ..physics.scales import fall_points
from ..verdict.reasons import Kind
from .days import days_on, earliest, newest
from .parts import PROOF_DAYS
from .windows import keeps_until

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from .facts import Facts

READ_FRESH_DAYS: Final = 30  # days that a reading counts for bottling
# If the last reading is this old, a look asks for a new one: the proof then ends weeks sooner.
LOOKED_READ_DAYS: Final[Mapping[str, int]] = {"C8": 30, "C9": 30, "C16": 60}
FIRST_LOOK_DAYS, LATER_LOOK_DAYS = 30, 7  # from a racking until it may have cleared
# From one look at a cloudy wine to the next. A torch takes no wine, and the 30 days count from the
# evening that found it clear: looked at monthly, a wine would be bottled two weeks late.
SOON_LOOK_DAYS, LATE_LOOK_DAYS = 4, 7
CLEARS_DAYS: Final = 60  # from a racking: until then it may clear by itself
BUBBLING_DAYS: Final = 3  # until bubbles that forbid bottling are counted again
LOOK_FRESH_DAYS: Final = 7  # and a count of five minutes this long
FALLING_PER_DAY: Final = 1.0  # points; more, with few bubbles, means a leak, or far from the end
SOONEST_READ, LATEST_READ = 5, 21  # days to the next reading of a falling wine
WITHIN_END_READ: Final = 10  # the same, if it may end where it is
ROUSED_DAYS, RESTARTED_DAYS = 7, 14  # days until gravity shows it
WARMED_DAYS: Final = 3  # days until a count shows it
WOKEN_DAYS: Final = 60  # days that a wine which started again must be steady
FADES_DAYS: Final = 60


def read_plus(facts: Facts, wait: int) -> date:
    """Days after the newest reading."""
    return days_on(newest(facts.gravity.read_on, facts.began), wait)


def counted_plus(facts: Facts, wait: int) -> date:
    """Days after the newest count."""
    return days_on(newest(facts.air.counted_on, facts.sugar_in), wait)


def racked_plus(facts: Facts, wait: int) -> date:
    """Days after the newest racking, or after it began to clear."""
    return days_on(newest(facts.phase_on, facts.cellar.racked_on), wait)


def bottled_plus(facts: Facts, wait: int = 0) -> date:
    """Days after the bottling."""
    return days_on(facts.bottles.on if facts.bottles else facts.phase_on, wait)


def near_and_quiet_on(facts: Facts) -> date:
    """When it was read near its end and was quiet too, or two readings showed it steady there."""
    air = facts.air
    calm = air.hushed_on or (air.quiet_on if air.quiet else air.silent_on)
    heard = newest(facts.gravity.near_on, calm) if facts.calm else None
    return newest(earliest(heard, facts.gravity.stood_low_on if facts.settled else None))


def quiet_or_pressed_on(facts: Facts) -> date:
    """When it fell quiet or, if it was never heard, when its bung was looked at."""
    pressed = facts.done.get(Kind.BUNG)
    return newest(facts.air.quiet_on, facts.air.silent_on, pressed, facts.sugar_in)


def raced(facts: Facts) -> bool:
    """Whether it falls fast with few bubbles, and is not yet where it should end."""
    last, end = facts.gravity.last, facts.known.end_sg
    at_its_end = last is not None and end is not None and last.sg <= end[1]
    return (facts.gravity.fall_per_day or 0.0) > FALLING_PER_DAY and not at_its_end


def low_on(facts: Facts) -> date:
    """When a wine falling at its present pace should be near its end."""
    last, fall, end = facts.gravity.last, facts.gravity.fall_per_day, facts.known.end_sg
    if last is None or not fall:
        return read_plus(facts, SOONEST_READ)
    days = round(fall_points(last.sg, facts.gravity.low_sg) / fall)
    latest = WITHIN_END_READ if end is not None and last.sg <= end[1] else LATEST_READ
    return read_plus(facts, min(latest, max(SOONEST_READ, days)))


def uncounted_since_warmed(facts: Facts) -> bool:
    """Whether it was moved to warmth, and not counted after that could show."""
    warmed = facts.cold.warmed_on
    return warmed is not None and counted_plus(facts, 0) < days_on(warmed, WARMED_DAYS)


def unread_since_treated(facts: Facts) -> bool:
    """Whether it was roused or restarted on or after the evening of the newest reading."""
    treated = (facts.done.get(kind) for kind in (Kind.ROUSE, Kind.RESTART))
    return any(day is not None and day >= read_plus(facts, 0) for day in treated)


def treated_on(facts: Facts) -> date:
    """When the gravity should show rousing or a starter."""
    roused, restarted = facts.done.get(Kind.ROUSE), facts.done.get(Kind.RESTART)
    return newest(
        None if roused is None else days_on(roused, ROUSED_DAYS),
        None if restarted is None else days_on(restarted, RESTARTED_DAYS),
    )


def airy_since_racked(facts: Facts) -> bool:
    """Whether it was racked, is known not to be full, and has not been topped up since."""
    racked = facts.cellar.racked_on
    return facts.volume.low and racked is not None and not facts.was_done(Kind.TOP_UP, racked)


def first_look_on(facts: Facts) -> date:
    """When to look at it: sooner after a second racking, which only removed new lees."""
    cellar = facts.cellar
    wait = FIRST_LOOK_DAYS if cellar.rackings < 2 else LATER_LOOK_DAYS
    return days_on(newest(racked_plus(facts, 0), cellar.unclear_on), wait)


def next_look_on(facts: Facts) -> date:
    """When to look at a cloudy wine again: sooner in the weeks in which most wines clear."""
    cellar = facts.cellar
    wait = SOON_LOOK_DAYS if cellar.rackings < 2 else LATE_LOOK_DAYS
    return days_on(newest(cellar.cloudy_on), wait)


def held_unread(facts: Facts) -> bool:
    """Whether it was stabilised, or sweetened after that, and not read once that was over."""
    return facts.cellar.hold_from is not None and read_plus(facts, 0) < hold_ends(facts)


def looked_at_in_hold(facts: Facts) -> bool:
    """Whether it is to be looked at before its hold is over, as it is not known to be clear."""
    cellar = facts.cellar
    if cellar.clear_on is not None:
        return False
    if cellar.cloudy_on is None:
        return first_look_on(facts) < hold_ends(facts)
    return still_clearing(facts) and next_look_on(facts) < hold_ends(facts)


def still_clearing(facts: Facts) -> bool:
    """Whether it was cloudy when last looked at, but so soon that it may clear by itself."""
    cloudy = facts.cellar.cloudy_on
    return cloudy is not None and cloudy < racked_plus(facts, CLEARS_DAYS)


def hold_ends(facts: Facts) -> date:
    """Two weeks after it was stabilised, or sweetened after that."""
    return days_on(newest(facts.cellar.hold_from), PROOF_DAYS)


def proof_read_on(facts: Facts) -> date:
    """Day of the next reading of the proof; the last one is when it has been clear long enough."""
    woke = facts.known.woke_on
    return newest(
        read_plus(facts, PROOF_DAYS),
        facts.known.earliest or facts.cellar.ripe_on,
        None if woke is None else days_on(woke, WOKEN_DAYS),
    )


def warm_proof_on(facts: Facts) -> date:
    """When two weeks of warmth should have shown a wine that has only paused."""
    warm = newest(facts.began, facts.cold.warm_since, facts.known.still_since)
    return days_on(warm, PROOF_DAYS)


def _five_minutes_until(facts: Facts) -> date | None:
    """Last day on which the newest count of five minutes still counts."""
    five = facts.air.five_minutes_on
    return None if five is None else days_on(five, LOOK_FRESH_DAYS)


def count_stale(facts: Facts, on: date) -> bool:
    """Whether it must be counted before bottling."""
    until = _five_minutes_until(facts)
    return until is None or on > until


def stale_count_on(facts: Facts) -> date:
    """Day on which that count is due."""
    until = _five_minutes_until(facts)
    return newest(facts.proven_on, None if until is None else days_on(until, 1))


def bottle_until(facts: Facts) -> date | None:
    """Last day on which the newest reading and count still count."""
    return earliest(_five_minutes_until(facts), read_plus(facts, READ_FRESH_DAYS))


def fades_on(facts: Facts) -> date:
    """Day from which the rest should be drunk."""
    return days_on(keeps_until(facts, bottled_plus(facts)), -FADES_DAYS)
