"""Whole lives of jars, simulated: the true sugar of each day, and makers who keep their diaries.

A wine ferments by a law of its own (`Wine`); a jar (`Jar`) lives day by day and answers to what is
done to it. Two makers write rows: one by habit (`habit`), one who does exactly what is next
(`obey`). Everything is drawn from a fixed seed. Constants are ours unless a source is named.
"""

from __future__ import annotations

import random
import zlib
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

from bubblerate.course import words
from bubblerate.course.engine import Course, Step, course_of
from bubblerate.course.fold import fold
from bubblerate.course.inputs import About
from bubblerate.diary.styles import kind_of
from bubblerate.diary.visit import Visit
from bubblerate.verdict.reasons import Kind

from crude import crude

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from bubblerate.course.facts import Facts
    from bubblerate.course.jar import Weigh

BEGAN = datetime(2026, 9, 1, 21, tzinfo=UTC)
GAS_ML = 540.0  # of gas from a point in a litre: arithmetic from the published constants
CODES = {text: key for key, text in words.ALSO.items()}
MOST_DAYS = 520
MOST_IN_ONE_EVENING = 8
RULED_OUT_DAY = 120.0  # by then a maker without bacteria says so


def at(day: float, **what: object) -> Visit:
    """Visit so many days after the first evening."""
    return Visit(when=BEGAN + timedelta(days=day), **what)  # type: ignore[arg-type]


def date_of(day: float) -> date:
    """Date of the evening so many days after the first."""
    return (BEGAN + timedelta(days=day)).date()


@dataclass(frozen=True, slots=True, kw_only=True)
class Wine:
    """How a wine ferments; points and days, C, litres."""

    name: str
    style: str | None = None
    start: float = 88.0
    end: float = -6.0
    litres: float = 4.5
    pace: float = 8.0  # points a day at 20 C, at its height
    half: float = 30.0  # points at which it has slowed to half of that
    lag_days: float = 2.0
    temp_c: Callable[[float], float] = lambda _: 18.0
    sleeps_c: float = 9.0  # colder it does not work
    leak: float = 0.0
    bubble_ml: float = 1.0
    pauses_at: float | None = None  # points left at which it stops till it has been warm
    wakes_c: float = 16.0
    sticks_at: float | None = None  # points left at which it stops till it is helped
    helped_by: str = "stirred"
    clears_days: float = 45.0  # after its end
    needs_finings: bool = False
    bacteria: tuple[float, float] | None = None  # days on which they start and end
    chilled_day: float | None = None
    feeds_day: float | None = None
    sweetens: bool = False


