"""Checks what still speaks against bottling a wine, one function per check.

Gravity is in points (0.001 SG) above 1.000 or SG, days are evenings (`acts`), rates bubbles a
minute. The sentences are made elsewhere (`proof_words`).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date
from statistics import median
from typing import TYPE_CHECKING, Final, TypeAlias

from ..physics.alcohol import OG_HIGH, abv_from_sg
from ..physics.scales import points as points_of
from ..physics.scales import sg_at
from .limits import (
    BURST_CHANCE,
    BURST_POINTS,
    FIZZ_CHANCE,
    FIZZ_POINTS,
    HELD_FEWEST,
    LOOK_HOLDS_DAYS,
    LOOK_MINUTES,
    LOWEST_POINTS,
    ODD_POINTS,
    READING_HOLDS_DAYS,
    ROUGH_ABV_PER_POINT,
    STRONG_ABV,
    STRONG_DAYS,
    STRONG_POINTS,
    SWEET_POINTS,
    SWEET_SLEPT,
    UNHEARD_CHANCE,
)
from .noted import weather_per_min
from .reasons import Code
from .stood import FORTNIGHT, WOKE_STANDS_DAYS, surely_per_min, woke
from .sugar_grid import weigh

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from .acts import Reading
    from .sugar_evidence import SugarEvidence
    from .sugar_grid import Weighed

__all__ = ["OF_SUGAR", "WORST_FIRST", "Lack", "lacks"]

Values: TypeAlias = "Mapping[str, float | date]"


# What may speak against bottling, the worst first.
WORST_FIRST: Final = (
    Code.NO_GRAVITY,
    Code.GRAVITY_IMPOSSIBLE,
    Code.STILL_BUBBLING,
    Code.SWEETNESS_LEFT,
    Code.FIZZ,
    Code.SILENCE_ALONE,
    Code.WOKE,
    Code.TOO_SWEET,
    Code.STRONG_AND_SWEET,
    Code.STABILISED_AND_FALLING,
    Code.STABILISED_UNPROVEN,
    Code.FINISH_UNTESTED,
    Code.ODD_READING,
    Code.GRAVITY_UNPROVEN,
    Code.STUNNED,
    Code.OLD_READING,
    Code.CHECK_READING,
    Code.PRICKLE,
    Code.STILL_UNSAID,
    Code.ON_FININGS,
    Code.NEW_LEES,
    Code.CLOUDY,
    Code.CLEAR_UNSAID,
    Code.CLEAR_TOO_SHORT,
    Code.MALOLACTIC_OPEN,
    Code.FEW_COUNTS,
)

# Checks on the sugar itself: they must have passed the evening before a tablet or a racking.
OF_SUGAR: Final = frozenset(WORST_FIRST[: WORST_FIRST.index(Code.OLD_READING)])


@dataclass(frozen=True, slots=True, kw_only=True)
class Lack:
    """A check that fails, and the numbers and dates of its sentence.

    `due` is the evening, as an ordinal, from which it can pass; None if no date will do.
    """

    check: Code
    due: int | None = None
    values: Values = field(default_factory=dict)


def lacks(known: SugarEvidence, weighed: Weighed | None) -> tuple[Lack, ...]:
    """Find what speaks against bottling; if nothing does, it is a go.

    Parameters
    ----------
    known : SugarEvidence
    weighed : Weighed or None
        From `weigh` of the same evidence.

    Returns
    -------
    tuple of Lack
        The worst first.
    """
    found = [*_of_looks(known), *_malolactic(known, weighed)]
    if weighed is None:
        found.append(Lack(check=Code.NO_GRAVITY))
    else:
        for check in _OF_GRAVITY:
            found += check(known, weighed)
    return tuple(sorted(found, key=lambda lack: WORST_FIRST.index(lack.check)))


def _sugar(known: SugarEvidence, w: Weighed) -> Iterator[Lack]:
    chances = {"fizz": w.chance(FIZZ_POINTS), "burst": w.chance(BURST_POINTS)}
    values = {
        **chances,
        "sg": sg_at(w.readings[-1].points),
        "low_sg": known.finish.low_sg,
        "high_sg": known.finish.high_sg,
    }
    risky = chances["burst"] > BURST_CHANCE or chances["fizz"] > FIZZ_CHANCE
    if risky and known.stabilised is not None:
        yield Lack(check=Code.STABILISED_UNPROVEN, values=values)
        return
    if chances["burst"] > BURST_CHANCE:
        yield Lack(check=Code.SWEETNESS_LEFT, values=values)
    if chances["fizz"] > FIZZ_CHANCE:
        yield Lack(check=Code.FIZZ, values=values)
    if not risky:
        yield from _silence_alone(known)
    said = known.maker_sg
    if risky and said is not None and not known.tested and said > known.finish.high_sg + 5e-4:
        yield Lack(check=Code.FINISH_UNTESTED, values={**values, "said_sg": said})


def _silence_alone(known: SugarEvidence) -> Iterator[Lack]:
    """Whether the readings show no end without the silent airlock, which may leak."""
    unheard = weigh(replace(known, counts=()))
    chance = 0.0 if unheard is None else unheard.chance(FIZZ_POINTS)
    if chance > UNHEARD_CHANCE:
        yield Lack(check=Code.SILENCE_ALONE, values={"fizz": chance})


def _standstill(known: SugarEvidence, w: Weighed) -> Iterator[Lack]:
    """Whether two readings are 14 dates apart, since the last act that changed the gravity."""
    proof = [r for r in w.readings if r.day >= (known.since or 0)]
    first, last = (proof[0].day, proof[-1].day) if proof else (known.asked, known.asked)
    if last - first < FORTNIGHT:
        due = max(first + FORTNIGHT, known.asked)
        values: Values = {"days": last - first, "since": _date(first), "due": _date(due)}
        yield Lack(check=Code.GRAVITY_UNPROVEN, due=due, values=values)


def _last_reading(known: SugarEvidence, w: Weighed) -> Iterator[Lack]:
    last = w.readings[-1]
    age = known.asked - last.day
    if age > READING_HOLDS_DAYS:
        yield Lack(check=Code.OLD_READING, values={"days": age, "on": _date(last.day)})
    if known.topped_up is not None and last.day <= known.topped_up:
        yield Lack(check=Code.CHECK_READING, values={"on": _date(known.topped_up)})
    tonight, others = _of_last_evening(w)
    if others:
        off = last.points - median(others)  # an earlier one of that evening does not answer it
        if abs(off) > ODD_POINTS + 1e-6:
            values = {"sg": sg_at(last.points), "off": abs(off), "others_sg": sg_at(median(others))}
            yield Lack(check=Code.ODD_READING, values=values)
    if min(w.level_points, max(r.points for r in tonight)) < LOWEST_POINTS - 1e-6:
        yield Lack(check=Code.GRAVITY_IMPOSSIBLE, values={"sg": sg_at(last.points)})


def _of_last_evening(w: Weighed) -> tuple[list[Reading], list[float]]:
    """Readings of the newest evening, and points of all earlier ones."""
    day = w.readings[-1].day
    return [r for r in w.readings if r.day == day], [r.points for r in w.readings if r.day < day]


def _sweetness(known: SugarEvidence, w: Weighed) -> Iterator[Lack]:
    level = w.level_points
    if known.stabilised is not None:
        first, last = w.readings[0].points, w.readings[-1].points
        if len(w.readings) < HELD_FEWEST and last <= first - 1.0 + 1e-6:
            values: Values = {"first_sg": sg_at(first), "sg": sg_at(last), "need": HELD_FEWEST}
            yield Lack(check=Code.STABILISED_AND_FALLING, values=values)
        return
    if level > SWEET_POINTS and w.slept > SWEET_SLEPT:
        shown = max(round(level), SWEET_POINTS + 1.0)  # never the limit itself
        values = {"sg": sg_at(shown), "most_sg": sg_at(SWEET_POINTS)}
        yield Lack(check=Code.TOO_SWEET, values=values)
    abv = _abv(known.og_sg, level) if level > STRONG_POINTS else 0.0
    due = (w.readings[0].day if known.sugar_in is None else known.sugar_in) + STRONG_DAYS
    if abv > STRONG_ABV and known.asked < due:
        yield Lack(
            check=Code.STRONG_AND_SWEET,
            due=due,
            values={"sg": sg_at(level), "abv": abv, "due": _date(due)},
        )


def _abv(og_sg: float | None, points: float) -> float:
    """Strength [% vol]; worked out only if it may matter."""
    if og_sg is None:
        return 0.0
    og_sg = min(og_sg, OG_HIGH)
    rough = ROUGH_ABV_PER_POINT * (points_of(og_sg) - points)
    return float(abv_from_sg(og_sg, sg_at(points))) if rough > STRONG_ABV - 2.0 else rough


def _awoken(known: SugarEvidence, w: Weighed) -> Iterator[Lack]:
    found = None if known.stabilised is not None else woke(known)
    if found is not None and not found.settled(w.readings[-1].day):
        due = max(found.since + WOKE_STANDS_DAYS, known.asked)
        values: Values = {
            "stood_sg": sg_at(found.stood_points),
            "sg": sg_at(found.now_points),
            "days": w.readings[-1].day - found.since,
            "warm_days": found.warm_days,
            "due": _date(due),
        }
        yield Lack(check=Code.WOKE, due=due, values=values)


def _treatment(known: SugarEvidence, w: Weighed) -> Iterator[Lack]:
    """A tablet, finings or a racking cannot undo a proof, but may stun yeast without one."""
    if known.unproven is not None and w.readings[-1].day < known.unproven + FORTNIGHT:
        due = max(known.unproven + FORTNIGHT, known.asked)
        values = {"on": _date(known.unproven), "due": _date(due)}
        yield Lack(check=Code.STUNNED, due=due, values=values)


_OF_GRAVITY: Final[tuple[Callable[[SugarEvidence, Weighed], Iterator[Lack]], ...]] = (
    _sugar,
    _standstill,
    _last_reading,
    _sweetness,
    _awoken,
    _treatment,
)


def _of_looks(known: SugarEvidence) -> Iterator[Lack]:
    surely, weather = surely_per_min(known), weather_per_min(known.litres)
    if surely > weather:
        counted = _date(known.counts[-1].day)
        values: Values = {"on": counted, "per_min": surely, "weather_per_min": weather}
        yield Lack(check=Code.STILL_BUBBLING, values=values)
    late = [e for e in known.counts if known.asked - e.day <= LOOK_HOLDS_DAYS]
    if late and late[-1].bubbles > weather * late[-1].minutes:
        late = late[-1:]  # earlier quiet evenings do not outweigh a short count that bubbled
    minutes = sum(e.minutes for e in late)
    if minutes < LOOK_MINUTES - 1e-9:
        values = {"minutes": minutes, "need": LOOK_MINUTES, "days": LOOK_HOLDS_DAYS}
        yield Lack(check=Code.FEW_COUNTS, values=values)
    seen = known.seen
    if seen.prickle is not None:
        yield Lack(check=Code.PRICKLE, values={"on": _date(seen.prickle)})
    elif seen.still is None:
        yield Lack(check=Code.STILL_UNSAID)
    yield from _of_clearness(known)


def _malolactic(known: SugarEvidence, w: Weighed | None) -> Iterator[Lack]:
    """Ask about malolactic change: usual in this kind of wine, or suggested by bubbles."""
    settled = known.seen.malolactic_settled
    seen = known.back is not None and w is not None and known.back >= w.readings[0].day
    since = known.back if seen else 0 if known.malolactic else None
    if since is not None and (settled is None or settled < since):
        yield Lack(check=Code.MALOLACTIC_OPEN)


def _of_clearness(known: SugarEvidence) -> Iterator[Lack]:
    seen = known.seen
    for check, day in (
        (Code.ON_FININGS, seen.on_finings),
        (Code.NEW_LEES, seen.lees),
        (Code.CLOUDY, seen.cloudy),
    ):
        if day is not None:
            yield Lack(check=check, values={"on": _date(day)})
    if seen.clear is None and seen.cloudy is None:
        yield Lack(check=Code.CLEAR_UNSAID)
    if seen.clear is not None and known.asked < seen.clear + seen.clear_days:
        due = seen.clear + seen.clear_days
        values: Values = {"since": _date(seen.clear), "need": seen.clear_days, "due": _date(due)}
        yield Lack(check=Code.CLEAR_TOO_SHORT, due=due, values=values)


def _date(day: int) -> date:
    return date.fromordinal(day)
