"""What the airlock and the hydrometer each say about racking, by themselves.

Practice differs. The limits are lenient, since a wrong go on racking costs little. They are in
`limits`, each with its reason.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from ..ferment.gravity import days
from ..physics.scales import fall_points
from ..text import format_day, format_rate, format_rates
from . import sentences
from .case import Opinion
from .limits import (
    COUNT_AGAIN_SHARE,
    COUNT_FRESH_DAYS,
    EVEN_CHANCE,
    FASTEST_QUIET_PER_MIN,
    FED_DAYS,
    LATEST_COUNT_DAYS,
    LEES_DAYS,
    LOW_READING_FRESH_DAYS,
    QUIET_BUBBLES,
    QUIET_COUNTS,
    QUIET_DAYS,
    RACK_ABOVE_FINISH_POINTS,
    READING_FRESH_DAYS,
    RECENT_DAYS,
    RISE_POINTS,
    SG_ROUNDING,
    SLOWING_COUNTS,
    SOONEST_COUNT_DAYS,
    STEADINESS,
    STRONG_PER_THRESHOLD,
    SURE,
    SURE_ALONE,
)
from .reasons import COUNT, NextStep, Question, done, fell, since_done, since_fed, sure, usual

if TYPE_CHECKING:
    from ..ferment.forecast import Forecast
    from ..ferment.gravity_check import GravityCheck
    from .case import Case, Stance

__all__ = ["bubbles", "gravity", "only_gas", "too_soon"]


def too_soon(case: Case) -> Opinion | None:
    """Whether it was racked so recently that there are no lees to rack it off.

    Parameters
    ----------
    case : Case

    Returns
    -------
    Opinion or None
        None if that was long ago, or never.
    """
    at = case.facts.acts.racked_at
    if at is None or case.age_days(at) >= LEES_DAYS:
        return None
    reason, step = case.say(sentences.JUST_RACKED, day=format_day(at))
    return Opinion("wait", reason, step.due((at + timedelta(days=LEES_DAYS)).date()))


def only_gas(case: Case) -> bool:
    """Whether bubbles, with gravity steady at its finish, are few enough to be old gas only."""
    f = case.forecast
    most = STRONG_PER_THRESHOLD * case.threshold_per_min
    few = f is not None and f.per_min.median <= most and case.facts.airlock.last_per_min <= most
    return case.near_finish and few


# --- the airlock ---------------------------------------------------------------------------------


def bubbles(case: Case) -> Opinion:
    """Ask the airlock about racking.

    Parameters
    ----------
    case : Case

    Returns
    -------
    Opinion
    """
    mute = _mute(case)
    if mute is not None:
        return mute
    assert case.forecast is not None
    return _above(case, case.forecast) or _unseen(case) or _below(case, case.forecast)


def _mute(case: Case) -> Opinion | None:
    """Why the airlock cannot tell, as far as that is known without a forecast."""
    airlock, warmth, broken = case.facts.airlock, case.facts.warmth, case.facts.acts.broken
    finding = None
    if airlock.last_count_at is None:
        finding = case.say(sentences.NO_COUNTS, since=since_done(broken))
    elif warmth.cold:
        usual_c = warmth.usual_c if warmth.worked_c is None else warmth.worked_c
        finding = case.say(sentences.COLD_PAUSE, temp_c=warmth.temp_c, usual=usual(usual_c))
    elif case.age_days(airlock.last_count_at) > COUNT_FRESH_DAYS:
        age_days = case.age_days(airlock.last_count_at)
        finding = case.say(sentences.STALE_COUNT, age_days=age_days)
    elif case.stunned is not None:
        finding = case.stunned
    elif case.unfitted is not None:
        finding = case.unfitted
    elif case.forecast is None:
        finding = case.say(sentences.FEW_COUNTS_TO_SLOW, counts=airlock.counts)
    return None if finding is None else Opinion("mute", *finding)


def _above(case: Case, f: Forecast) -> Opinion | None:
    """The rate is above the threshold, or may be."""
    p_below, last_per_min = f.crossing.p_already, case.facts.airlock.last_per_min
    rate, threshold = _rate(f), format_rate(case.threshold_per_min)
    if p_below < 1.0 - SURE_ALONE:
        reason, _ = case.say(sentences.ABOVE_THRESHOLD, rate=rate, threshold=threshold)
        return Opinion("wait", reason, _count_again(case, f))
    if last_per_min > STRONG_PER_THRESHOLD * case.threshold_per_min:
        return Opinion("wait", *case.say(sentences.ABOVE_CURVE, rate=format_rate(last_per_min)))
    if f.per_min.median > FASTEST_QUIET_PER_MIN:
        return Opinion("wait", *case.say(sentences.TOO_FAST, rate=rate))
    if p_below < SURE:
        return Opinion("wait", *case.say(sentences.NEAR_THRESHOLD, rate=rate, threshold=threshold))
    return None


def _unseen(case: Case) -> Opinion | None:
    """The airlock is quiet, but nobody saw it slow down, or it stopped too suddenly."""
    airlock, broken = case.facts.airlock, case.facts.acts.broken
    if not airlock.seen_working:
        if broken is not None and broken.event != "pitched":
            return Opinion("mute", *case.say(sentences.NOT_SEEN_SINCE, done=done(broken)))
        return Opinion("mute", *case.say(sentences.NEVER_WORKED))
    if airlock.sudden:
        stance: Stance = "lean" if case.near_finish else "mute"
        return Opinion(stance, *case.say(sentences.SUDDEN_QUIET))
    if airlock.bubbling_counts < SLOWING_COUNTS:
        return Opinion("lean", *case.say(sentences.SLOWING_UNSEEN, counts=airlock.bubbling_counts))
    return None


def _below(case: Case, f: Forecast) -> Opinion:
    """The airlock is quiet, and was seen to slow down."""
    quiet, p_below = case.facts.airlock.quiet, f.crossing.p_already
    rate, threshold = _rate(f), format_rate(case.threshold_per_min)
    too_short = quiet.seconds * case.threshold_per_min / 60.0 < QUIET_BUBBLES
    if quiet.counts < QUIET_COUNTS or quiet.days < QUIET_DAYS or too_short:
        finding = case.say(sentences.JUST_QUIET, rate=rate, threshold=threshold)
        return Opinion("lean", *finding)
    stance: Stance = "lean" if f.distrust or p_below < SURE_ALONE else "go"
    finding = case.say(
        sentences.BELOW_THRESHOLD, rate=rate, threshold=threshold, sure=sure(p_below)
    )
    return Opinion(stance, *finding)


def _rate(f: Forecast) -> str:
    """The fitted rate and its 80 % interval."""
    now = f.per_min
    return f"{format_rate(now.median)} ({format_rates(now.low80, now.high80)})"


def _count_again(case: Case, f: Forecast) -> NextStep:
    """Count again; sooner if the threshold is near."""
    due = f.crossing.median
    if due is None:
        return COUNT.due(case.day(LATEST_COUNT_DAYS))
    ahead_days = max(-COUNT_AGAIN_SHARE * case.age_days(due), SOONEST_COUNT_DAYS)
    on = case.day(min(ahead_days, LATEST_COUNT_DAYS))
    if due.date() <= case.day(1):
        return COUNT.due(on)
    return NextStep(COUNT.kind, f"{COUNT.do} It should be quiet about {format_day(due)}.", on)


# --- the hydrometer ------------------------------------------------------------------------------


def gravity(case: Case) -> Opinion:
    """Ask the hydrometer about racking.

    Parameters
    ----------
    case : Case

    Returns
    -------
    Opinion
    """
    g = case.gravity
    if g is None:
        since = since_fed(case.facts.acts.fed_at)
        return Opinion("mute", *case.say(sentences.HINT_WITHOUT_GRAVITY, since=since))
    fresh_days = READING_FRESH_DAYS if case.high_to_rack else LOW_READING_FRESH_DAYS
    if case.age_days(g.latest.when) > fresh_days:
        return _old(case, g)
    return _misleading(case, g) or _high(case, g) or _doubtful(case, g) or _low(case, g)


def _old(case: Case, g: GravityCheck) -> Opinion:
    """The reading is too old to tell much about today; a high one may still forbid racking."""
    values = {"sg": g.latest.sg, "age_days": case.age_days(g.latest.when)}
    if not case.high_to_rack or _is_history(case, g):
        return Opinion("mute", *case.say(sentences.READING_OF_LONG_AGO, **values))
    if g.most_fallen_points is not None and g.most_fallen_points < _missing_points(g):
        values["points"] = g.most_fallen_points
        return Opinion("doubt", *case.say(sentences.BUBBLES_TOO_FEW, **values))
    return Opinion("doubt", *case.say(sentences.READING_OF_LONG_AGO, **values))


def _is_history(case: Case, g: GravityCheck) -> bool:
    """Whether an old high reading says nothing against today's silence.

    That is so if the ferment was at its fastest after it, and the bubbles counted since can explain
    the missing fall.
    """
    peak_at = case.facts.airlock.peak_at
    if peak_at is None or peak_at <= g.latest.when:
        return False
    return g.most_fallen_points is None or g.most_fallen_points >= _missing_points(g)


def _missing_points(g: GravityCheck) -> float:
    """Points that the gravity still had to fall when last read, before racking."""
    return g.above_finish_points - RACK_ABOVE_FINISH_POINTS


def _misleading(case: Case, g: GravityCheck) -> Opinion | None:
    """The reading is impossible, shows a leak, or is still falling."""
    if case.impossible is not None:
        return Opinion("wait", *case.impossible)
    if g.leak:
        return Opinion("wait", *case.say(sentences.LEAK, fell=_fell(g)))
    if case.falling:
        return Opinion("wait", *case.say(sentences.GRAVITY_FALLING, fell=_fell(g), sg=g.latest.sg))
    return None


def _high(case: Case, g: GravityCheck) -> Opinion | None:
    """The gravity is high: there is enough sugar for a ferment to be stuck on."""
    if not case.high_to_rack:
        return None
    f, sg, finish_sg = case.forecast, g.latest.sg, g.finish_sg
    held_at = case.facts.acts.stabilised_at
    if held_at is not None:
        reason, step = case.say(sentences.HELD, day=format_day(held_at), sg=sg)
        due = (held_at + timedelta(days=RECENT_DAYS)).date()
        return Opinion("wait", reason, step.due(max(due, case.day())))
    bubbling = f is not None and f.crossing.p_already < EVEN_CHANCE
    if g.steady and not bubbling:
        points = g.above_finish_points
        finding = case.say(sentences.STUCK, sg=sg, points=points, finish_sg=finish_sg)
        return Opinion("wait", *finding)
    if f is not None and not bubbling and not case.facts.warmth.cold:
        return Opinion("wait", *case.say(sentences.QUIET_BUT_HIGH, sg=sg))
    reason, step = case.say(sentences.GRAVITY_HIGH, sg=sg, finish_sg=finish_sg)
    return Opinion("wait", reason, step if f is None else _count_again(case, f))


def _doubtful(case: Case, g: GravityCheck) -> Opinion | None:
    """The gravity is low, but something makes that doubtful."""
    rise_points, fed_at, sg = _rise_points(g), case.facts.acts.fed_at, g.latest.sg
    if rise_points > 0.0:
        return Opinion("wait", *case.say(sentences.GRAVITY_ROSE, points=rise_points, sg=sg))
    fed_lately = fed_at is not None and case.age_days(fed_at) < FED_DAYS and not case.held
    if fed_at is not None and fed_lately and not case.near_finish:
        return Opinion("wait", *case.say(sentences.FED_LATELY, day=format_day(fed_at), sg=sg))
    if g.gas_only and not case.near_finish:
        return Opinion("wait", *case.say(sentences.STORIES_DIFFER_ON_RACKING, fell=_fell(g)))
    return None


def _rise_points(g: GravityCheck) -> float:
    """Rise to the last reading, at once or bit by bit in the last two weeks; 0 if there is none."""
    late = [r.sg for r in g.readings if days(r.when, g.latest.when) <= RECENT_DAYS]
    step = fall_points(late[-1], late[-2]) if len(late) > 1 else 0.0
    crept = fall_points(late[-1], min(late))
    at_once = step > STEADINESS[Question.RACKING].points + SG_ROUNDING
    return max(step, crept) if at_once or crept > RISE_POINTS + SG_ROUNDING else 0.0


def _low(case: Case, g: GravityCheck) -> Opinion:
    """The gravity is low: a firm answer if it was steady, and not from the cold."""
    if g.steady and (case.near_finish or case.facts.warmth.surely_warm):
        said = case.say(sentences.STEADY_TO_RACK, sg=g.latest.sg, days=g.steady_days)
        return Opinion("go", *said)
    return Opinion("lean", *case.say(sentences.GRAVITY_LOW, sg=g.latest.sg))


def _fell(g: GravityCheck) -> str:
    assert g.fall is not None  # two readings can tell a leak, a fall, or gas without a fall
    return fell(g.fall)
