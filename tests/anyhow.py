"""Diaries at random: rows that no maker would write in that order, and that must still be read."""

from __future__ import annotations

import os
import random
from dataclasses import replace
from datetime import timedelta
from functools import cache
from typing import TYPE_CHECKING, Final

from bubblerate.course.inputs import About

from lives import BEGAN, BY_NAME, LIVES, about_of, at, obey

if TYPE_CHECKING:
    from bubblerate.diary.visit import Visit

STYLES = (None, "cider", "perry", "mead", "plum wine", "elderberry wine", "no such style")
# fmt: off
EVENTS = (
    "sampled", "fed", "starter", "diluted", "sweetened", "stirred", "degassed", "moved", "chilled",
    "warmed", "airlock", "bung-tight", "bung-leaked", "strained", "pressed", "racked", "racked",
    "topped-up", "fined", "fined-two-part", "sulphited", "stabilised", "filtered", "clear", "clear",
    "clear", "cloudy", "lees", "still", "still", "prickle", "malolactic-over", "tasted", "split",
    "joined", "tested", "sugar-low",
)
LAST = ("bottled", "bottled-sparkling", "opened", "poured-back", "gushed", "put-away")
# fmt: on


# All lives and many diaries at random where a sweep is asked for; else those that show the most.
SWEEP: Final = bool(os.environ.get("BUBBLERATE_SWEEP"))


def seeds(few: int, many: int = 90) -> range:
    """Numbers of diaries at random."""
    return range(many if SWEEP else few)


def lives(*few: str) -> list[str]:
    """Names of lives."""
    return [wine.name for wine in LIVES] if SWEEP else [*few]


LONG_LIVES = ("plum", "cider-10", "perry", "mead", "strawberry", "hazy", "stuck")


@cache
def life(name: str) -> tuple[tuple[Visit, ...], About]:
    """A life lived by the book, up to its bottling."""
    wine = BY_NAME[name]
    return tuple(obey(wine).jar.rows), about_of(wine)


def anyhow(seed: int) -> tuple[tuple[Visit, ...], About]:
    """A diary that no maker would write, and what is said of its jar.

    Two in three begin as a life lived by the book, broken off on some row and gone on with at
    random, so that every part of the table is met.
    """
    rng = random.Random(seed)
    if seed % 3 == 0:
        return scribbled(rng)
    rows, about = life(LONG_LIVES[seed % len(LONG_LIVES)])
    kept = [row for row in rows[: rng.randrange(2, len(rows))] if rng.random() > 0.05]
    day = float((kept[-1].when - BEGAN).days) if kept else 0.0
    for _ in range(rng.randrange(0, 6)):
        day += rng.choice((0.0, 1.0, 1.0, 3.0, 14.0))
        kept.append(_row(rng, day, rng.choice((0.0, 0.0, 3.0)), rng.choice((-6.0, 1.0, 8.0))))
    kept.sort(key=lambda row: row.when)
    return tuple(kept) or rows[:1], about


def scribbled(rng: random.Random) -> tuple[tuple[Visit, ...], About]:
    """A diary of up to 40 rows at random, and what is said of its jar."""
    litres = rng.choice((None, 1.0, 4.5, 10.0, 23.0))
    about = About(style=rng.choice(STYLES), litres=litres, full_litres=litres)
    rows: list[Visit] = []
    if rng.random() < 0.8:
        rows.append(at(0.0, event="pitched", sg=rng.choice((None, 1.060, 1.090))))
    day, halves, end = 0.0, rng.uniform(2.0, 9.0), rng.choice((-6.0, -2.0, 2.0, 8.0, 20.0))
    for _ in range(rng.randrange(1, 40)):
        day += rng.choice((0.0, 1.0, 1.0, 1.0, 2.0, 3.0, 7.0, 14.0, 30.0))
        left = 90.0 * 0.5 ** (max(0.0, day - 3.0) / halves)
        rows.append(_row(rng, day, left, end))
    if rng.random() < 0.25:
        rows.append(at(day + rng.randrange(3), event=rng.choice(LAST), bottles="6x75"))
    rows.sort(key=lambda row: row.when)
    return tuple(rows), about


def _row(rng: random.Random, day: float, left: float, end: float) -> Visit:
    """One row: a count, a reading, an event, or several at once."""
    what: dict[str, object] = {}
    if rng.random() < 0.5:
        seconds = rng.choice((60.0, 300.0, 600.0))
        mean = (left * 0.3 if rng.random() < 0.9 else 8.0) * seconds / 60.0
        what |= {"bubbles": max(0, round(rng.gauss(mean, mean**0.5))), "seconds": seconds}
    if rng.random() < 0.4:
        what["sg"] = round(1.0 + 0.001 * (left + end + rng.gauss(0.0, 0.7)), 3)
    if rng.random() < 0.5:
        what["temp_c"] = rng.choice((6.0, 12.0, 17.0, 18.0, 20.0))
    if not what or rng.random() < 0.4:
        what["event"] = rng.choice(EVENTS)
    return at(day + rng.choice((0.0, 0.02, 0.1)), **what)


def shifted(rows: tuple[Visit, ...], days: int) -> tuple[Visit, ...]:
    """The same diary so many days later."""
    return tuple(replace(row, when=row.when + timedelta(days=days)) for row in rows)