@dataclass(slots=True)
class Jar:
    """A wine on one day, and what was done to it."""

    wine: Wine
    rng: random.Random
    day: float = 0.0
    left: float = 0.0  # points that can still ferment
    litres: float = 0.0
    end: float = 0.0
    bung_leaks: float = 0.0
    warmed: bool = False
    cold: bool = False
    helped: bool = False
    warm_days: float = 0.0
    ended_day: float | None = None
    held: bool = False
    fined_day: float | None = None
    rate: float = 0.0
    clears_days: float = 0.0
    sampled: int = 0  # readings that took wine out, besides those at start, racking and bottling
    rows: list[Visit] = field(default_factory=list)

    def __post_init__(self) -> None:
        wine = self.wine
        self.left, self.litres, self.end = wine.start - wine.end, wine.litres, wine.end
        self.bung_leaks = wine.leak
        self.clears_days = wine.clears_days * self.rng.lognormvariate(0.0, 0.15)
        self.write(event="pitched", sg=self.read(), litres=wine.litres, temp_c=self.temp)

    @property
    def temp(self) -> float:
        if self.warmed:
            return 20.0
        if self.cold:
            return 6.0
        return self.wine.temp_c(self.day)

    @property
    def sg(self) -> float:
        return 1.0 + 0.001 * (self.end + self.left)

    @property
    def clear(self) -> bool:
        if self.fined_day is not None and self.day >= self.fined_day + 4:
            return True
        done = self.ended_day is not None and self.day >= self.ended_day + self.clears_days
        return done and not self.wine.needs_finings

    @property
    def bacteria_work(self) -> bool:
        some = self.wine.bacteria
        return some is not None and some[0] <= self.day < some[1] and not self.held

    @property
    def gassy(self) -> bool:
        return self.bacteria_work or self.ended_day is None or self.day < self.ended_day + 25

    def live(self) -> None:
        """Let a day pass."""
        self.day += 1.0
        c = self.temp
        self.warm_days += c >= self.wine.wakes_c
        works = self.day > self.wine.lag_days and c >= self.wine.sleeps_c and not self.held
        wine = self.wine
        if wine.pauses_at is not None and self.left <= wine.pauses_at and not self._woken:
            works = False
        if wine.sticks_at is not None and self.left <= wine.sticks_at and not self.helped:
            works = False
        grown = min(1.0, (self.day - wine.lag_days) / 2.0)
        warmth = 2.0 ** ((c - 20.0) / 10.0)
        pace = wine.pace * warmth * grown * self.left / (self.left + wine.half)
        self.rate = min(self.left, pace) if works else 0.0
        self.left = max(0.0, self.left - self.rate)
        if self.left < 0.3 and self.ended_day is None:
            self.ended_day = self.day

    @property
    def _woken(self) -> bool:
        """A pause ends after five warm days that follow it."""
        if self.left > (self.wine.pauses_at or 0.0):
            self.warm_days = 0.0
        return self.warm_days >= 5.0

    @property
    def per_min(self) -> float:
        """True rate at the airlock."""
        made = self.rate * self.litres * GAS_ML / 1440.0 / self.wine.bubble_ml
        bacteria = 1.2 if self.bacteria_work else 0.0
        return (made + bacteria) * (1.0 - self.bung_leaks) + 0.01

    def read(self) -> float:
        """A reading, of one hand and stem, to a point."""
        return round(self.sg + 0.001 * self.rng.gauss(0.0, 0.4), 3)

    def bubbles(self, seconds: float) -> int:
        """A count, Poisson, with the scatter of evenings."""
        mean = self.per_min * seconds / 60.0 * self.rng.lognormvariate(0.0, 0.15)
        if mean > 200.0:
            return max(0, round(self.rng.gauss(mean, mean**0.5)))
        n, p, stop = 0, self.rng.random(), 2.718281828459045 ** (-mean)
        while p > stop:
            n, p = n + 1, p * self.rng.random()
        return n

    def sample(self, **what: object) -> None:
        """A reading that somebody asked for."""
        self.sampled += 1
        self.write(sg=self.read(), **what)

    def write(self, **what: object) -> None:
        self.rows.append(at(self.day, **what))

    def count(self, seconds: float = 300.0) -> None:
        self.write(bubbles=self.bubbles(seconds), seconds=seconds, temp_c=self.temp)

    def rack(self) -> None:
        self.litres = self.wine.litres - 0.3
        self.write(event="racked", sg=self.read(), litres=self.litres)
        self.litres = self.wine.litres
        self.write(event="topped-up", added_l=0.3, litres=self.litres)

    def look(self) -> None:
        self.write(event="clear" if self.clear else "cloudy")

    def shake(self) -> None:
        self.write(event="prickle" if self.gassy else "still")

    def stabilise(self) -> None:
        self.held = True
        self.ended_day = self.ended_day or self.day
        self.write(event="sulphited")
        self.write(event="stabilised", sg=self.read())

    def feed(self, grams: float) -> None:
        points = grams / self.litres / 2.58
        self.left += 1.22 * points
        self.end -= 0.22 * points
        self.ended_day = None
        self.write(event="fed", sugar_g=grams)


def seed_of(name: str, seed: int) -> random.Random:
    """Chance of one life."""
    return random.Random(zlib.crc32(f"{name}{seed}".encode()))


def cool(day: float) -> float:
    """A cool cellar that warms in spring."""
    return 8.5 if day < 210 else min(15.0, 8.5 + 0.1 * (day - 210))


def garage(day: float) -> float:
    """Warm at first, cold from day 18 on, warm again in spring."""
    return 18.0 if day < 18 else 6.5 if day < 200 else 15.0


LIVES = (
    Wine(name="plum", style="plum wine"),
    Wine(name="elder", style="elderberry wine", start=92.0, temp_c=garage),
    Wine(name="elder-put", style="elderberry wine", start=92.0, chilled_day=12.0),
    Wine(
        name="cider-23",
        style="cider",
        start=52.0,
        end=1.0,
        litres=23.0,
        temp_c=cool,
        sleeps_c=4.0,
        bacteria=(240.0, 262.0),
    ),
    Wine(
        name="cider-10",
        style="cider",
        start=52.0,
        end=1.0,
        litres=10.0,
        temp_c=lambda _: 9.0,
        sleeps_c=4.0,
    ),
    Wine(name="perry", style="perry", start=58.0, end=8.0),
    Wine(name="mead", style="mead", start=108.0, end=2.0, pace=6.0, half=36.0),
    Wine(name="strong-mead", style="strong mead", start=130.0, end=12.0, pace=5.5, half=40.0),
    Wine(name="parsnip", style="parsnip wine", start=85.0, end=-10.0),
    Wine(name="stuck", start=90.0, sticks_at=26.0, temp_c=lambda d: 19.0 if d < 14 else 14.5),
    Wine(name="stuck-hard", start=90.0, sticks_at=26.0, helped_by="starter"),
    Wine(
        name="goose",
        start=84.0,
        pauses_at=6.5,
        temp_c=lambda d: 16.5 if d < 26 else 12.0 if d < 240 else 19.0,
    ),
    Wine(name="leak", start=86.0, leak=0.85),
    Wine(name="sloe", style="sloe wine", start=100.0),
    Wine(name="fed", style="apple wine", start=70.0, feeds_day=40.0),
    Wine(name="strawberry", style="strawberry wine", start=80.0, sweetens=True),
    Wine(name="hazy", style="apple wine", start=80.0, needs_finings=True),
    Wine(name="bucket", style="rhubarb wine", start=84.0, litres=23.0),
)
BY_NAME = {wine.name: wine for wine in LIVES}


