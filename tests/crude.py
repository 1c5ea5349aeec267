"""A crude stand-in for the weighed proof: ranges and plain rules, so that lives can be played.

Every rule is a limit that defines a fact; nothing here is a probability. It takes the same rows and
gives the same value as the real one.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from statistics import median
from typing import TYPE_CHECKING

from bubblerate.course import acts
from bubblerate.course.cellaring import cellar, cold
from bubblerate.course.evenings import Evenings
from bubblerate.course.inputs import BUBBLING, ODD, READINGS, RISK, About, Known
from bubblerate.course.jar import Jar
from bubblerate.verdict.reasons import Phase

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date

    from bubblerate.course.parts import Reading
    from bubblerate.diary.visit import Visit

# Where a style ends: trade sources for wine, cider and perry, common practice for mead.
ENDS = {
    "cider": (0.998, 1.005),
    "perry": (1.000, 1.015),
    "mead": (0.996, 1.010),
    "strong mead": (0.996, 1.018),
}
FRUIT = (0.990, 0.998)
ML, GAS_ML = 1.0, 540.0
HALVES_DAYS = 5.0


def crude(about: About) -> Callable[[Sequence[Visit]], Known]:
    """What the sums of this stand-in make of rows, for one jar."""

    def weigh(rows: Sequence[Visit]) -> Known:
        return known(tuple(rows), about)

    return weigh


def known(rows: tuple[Visit, ...], about: About) -> Known:
    jar = Jar(Evenings(rows), about, lambda _: Known())
    low, high = ENDS.get(about.style or "", FRUIT)
    read = [r for r in jar.gravity.readings if r.on >= jar.proof_from]
    first = Known(end_sg=(low, high), quiet=_quiet(jar), leak_on=_leak(jar))
    if not read:
        return replace(first, missing=frozenset({READINGS}))
    last = read[-1]
    still = _still(read)
    woke = _woke(jar, read)
    held = jar.stabilised_on is not None
    ended = still is not None and last.sg <= high + 0.001 and woke is None
    bubbling = (jar.air.back_on is not None and last.on < jar.air.back_on) or _bubbles(jar)
    odd = len(read) > 2 and 1000 * abs(last.sg - median(r.sg for r in read[:-1][-3:])) > 2.5
    odd = odd and last.sg > read[-2].sg
    ready = (ended or (held and still is not None)) and not bubbling and not odd
    lacks = {
        READINGS: still is None,
        BUBBLING: bubbling,
        ODD: odd,
        RISK: still is not None and not ended and not held,
    }
    flat = [
        r
        for r in read
        for d in [(last.on - r.on).days]
        if d >= 5 and r.sg - last.sg < max(0.0015, 0.0002 * d)
    ]
    near = last.sg <= low + 0.3 * (high - low) + 0.005 or (last.sg <= high + 0.002 and bool(flat))
    blocked = still is not None and not ended and not held
    return replace(
        first,
        near=near,
        points_left=(max(0.0, 1000 * (last.sg - high)), max(0.0, 1000 * (last.sg - low))),
        ended=ended,
        still_since=still,
        woke_on=woke,
        falling=_falls(jar),
        ready=ready,
        missing=frozenset(code for code, lacking in lacks.items() if lacking),
        chance_fizz=0.01 if ready else 0.9 if last.sg > high + 0.001 else 0.2,
        chance_burst=0.001 if ready else 0.1,
        find_earliest=lambda: (
            None if blocked else max((still or _level(read)) + timedelta(days=14), _ripe(jar))
        ),
    )


def _ripe(jar: Jar) -> date:
    """Day on which it is clear for its time; the first of all where it was not said to be clear."""
    return cellar(jar, Phase.CLEARING, jar.began).ripe_on or jar.began


def _level(read: list[Reading]) -> date:
    """First of the latest readings that lie within a point and a half."""
    run = [read[-1]]
    for r in reversed(read[:-1]):
        sgs = [x.sg for x in [*run, r]]
        if 1000 * (max(sgs) - min(sgs)) > 1.51 or 1000 * (r.sg - read[-1].sg) > 1.01:
            break
        run.append(r)
    return run[-1].on


def _still(read: list[Reading]) -> date | None:
    since = _level(read)
    return since if (read[-1].on - since).days >= 14 else None


def _woke(jar: Jar, read: list[Reading]) -> date | None:
    """The reading that lay below a level of a fortnight, unless 60 days still have gone since."""
    for i in range(len(read)):
        before = read[:i]
        if len(before) < 2 or _still(before) is None:
            continue
        if 1000 * (before[-1].sg - read[i].sg) >= 2.5:
            since = _level(read)
            warm = cold(jar).warm_since
            warm_days = 0 if warm is None else (read[-1].on - max(warm, since)).days
            long = (read[-1].on - max(since, read[i].on)).days >= 60
            return None if long and warm_days >= 14 else read[i].on
    return None


def _falls(jar: Jar) -> bool:
    slow = jar.gravity.slow
    return len(slow) > 1 and 1000 * (slow[-2].sg - slow[-1].sg) >= 2.0


def _bubbles(jar: Jar) -> bool:
    """More than the weather makes, over the last two weeks."""
    counts = jar.rows.counts(jar.sugar_in)
    late = [c for c in counts if (counts[-1].on - c.on).days < 7 and not c.shaken]
    minutes = sum(c.minutes for c in late)
    limit = 0.1 / 4.5 * (jar.volume.full or 4.5)
    bubbles = sum(c.bubbles for c in late)
    return minutes >= 5.0 and (bubbles - 1.3 * bubbles**0.5) / minutes > limit


def _quiet(jar: Jar) -> tuple[date, date, date] | None:
    """Days on which a rate that halves every five days passes the threshold."""
    air = jar.air
    if air.per_min is None or air.counted_on is None or not air.heard or air.quiet:
        return None
    limit = jar.about.threshold_per_min * max(1.0, (jar.volume.full or 0.0) / 10.0)
    ratio, days = max(1.0, air.per_min / limit), 0.0
    while ratio > 1.0:
        ratio, days = ratio / 2.0 ** (1.0 / HALVES_DAYS), days + 1.0
    soon, about, late = (air.counted_on + timedelta(days=round(f * days)) for f in (0.6, 1.0, 1.8))
    return soon, about, late


def _leak(jar: Jar) -> date | None:
    """The last reading, if bubbles tell of less than a fifth of the fall before it."""
    read = jar.gravity.readings
    start = [r for r in jar.rows.readings if r.on <= jar.sugar_in][-1:]
    two = [*start, *read][-2:]
    if len(two) < 2 or not jar.rows.counts(jar.sugar_in):
        return None
    counts = [c for c in jar.rows.counts(jar.sugar_in) if two[0].on <= c.on <= two[1].on]
    days = (two[1].on - two[0].on).days
    if not counts or len(counts) < days / 4:
        return None
    mean = sum(c.per_min for c in counts) / len(counts)
    told = mean * 1440 * days * 1.7 * ML / GAS_ML / (jar.volume.full or 4.5)
    fell = 1000 * (two[0].sg - two[1].sg)
    strained = jar.rows.newest({acts.STRAINED}, since=two[0].on)
    return two[1].on if fell > 5.0 and told < fell / 5.0 and strained is None else None
