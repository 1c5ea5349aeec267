"""Works out which wine is in bottles, and whether it may burst them.

What is left in the jar after some was bottled tells of the bottles too, until something goes in.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ..diary.bottled_early import COUNTED_DAYS
from ..diary.stock import stock
from ..physics.bottle import CELLAR_C, bottle_pressure
from ..verdict.acts import LIKE_WINE_SHARE
from ..verdict.limits import BURST_CHANCE, FIZZ_CHANCE
from ..verdict.sugar_odds import G_PER_POINT
from . import acts
from .evenings import Evenings
from .inputs import BUBBLING
from .jar import Jar
from .parts import Bottles
from .windows import USUAL_FERMENT_DAYS

if TYPE_CHECKING:
    from datetime import date

    from ..diary.visit import Visit
    from .inputs import Known

__all__ = ["bottles", "doubted_on"]

JAR_LEFT_EVENINGS: Final = 2  # evenings of bubbles after it that are no mistake (our judgement)
SUGAR_NEAR_DAYS: Final = 2  # sugar this near a bottling is in the bottle, in whatever order
BEER_BAR: Final = 2.7 * 1.01325  # bar that a bottle under a crown cap holds: an amateur site, 2024
MADE_FOR_IT: Final = frozenset({"crown"})
BLENDED: Final = frozenset({acts.TOPPED_UP, acts.DILUTED, acts.JOINED})
# After these what is left in the jar is another wine than that in the bottles.
CHANGES: Final = frozenset(
    {
        *(acts.PITCHED, acts.FED, acts.SWEETENED, acts.STARTER, acts.STABILISED, acts.FILTERED),
        *BLENDED,
    }
)


def bottles(jar: Jar) -> Bottles | None:
    """Find the wine in bottles, once none is left in the jar and none was poured back.

    Bottles that may burst come first, whatever is left in the jar and whatever was filled later.
    """
    gushed, filled = _gushed(jar), _filled(jar)
    if gushed is not None:
        return _bottles(jar, *filled[-1], gushed)
    every = (_bottles(jar, on, row) for on, row in reversed(filled))
    found = [one for one in every if one is not None]
    whole = found[0] if filled and not filled[-1][1].litres else None
    return next((one for one in found if one.danger_on is not None), whole)


def doubted_on(jar: Jar) -> date | None:
    """Evening of a bottling that one has to doubt since.

    A note of sugar before it that nobody answered is such a doubt. If part was bottled, what is
    left makes one too, until it is proven and a later sample was still, or showed no sugar.
    """
    if _none_left(jar):
        return None
    for on, row in reversed(_filled(jar)):
        rest = _rest(jar, row) if row.litres else None
        odd = rest is not None and (not rest.known.ready or _odd(rest, on))
        if odd or _noted(jar, on, row):
            return on
    return None


def _noted(jar: Jar, on: date, row: Visit) -> bool:
    """Whether sugar may have gone into the bottles by a note, and nobody said that it did not."""
    noted = jar.sugar_noted_on
    dosed = row.event == acts.BOTTLED_SPARKLING
    return noted is not None and not dosed and (noted - on).days <= SUGAR_NEAR_DAYS


def _odd(rest: Jar, on: date) -> bool:
    """Whether gas or sugar was seen since in what is left, and nothing said later answers it."""
    seen = rest.rows.newest
    gas, still = seen({acts.PRICKLE}, since=on), seen({acts.STILL}, since=on)
    sugar, none = seen({acts.SUGAR_HIGH}, since=on), seen({acts.SUGAR_LOW}, since=on)
    doubts = ((gas, still), (sugar, none), (rest.air.back_on, still))
    return any(
        day is not None and day >= on and (answer is None or answer <= day)
        for day, answer in doubts
    )


def _filled(jar: Jar) -> list[tuple[date, Visit]]:
    """Bottlings of this wine; without those poured back since, unless a bottle has gushed."""
    some = [*jar.rows.on(*acts.BOTTLINGS)]
    if _gushed(jar) is not None:
        return some
    poured = jar.rows.newest({acts.POURED_BACK})
    return [(on, row) for on, row in some if poured is None or on > poured]


def _gushed(jar: Jar) -> date | None:
    """Newest evening on which a bottle gushed, unless the wine was poured back since."""
    first = next((on for on, _ in jar.rows.on(*acts.BOTTLINGS)), None)
    gushed = None if first is None else jar.rows.newest({acts.GUSHED}, since=first)
    poured = gushed and jar.rows.newest({acts.POURED_BACK}, since=gushed)
    return None if poured else gushed


def _bottles(jar: Jar, on: date, row: Visit, gushed: date | None = None) -> Bottles | None:
    """The wine of one bottling; none if it was a part of the wine, and all of it was opened."""
    if row.litres and _none_left(jar):
        return None
    sparkling = row.event == acts.BOTTLED_SPARKLING
    fits = sparkling and _fits(row, jar)
    danger = gushed is not None or (sparkling and not fits)
    danger = danger or _may_ferment(jar, on, row, primed=fits)
    left = stock(jar.rows.rows)
    return Bottles(
        on=on,
        sparkling=sparkling,
        corked=acts.extras(row).closure in ("cork", "tapered"),
        danger_on=(gushed or _heard_again(jar, on, row) or on) if danger else None,
        gushed=gushed is not None,
        part=bool(row.litres),
        stock=None if left is None else left.left,
    )


def _none_left(jar: Jar) -> bool:
    left = stock(jar.rows.rows)
    return left is not None and left.left <= 0


def _fits(row: Visit, jar: Jar) -> bool:
    """Whether the pressure from the added sugar stays below what such a bottle is made for."""
    extra, litres = acts.extras(row), jar.volume.full
    if extra.closure not in MADE_FOR_IT or extra.sugar_g is None or litres is None:
        return False
    points = min(200.0, extra.sugar_g / litres / G_PER_POINT)
    made = bottle_pressure(points, temp_c=CELLAR_C, abv_pct=10.0, dissolved_g_per_litre=1.4)
    return made.over_bar <= BEER_BAR


def _may_ferment(jar: Jar, on: date, row: Visit, *, primed: bool) -> bool:
    """Whether yeast may find sugar in the bottle, by what is known about the wine.

    Where the rest is in the jar, that settles what was only not proven on that evening.
    """
    part = bool(row.litres)
    tells = _rest(jar, row) if part else jar  # the wine in the bottles, even by what came later
    then = tells.upto(on)
    known = then.known if _counted_by_mistake(tells, on) else tells.known
    near = [abs((day - on).days) for day, _ in tells.rows.on(acts.FED, acts.SWEETENED)]
    if not primed and any(days <= SUGAR_NEAR_DAYS for days in near):
        return True
    slowing = then.air.state == "slowing" or (then.air.heard and not then.gravity.readings)
    works = then.air.state in ("busy", "back") or (slowing and not known.ready)
    worked_on = part and tells.air.state == "busy" and not tells.stands
    no_worse = part and _chance(known) <= _chance(then.known)
    likely = _likely(_weighed(tells, known)) and not no_worse
    high = then.gravity.high and not then.known.ready
    unread = not primed and _unread(tells, on)
    return works or worked_on or _bubbled(then, on) or unread or likely or high or known.falling


def _weighed(jar: Jar, known: Known) -> Known:
    """What is known about the sugar; if it was not read since it was blended, what was before."""
    rows = jar.rows.rows
    while known.chance_fizz is None:
        at = max((n for n, row in enumerate(rows) if row.event in BLENDED), default=0)
        if not at:
            break
        rows = rows[:at]
        known = Jar(Evenings(rows), jar.about, jar.weigh).known
    return known


def _bubbled(then: Jar, on: date) -> bool:
    """Whether it was counted of late, and made more bubbles than the weather explains."""
    counted = then.air.counted_on
    late = counted is not None and (on - counted).days <= COUNTED_DAYS
    return late and BUBBLING in then.known.missing


def _unread(tells: Jar, on: date) -> bool:
    """Whether no reading speaks of the wine, and it was young or only its must was read."""
    young = tells.start_written and (on - tells.sugar_in).days < USUAL_FERMENT_DAYS[1]
    return not tells.gravity.readings and (young or bool(tells.rows.readings))


def _heard_again(jar: Jar, on: date, row: Visit) -> date | None:
    """Evening on which the rest of it, in the jar, was heard fermenting after the bottling."""
    busy = _rest(jar, row).air.busy_on if row.litres else None
    return busy if busy is not None and busy > on else None


def _likely(known: Known) -> bool:
    """Whether it is too likely that sugar is left."""
    return (known.chance_fizz or 0.0) > FIZZ_CHANCE or _chance(known) > BURST_CHANCE


def _chance(known: Known) -> float:
    return known.chance_burst or 0.0


def _rest(jar: Jar, row: Visit) -> Jar:
    """The rows that tell of bottles of which the rest is in the jar: until that was changed."""
    rows = jar.rows.rows
    since = next(n for n, each in enumerate(rows) if each is row)
    poured = 0.0
    for n, each in enumerate(rows[since + 1 :], since + 1):
        if each.event == acts.TOPPED_UP and each.added_l is not None:
            poured += each.added_l
            if poured <= LIKE_WINE_SHARE * ((row.litres or 0.0) + poured):
                continue
        if each.event in CHANGES:
            return Jar(Evenings(rows[:n]), jar.about, jar.weigh)
    return jar


def _counted_by_mistake(jar: Jar, on: date) -> bool:
    """Whether all that was noted after the bottling is a count, and of another jar.

    No airlock is left on an emptied jar. But bubbles on two evenings are from wine left under one,
    and a reading or a sugar test is from a bottle.
    """
    counts = jar.rows.counts(on)
    left = sum(count.bubbles > 0 for count in counts) >= JAR_LEFT_EVENINGS
    read = any(r.on > on for r in jar.rows.readings)
    return bool(counts) and not (left or read or jar.rows.newest({acts.SUGAR_HIGH}, since=on))