def about_of(wine: Wine) -> About:
    """What its maker says of it."""
    return About(style=wine.style, full_litres=wine.litres, litres=wine.litres)


def rack_day(wine: Wine) -> int | None:
    """Expert's day: the first on which five points or less are left and the airlock is quiet."""
    jar = Jar(wine=replace(wine, chilled_day=None), rng=seed_of(wine.name, 0))
    limit = max(1.0, wine.litres / 10.0)
    for _ in range(MOST_DAYS):
        jar.live()
        rests = wine.pauses_at is not None and jar.left <= wine.pauses_at
        if (jar.left <= 5.0 or rests) and jar.per_min / max(0.05, 1.0 - wine.leak) <= limit:
            return int(jar.day)
    return None


def bottle_day(jar: Jar) -> int | None:
    """Expert's day for a jar that was played: ended 14 days, clear for its time, all settled."""
    wine = jar.wine
    if jar.ended_day is None:
        return None
    clears = jar.ended_day + jar.clears_days
    ripe = clears + 30
    if jar.fined_day is not None:
        ripe = jar.fined_day + 4 + 14
    asked = kind_of(wine.style).malolactic
    settled = wine.bacteria[1] if wine.bacteria is not None else RULED_OUT_DAY if asked else 0.0
    held = max(
        (days_of(r) + 14 for r in jar.rows if r.event in ("stabilised", "sweetened")), default=0
    )
    return int(max(jar.ended_day + 14, ripe, settled, held))


def days_of(row: Visit) -> int:
    """Days since the first evening."""
    return (row.when - BEGAN).days


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """How a life went: each evening's course, and what came of it."""

    wine: Wine
    jar: Jar
    seen: tuple[tuple[int, Course], ...]
    racked_day: int | None
    racked_sg: float | None
    racked_left: float | None
    racked_per_min: float | None
    bottled_day: int | None
    bottled_left: float | None
    asked: tuple[tuple[int, Step], ...]

    def visits(self, kind: Kind) -> int:
        """How often a kind of step was asked for and done."""
        return sum(step.kind is kind for _, step in self.asked)


def obey(
    wine: Wine,
    seed: int = 1,
    *,
    most_days: int = MOST_DAYS,
    weigh: Callable[[About], Weigh] = crude,
) -> Played:
    """A maker who does each next step on its day, and nothing else; `weigh` makes the sums."""
    jar = Jar(wine=wine, rng=seed_of(wine.name, seed))
    about = about_of(wine)
    played = _Play(jar, about, weigh(about))
    while jar.day < most_days and played.bottled is None:
        jar.live()
        _wishes(jar)
        for _ in range(MOST_IN_ONE_EVENING):
            now = played.ask()
            if now.next.on > now.asked_on or now.next.kind is Kind.NOTHING:
                break
            played.do(now.next)
            if played.bottled is not None:
                break
        else:
            raise AssertionError(f"{wine.name}, day {jar.day:g}: no end to what is next")
    return played.result()


def _wishes(jar: Jar) -> None:
    """What a maker does of his own accord."""
    wine = jar.wine
    if wine.chilled_day == jar.day:
        jar.cold = True
        jar.write(event="chilled", temp_c=jar.temp)
    if wine.chilled_day is not None and jar.day == 150.0:
        jar.cold = False
        jar.write(event="warmed", temp_c=jar.temp)
    if wine.feeds_day == jar.day:
        jar.feed(300.0)
    if wine.sweetens and jar.clear and not jar.held:
        jar.stabilise()
    if wine.sweetens and jar.held and jar.rows[-1].event == "stabilised":
        jar.end += 12.0
        jar.write(event="sweetened", sugar_g=31.0 * jar.litres, sg=jar.read())


