"""Questions a new entry that looks like a mistake, but never refuses it."""

from datetime import datetime, timedelta
from typing import Literal, NamedTuple, TypeAlias

from ..text import format_rate, format_when, plain
from .bottled_early import bottled_early
from .bottles import lots
from .events import ADDED, BREAKS, Event
from .odd_dose import odd_dose
from .stock import stock
from .sugar_notes import speaks_of_sugar
from .times import days_between
from .visit import Diary, Visit

__all__ = ["Doubt", "doubts"]

SG_LOW, SG_HIGH = 0.980, 1.180  # range of wine, cider, perry and mead; common practice, no source
RISE_POINTS = 2.0
FALL_POINTS_PER_DAY = 20.0  # the fastest warm ferment; common practice, no source
MORE_LITRES = 1.2  # times what was in it
FEWER_LITRES = 0.6  # times what was in it: a racking leaves far less behind
WARMEST_C, COLDEST_C = 40.0, 0.0  # above, yeast dies; below, wine nearly freezes
AT_WORK_SG = 1.020
SHORTEST_COUNT_S = 15.0  # nobody counts for less: minutes were meant
LEAP = 10.0  # times last evening's count
_FEWEST_BUBBLES = 5  # bubbles of the larger count, so that it is not chance
_SAME_EVENING = timedelta(hours=2)
_OTHER_JAR = 2.0  # times the count made just before
_CLOCK_SLACK = timedelta(minutes=5)
_WHOLE_COUNT_S = 300.0  # one bubble in this long is a count, not a timed gap
_AFTER_BOTTLING = {
    *(Event.OPENED, Event.GUSHED, Event.TASTED, Event.POURED_BACK, Event.PUT_AWAY),
    Event.NOT_FED,
}
_INTO_AN_EMPTY_JAR = {Event.PITCHED, Event.JOINED, Event.POURED_BACK}
_OF_FINISHED = {Event.CLEAR, Event.STILL, Event.MALOLACTIC_OVER}
_POURED = ADDED | {Event.TOPPED_UP}
_POURED_OUT = {Event.OPENED, Event.GUSHED, Event.SPLIT, Event.JOINED, Event.PITCHED}


Code: TypeAlias = Literal[
    "when",
    "gravity",
    "count",
    "litres",
    "gap",
    "temp",
    "seen",
    "bottled",
    "in-bottle",
    "note",
    "dose",
    "size",
    "added",
]


class Doubt(NamedTuple):
    """What looks odd in an entry: the part in question, and a short sentence."""

    code: Code
    text: str


def doubts(
    diary: Diary, visit: Visit, *, now: datetime, style: str | None = None
) -> tuple[Doubt, ...]:
    """Find the questions that a new entry raises.

    Parameters
    ----------
    diary : Diary
        The rows before it was written; rows later than the entry are not used.
    visit : Visit
        The new entry.
    now : datetime
        The moment of writing, aware.
    style : str, optional
        What is in the jar, in the maker's words.

    Returns
    -------
    tuple of Doubt
        Empty if nothing looks odd.
    """
    before = [v for v in diary.live if v.when <= visit.when]
    found: dict[Code, str | None] = {
        "when": _time(diary, visit, now),
        "gravity": _gravity(before, visit),
        "count": _count(before, visit),
        "litres": _litres(before, visit),
        "gap": _gap(visit),
        "temp": _temp(visit),
        "seen": _seen(before, visit),
        "in-bottle": _in_bottle(before, visit),
        "note": _note(visit),
        "dose": odd_dose(before, visit),
        "size": _size(before, visit),
        "added": _added(before, visit),
        "bottled": bottled_early(before, visit, style) if _bottles(visit) else None,
    }
    return tuple(Doubt(code=code, text=text) for code, text in found.items() if text)


def _time(diary: Diary, visit: Visit, now: datetime) -> str | None:
    if visit.when > now + _CLOCK_SLACK:
        return f"{format_when(visit.when)} is in the future."
    pitched = diary.pitched
    if pitched is not None and visit.when < pitched:
        return f"{format_when(visit.when)} is before the start, {format_when(pitched)}."
    return None


def _gravity(before: list[Visit], visit: Visit) -> str | None:
    if visit.sg is None:
        return None
    if not SG_LOW <= visit.sg <= SG_HIGH:
        return f"{visit.sg:.3f} is outside the range of wine ({SG_LOW:.3f} to {SG_HIGH:.3f})."
    for earlier in reversed([*before, visit]):
        if earlier.event in _POURED:
            return None
        if earlier is not visit and earlier.sg is not None:
            rise = (visit.sg - earlier.sg) * 1000.0
            if rise > RISE_POINTS + 1e-6:
                return f"That is {rise:.0f} points above the last reading, with nothing added."
            days = max(days_between(earlier.when, visit.when), 1.0)
            if -rise > FALL_POINTS_PER_DAY * days:
                return (
                    f"That is {-rise:.0f} points below the last reading, faster than yeast can "
                    "work."
                )
            return None
    return None


