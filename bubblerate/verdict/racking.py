"""What the airlock and the hydrometer each say of racking, by themselves.

The limits are common practice, no source: practice differs, and these are on the lenient side,
since a wrong go on racking costs little.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from ..diary.events import Event
from ..ferment.gravity import days
from ..text import format_day, format_rate, format_rates
from .case import (
    PRESS,
    RACK_ABOVE_FINISH_POINTS,
    READ,
    READING_FRESH_DAYS,
    STEADINESS,
    SURE,
    WARM,
    Case,
    NextStep,
    Opinion,
    Reason,
    Stance,
    count,
    fall,
    impossible,
    stunned,
    unfitted,
    unread,
)
from .facts import RECENT_DAYS

if TYPE_CHECKING:
    from ..ferment.forecast import Forecast
    from ..ferment.gravity_check import GravityCheck

__all__ = ["bubbles", "gravity", "only_gas", "too_soon"]

SURE_ALONE = 0.9  # chance of being below the threshold that may stand alone
COUNT_FRESH_DAYS = 4.0
LOW_READING_FRESH_DAYS = 14.0  # gravity only falls: a low reading keeps longer than a high one
QUIET_COUNTS = 3  # and days, below the threshold, before bubbles alone may say go
QUIET_DAYS = 2.0
QUIET_BUBBLES = 3.0  # that the threshold would have made in them: none by chance once in 20 times
LEES_DAYS = 21.0  # after a racking, before new lees are worth another
SLOWING_COUNTS = 3  # with bubbles in them, before a decline is seen
STRONG_PER_THRESHOLD = 3.0  # a rate so many times the threshold is more than gas leaving

FASTEST_QUIET_PER_MIN = 6.0  # a bubble in 10 s: no threshold makes such a jar quiet
FED_DAYS = 14.0  # that sugar just added may take to wake the yeast
RISE_POINTS = 3.0  # of several readings, beyond what their scatter makes

_ROUSE = "Check the warmth (18 C or more), stir gently to rouse the yeast, read again in 3 days."


def too_soon(case: Case) -> Opinion | None:
    """Whether it was racked so lately that there is nothing to rack it off."""
    at = case.signs.racked_at
    if at is None or case.age_days(at) >= LEES_DAYS:
        return None
    due = (at + timedelta(days=LEES_DAYS)).date()
    text = f"It was racked on {format_day(at)}: leave it 3 weeks, or until new lees lie."
    step = NextStep("Look for new lees; until then keep the airlock filled.", due)
    return Opinion("wait", Reason("just-racked", text), step)


def only_gas(case: Case) -> bool:
    """Whether bubbles over a gravity that stands at its finish are few enough to be mere gas."""
    f = case.forecast
    most = STRONG_PER_THRESHOLD * case.threshold_per_min
    few = f is not None and f.per_min.median <= most and case.signs.last_per_min <= most
    return case.near_finish and few


def bubbles(case: Case) -> Opinion:
    """What the airlock says of racking."""
    s, f = case.signs, case.forecast
    if s.last_count_at is None:
        since = "" if s.broken is None else f" since it was {_done(*s.broken)}"
        text = f"No bubbles have been counted{since} that can be compared."
        return Opinion("mute", Reason("no-counts", text), count(case, 0))
    if s.cold:
        usual_c = s.usual_c if s.worked_c is None else s.worked_c
        usual = "" if usual_c is None else f" (usual {usual_c:.0f} C)"
        text = f"It stands at {s.temp_c:.0f} C{usual}: the yeast may only be resting."
        return Opinion("mute", Reason("cold-pause", text), NextStep(WARM, case.day()))
    if case.age_days(s.last_count_at) > COUNT_FRESH_DAYS:
        age = case.age_days(s.last_count_at)
        text = f"The last count that can be used is {age:.0f} days old: it says little of today."
        return Opinion("mute", Reason("stale-count", text), count(case, 0))
    treated = stunned(case)
    if treated is not None:
        return Opinion("mute", *treated)
    failed = unfitted(case)
    if failed is not None:
        return Opinion("mute", *failed)
    if f is None:
        text = f"Too few counts from the peak on to see it slow ({s.counts} so far, 3 needed)."
        return Opinion("mute", Reason("few-counts", text), count(case, 1))
    return _rate(case, f)


def _rate(case: Case, f: Forecast) -> Opinion:
    """What the fitted rate says of racking."""
    s, below, now = case.signs, f.crossing.p_already, f.per_min
    rate = f"{format_rate(now.median)} ({format_rates(now.low80, now.high80)})"
    threshold = format_rate(case.threshold_per_min)
    if below < 1.0 - SURE_ALONE:
        text = f"The airlock still makes about {rate}; the threshold is {threshold}."
        return Opinion("wait", Reason("above-threshold", text), _look_again(case, f))
    if s.last_per_min > STRONG_PER_THRESHOLD * case.threshold_per_min:
        seen = format_rate(s.last_per_min)
        text = f"The last count, surely more than {seen}, is far above what its curve foretells."
        return Opinion("wait", Reason("above-curve", text), count(case, 1))
    if now.median > FASTEST_QUIET_PER_MIN:
        text = f"The airlock makes about {rate}: too fast to be called quiet by any threshold."
        return Opinion("wait", Reason("too-fast", text), count(case, 1))
    if below < SURE:
        text = f"The rate, about {rate}, is too near the threshold of {threshold} to call."
        return Opinion("wait", Reason("near-threshold", text), count(case, 1))
    if not s.seen_working:
        text = "No count shows this ferment at work: a quiet airlock may mean it never began."
        if s.broken is not None and s.broken[0] != "pitched":
            text = f"It is quiet, but was not seen to slow since it was {_done(*s.broken)}."
        return Opinion("mute", Reason("never-seen-working", text), NextStep(READ, case.day()))
    if s.sudden:
        text = "The airlock fell quiet faster than sugar runs out: a leak, the cold, or stuck?"
        stance: Stance = "lean" if case.near_finish else "mute"
        return Opinion(stance, Reason("sudden-quiet", text), NextStep(PRESS, case.day()))
    if s.bubbling_counts < SLOWING_COUNTS:
        text = f"The airlock is quiet, but its slowing was not seen ({s.bubbling_counts} counts)."
        return Opinion("lean", Reason("slowing-unseen", text), NextStep(READ, case.day()))
    too_short = s.quiet_seconds * case.threshold_per_min / 60.0 < QUIET_BUBBLES
    if s.quiet_counts < QUIET_COUNTS or s.quiet_days < QUIET_DAYS or too_short:
        text = f"The airlock has slowed to {rate}, below {threshold}, but only just."
        return Opinion("lean", Reason("just-quiet", text), count(case, 1))
    sure = "nearly certain" if below > 0.99 else f"chance {below:.0%}"
    text = f"The airlock has slowed to {rate}, below {threshold} ({sure})."
    stance = "lean" if f.distrust or below < SURE_ALONE else "go"
    return Opinion(stance, Reason("below-threshold", text), NextStep(READ, case.day()))


def gravity(case: Case) -> Opinion:
    """What the hydrometer says of racking."""
    g = case.gravity
    if g is None:
        text = f"{unread(case)}: bubbles alone are a hint, not proof."
        return Opinion("mute", Reason("no-gravity", text), NextStep(READ, case.day()))
    age, sg = case.age_days(g.latest.when), f"{g.latest.sg:.3f}"
    if age > (READING_FRESH_DAYS if case.high_to_rack else LOW_READING_FRESH_DAYS):
        text = f"The last reading, {sg}, is {age:.0f} days old: it says little of today."
        if not case.high_to_rack or _history(case, g):
            return Opinion("mute", Reason("old-reading", text), NextStep(READ, case.day()))
        if g.most_fallen_points is not None and g.most_fallen_points < _missing(g):
            text += f" The bubbles since account for {g.most_fallen_points:.0f} points at most."
        return Opinion("doubt", Reason("old-reading", text), NextStep(READ, case.day()))
    return _against_racking(case, g) or _for_racking(case, g)


def _history(case: Case, g: GravityCheck) -> bool:
    """Whether an old high reading says nothing against today's silence.

    It does not if the ferment was at its fastest after it, and the bubbles since, where they were
    counted all along, can account for the fall that is missing.
    """
    peak_at = case.signs.peak_at
    if peak_at is None or peak_at <= g.latest.when:
        return False
    return g.most_fallen_points is None or g.most_fallen_points >= _missing(g)


def _missing(g: GravityCheck) -> float:
    """Points that the gravity had still to fall when it was last read, before racking."""
    return g.above_finish_points - RACK_ABOVE_FINISH_POINTS


def _against_racking(case: Case, g: GravityCheck) -> Opinion | None:
    """The reason, if there is one, for which a fresh reading says wait."""
    sg, again = f"{g.latest.sg:.3f}", NextStep(READ, case.day(3))
    misread = impossible(case)
    if misread is not None:
        return Opinion("wait", *misread)
    if g.leak:
        text = f"Gravity fell {fall(g)}, more than the bubbles account for: gas leaves elsewhere."
        return Opinion("wait", Reason("leak", text), NextStep(PRESS, case.day()))
    if case.falling:
        text = f"The gravity is still falling: {fall(g)}, to {sg}."
        return Opinion("wait", Reason("gravity-falling", text), again)
    f = case.forecast
    bubbling = f is not None and f.crossing.p_already < 0.5
    if case.high_to_rack and g.steady and not bubbling:
        text = (
            f"The gravity stands still at {sg}, {g.above_finish_points:.0f} points above the "
            f"finish expected ({g.finish_sg:.3f}): possibly stuck."
        )
        return Opinion("wait", Reason("stuck", text), NextStep(_ROUSE, case.day()))
    if case.high_to_rack and f is not None and not bubbling and not case.signs.cold:
        text = f"The airlock is quiet, yet the gravity is {sg}: a leak, or possibly stuck."
        return Opinion("wait", Reason("quiet-but-high", text), NextStep(PRESS, case.day()))
    if case.high_to_rack:
        text = f"The gravity, {sg}, is still high: about {g.finish_sg:.3f} is expected."
        step = count(case, 1) if f is None else _look_again(case, f)
        return Opinion("wait", Reason("gravity-high", text), step)
    rise = _rise_points(g)
    if rise > 0.0:
        text = f"Gravity rose {rise:.0f} points to {sg} with nothing added: misread?"
        return Opinion("wait", Reason("gravity-rose", text), NextStep(READ, case.day()))
    fed = case.signs.fed_at
    if fed is not None and case.age_days(fed) < FED_DAYS and not case.near_finish:
        text = f"Sugar was added on {format_day(fed)}, and at {sg} it is not yet gone."
        return Opinion("wait", Reason("fed-lately", text), again)
    if g.gas_only and not case.near_finish:
        text = f"The bubbles speak of a far larger fall than the gravity shows ({fall(g)})."
        return Opinion("wait", Reason("stories-differ", text), NextStep(READ, case.day()))
    return None


def _rise_points(g: GravityCheck) -> float:
    """Rise to the last reading, at once or bit by bit in the last two weeks; 0 where none."""
    late = [r.sg for r in g.readings if days(r.when, g.latest.when) <= RECENT_DAYS]
    step = (late[-1] - late[-2]) * 1000.0 if len(late) > 1 else 0.0
    crept = (late[-1] - min(late)) * 1000.0
    at_once = step > STEADINESS["racking"].points + 1e-6
    return max(step, crept) if at_once or crept > RISE_POINTS + 1e-6 else 0.0


def _for_racking(case: Case, g: GravityCheck) -> Opinion:
    """A low gravity: firm where it has stood still, and not from the cold."""
    sg, again = f"{g.latest.sg:.3f}", NextStep(READ, case.day(3))
    if g.steady and (case.near_finish or not case.signs.cold):
        text = f"The gravity stands still: {sg}, within 2 points for {g.steady_days:.0f} days."
        return Opinion("go", Reason("gravity-steady", text), again)
    text = f"The gravity is low, {sg}, but is not yet shown to stand still."
    return Opinion("lean", Reason("gravity-low", text), again)


def _look_again(case: Case, f: Forecast) -> NextStep:
    """Count again, the sooner the nearer the threshold is."""
    due = f.crossing.median
    if due is None:
        return count(case, 7)
    step = count(case, min(max(-0.25 * case.age_days(due), 1.0), 7.0))
    if due.date() <= case.day(1):
        return step
    return NextStep(f"{step.do} It should be quiet about {format_day(due)}.", step.on)


def _done(event: str, when: datetime) -> str:
    """An event and its day, in words."""
    return f"{Event(event).passive} on {format_day(when)}"