@dataclass(slots=True)
class _Play:
    jar: Jar
    about: About
    weigh: Weigh
    seen: list[tuple[int, Course]] = field(default_factory=list)
    asked: list[tuple[int, Step]] = field(default_factory=list)
    racked: tuple[int, float, float, float] | None = None
    bottled: tuple[int, float] | None = None
    facts: Facts | None = None
    folded: int = 0

    def ask(self) -> Course:
        """The course of this evening; rows are folded when there is a new one."""
        jar = self.jar
        if self.facts is None or self.folded != len(jar.rows):
            self.facts = fold(jar.rows, self.about, self.weigh)
            self.folded = len(jar.rows)
        now = course_of(self.facts, date_of(jar.day))
        self.seen.append((int(jar.day), now))
        return now

    def do(self, step: Step) -> None:
        jar = self.jar
        self.asked.append((int(jar.day), step))
        also = [CODES[text] for text in step.also]
        act = getattr(self, f"_{step.kind.name.lower()}")
        act()
        for key in also:
            if key == "count" and step.kind is not Kind.COUNT:
                jar.count()
            elif (
                key == "read"
                and step.kind
                not in (
                    Kind.READ,
                    Kind.RACK,
                    Kind.STABILISE,
                    Kind.BOTTLE,
                )
            ) or (key == "read-if-clear" and jar.clear):
                jar.sample()
            elif key == "look" and step.kind is not Kind.LOOK:
                jar.look()
            elif key == "shake":
                jar.shake()
            elif key == "temperature" and self.jar.rows[-1].temp_c is None:
                self.jar.write(temp_c=self.jar.temp)
            elif key == "malolactic" and not jar.bacteria_work and _past_bacteria(jar):
                jar.write(event="malolactic-over")

    def _count(self) -> None:
        self.jar.count(1200.0 if self.asked[-1][1].row == "C12d" else 300.0)

    def _read(self) -> None:
        self.jar.sample(temp_c=self.jar.temp)

    _answer = _read

    def _bung(self) -> None:
        self.jar.write(event="bung-tight")

    def _warm(self) -> None:
        self.jar.warmed = True
        self.jar.write(event="warmed", temp_c=self.jar.temp)

    def _rouse(self) -> None:
        self.jar.helped |= self.jar.wine.helped_by == "stirred"
        self.jar.write(event="stirred")

    def _restart(self) -> None:
        self.jar.helped = True
        self.jar.write(event="starter")

    def _rack(self) -> None:
        jar = self.jar
        if self.racked is None:
            self.racked = int(jar.day), jar.sg, jar.left, jar.per_min
        jar.rack()

    def _top_up(self) -> None:
        self.jar.write(event="topped-up", litres=self.jar.wine.litres)

    def _look(self) -> None:
        self.jar.look()
        if self.asked[-1][1].row in ("C2", "C12c"):
            self.jar.shake()

    def _chill(self) -> None:
        self.jar.write(event="chilled", temp_c=12.0)

    def _fine(self) -> None:
        self.jar.fined_day = self.jar.day
        self.jar.write(event="fined")

    def _stabilise(self) -> None:
        self.jar.stabilise()

    def _bottle(self) -> None:
        jar = self.jar
        self.bottled = int(jar.day), 0.0 if jar.held else jar.left
        jar.write(event="bottled", bottles="6x75", closure="cork", sg=jar.read())

    def result(self) -> Played:
        racked = self.racked or (None, None, None, None)
        bottled = self.bottled or (None, None)
        return Played(
            wine=self.jar.wine,
            jar=self.jar,
            seen=tuple(self.seen),
            asked=tuple(self.asked),
            racked_day=racked[0],
            racked_sg=racked[1],
            racked_left=racked[2],
            racked_per_min=racked[3],
            bottled_day=bottled[0],
            bottled_left=bottled[1],
        )


def _past_bacteria(jar: Jar) -> bool:
    some = jar.wine.bacteria
    return jar.day >= some[1] if some is not None else jar.day >= RULED_OUT_DAY


def habit(wine: Wine, seed: int = 1, *, days: int = 330) -> Iterator[tuple[int, Jar]]:
    """A maker who keeps his own rhythm; each evening's jar, whose rows grow."""
    jar = Jar(wine=wine, rng=seed_of(wine.name, seed))
    racked = rack_day(wine)
    for _ in range(days):
        jar.live()
        _wishes(jar)
        day = int(jar.day)
        if day < 60 or day % 10 == 0:
            jar.count(60.0 if jar.per_min > 5.0 else 300.0)
        if racked is not None and day == racked + 5:
            jar.rack()
        elif day in (21, racked) or (day > 75 and day % 21 == 0):
            jar.sample(temp_c=jar.temp)
        if day > 60 and day % 30 == 5:
            jar.look()
            jar.shake()
        if day == 275 and kind_of(wine.style).malolactic:
            jar.write(event="malolactic-over")
        yield day, jar