def _count(before: list[Visit], visit: Visit) -> str | None:
    """Compare a count with the last one since the jar or its airlock was changed."""
    since = max((i for i, v in enumerate(before) if v.event in BREAKS), default=0)
    counted = [v for v in before[since:] if v.bubbles]  # bubbles after none are natural
    if visit.bubbles is None or not counted:
        return None
    last = counted[-1]
    if last.per_min is None or visit.per_min is None or last.bubbles is None:
        return None
    if max(last.bubbles, visit.bubbles) < _FEWEST_BUBBLES:
        return None
    near_one = 60.0 / (visit.seconds or 60.0)  # a zero may be
    ratio = max(visit.per_min, near_one) / last.per_min
    rate = format_rate(last.per_min)
    if visit.when - last.when < _SAME_EVENING and not 1.0 / _OTHER_JAR < ratio < _OTHER_JAR:
        return f"The last count, {rate}, was less than two hours ago: is this the right jar?"
    if ratio >= LEAP:
        return f"That is ten or more times the last count that had bubbles ({rate})."
    if ratio <= 1.0 / LEAP:
        return f"That is a tenth or less of the last count that had bubbles ({rate})."
    return None


def _litres(before: list[Visit], visit: Visit) -> str | None:
    known = [v.litres for v in before if v.litres is not None]
    if visit.event is Event.POURED_BACK and visit.litres is None and known:
        return (
            f"How much is in the jar now? It is still taken to hold {plain(known[-1])} L: strike "
            "it, and write it again with --litres."
        )
    if visit.litres is None or not known or visit.event in _POURED_OUT:
        return None
    if _bottles(visit):
        return _left(visit, known[-1])
    litres, was = plain(visit.litres), plain(known[-1])
    if visit.litres < FEWER_LITRES * known[-1]:
        poured = visit.event in _POURED
        told = f"That leaves {litres} litres in it, but it held {was}."
        return f"{told} For what you added write --added {litres}." if poured else told
    if visit.event not in _POURED and visit.litres > MORE_LITRES * known[-1]:
        return f"{litres} litres is more than it held ({was})."
    return None


def _left(visit: Visit, held: float) -> str | None:
    """Ask if what is left beside the bottles is what went into them."""
    filled = sum(float(size) / 100.0 * number for size, number in lots(visit.bottles))
    if not visit.litres or visit.litres + filled / 2.0 < held:
        return None
    told = f"That leaves {plain(visit.litres)} litres in the jar, which held {plain(held)}."
    return f"{told} If none is left, write it without --litres."


def _added(before: list[Visit], visit: Visit) -> str | None:
    """Ask how much a jar was topped up by, if neither the row nor its litres say so."""
    told = visit.litres is not None and any(v.litres is not None for v in before)
    if visit.event is not Event.TOPPED_UP or visit.added_l is not None or told:
        return None
    return (
        "How much did you add? Until you say, it counts as more than a tenth of the jar, and the "
        "proof starts again."
    )


def _temp(visit: Visit) -> str | None:
    if visit.temp_c is None or COLDEST_C <= visit.temp_c <= WARMEST_C:
        return None
    return f"{plain(visit.temp_c)} C is outside the usual range for a jar (0 to 40)."


def _seen(before: list[Visit], visit: Visit) -> str | None:
    """Question what only a finished wine shows, if the last reading shows it working."""
    if visit.event not in _OF_FINISHED:
        return None
    read = [v.sg for v in before if v.sg is not None]
    if not read or read[-1] <= AT_WORK_SG:
        return None
    return (
        f"The last reading, {read[-1]:.3f}, is of a fermenting wine: is it really {visit.event} "
        "already?"
    )


def _gap(visit: Visit) -> str | None:
    """Question a single timed gap, which proves little; or seconds typed for minutes."""
    seconds = visit.seconds
    if visit.bubbles not in (None, 1) and seconds is not None and seconds < SHORTEST_COUNT_S:
        return f"That is {plain(seconds)} seconds; for minutes write {plain(seconds)}m."
    if visit.bubbles != 1 or visit.seconds is None or visit.seconds in (60.0, _WHOLE_COUNT_S):
        return None
    if visit.seconds > _WHOLE_COUNT_S:
        return None
    return "One timed gap is only one bubble and says little: time ten gaps instead."


def _bottles(visit: Visit) -> bool:
    return visit.event is not None and visit.event.base is Event.BOTTLED


def _in_bottle(before: list[Visit], visit: Visit) -> str | None:
    """Question a row of a jar that was emptied into bottles."""
    if visit.event in _AFTER_BOTTLING | _INTO_AN_EMPTY_JAR:
        return None
    for earlier in reversed(before):
        if earlier.event in _INTO_AN_EMPTY_JAR:
            return None
        if _bottles(earlier):
            return None if earlier.litres else f"It was bottled on {format_when(earlier.when)}."
    return None


def _size(before: list[Visit], visit: Visit) -> str | None:
    """Ask which of two sizes was opened; or question one of which none is left."""
    left = stock(before) if visit.event is Event.OPENED else None
    if left is None:
        return None
    known = [size for size, number in left.sizes.items() if number]
    there = " and ".join(f"{size} cl" for size in known)
    if not visit.bottles and left.to_ask:
        return f"Bottles of {there} lie there: strike it, and write it again with its size."
    if any(left.sizes.get(size, 0) < number for size, number in lots(visit.bottles)):
        return f"There are only bottles of {there} left." if there else "No bottle is left."
    return None


def _note(visit: Visit) -> str | None:
    if not speaks_of_sugar(visit):
        return None
    return (
        "The note mentions sugar: did you feed it? If so, write the event fed too; if not, not-fed."
    )
