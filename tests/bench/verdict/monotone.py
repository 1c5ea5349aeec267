"""Checks that more danger or less evidence never turns a wait into a go: 400 diaries.

Diaries are drawn at random: jars on the eve of bottling with a fault or two, jars asked about on an
evening of their slowing, and jars that are done and then spoilt. If the answer is wait, it is asked
again with worse facts, without a whole kind of fact, at a later time only, and without facts that
counted for a go. What changes nothing in a wine must not change the answer.

A wait that ends on the day it named is no find; nor is a racking where the racking, filtering or
fining that was done is gone, for then nobody has taken the wine off its lees. One opening of
racking is by design and printed apart: bubbles alone may say rack, and a reading or a cold that
contradicts them may be what is gone. Of bottling no kind of fact may be gone.

Run: python tests/bench/verdict/monotone.py [--diaries 400] [--first 0] [--most N] [--processes 1]
"""

from __future__ import annotations

import argparse
import pickle
import random
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import repeat
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple
from unittest.mock import patch

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # what benches and tests share

from bubblerate.course.judgement import judge
from bubblerate.diary.settings import Settings, VesselSettings
from bubblerate.verdict.judgement import fit_situation
from bubblerate.verdict.reasons import Kind, Question

from kept import BEFORE, DONE, HURTS, Kept, event
from scenes import diary, evening

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from bubblerate.course.judgement import Judgement
    from bubblerate.ferment.fit import Fit
    from bubblerate.verdict.judgement import Situation

Row = dict[str, Any]
Change = "Callable[[list[Row], float], list[Row]]"
SEED = 15
LATE_DAYS = 28.0  # before the last row: what is made worse


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """A diary, the moment asked about, and which of its rows counted for a go."""

    name: str
    rows: tuple[Row, ...]
    later: float = 0.2
    style: str | None = None
    finish: float | None = None
    good: frozenset[int] = frozenset()  # places of the rows of a jar that was done

    @property
    def last(self) -> float:
        return max(row["day"] for row in self.rows)


class Answer(NamedTuple):
    """Which question is a go, and the judgement."""

    go: str
    judged: Judgement


# --- diaries -------------------------------------------------------------------------------------

_LEVELS = (0.992, 0.994, 0.994, 0.996, 0.998, 1.000, 1.002, 1.004, 1.008, 1.012)
_STYLES = ((1.086, "dry wine"), (1.050, "cider"), (1.058, "perry"), (1.110, "mead"), (1.086, None))
_SPANS = ((0, 7, 14, 21, 28), (0, 14), (0, 20), (0, 30, 60, 94), (0, 5, 10), (0, 15, 30), (28,))


def _eve(rng: random.Random) -> Drawn:
    """A jar before bottling, of any gravity, warmth and silence."""
    og, style = rng.choice(_STYLES)
    days, level = rng.choice(_SPANS), rng.choice(_LEVELS)
    fall = rng.choice((0.0, 0.0, 0.0, 0.02, 0.05, 0.1, 0.2))
    sg = tuple(
        round(level + (fall * (days[-1] - d) + rng.gauss(0.0, 0.6)) / 1000.0, 3) for d in days
    )
    n = rng.choice((0, 0, 0, 0, 1, 3, 12))
    jar = Kept(
        sg=sg,
        days=days,
        og=rng.choice((og, og, None)),
        style=style or "",
        temp_c=rng.choice((18.0, 18.0, 20.0, 12.0, 8.0, None)),
        counts=tuple(
            (d, rng.choice((0, n)), rng.choice((300, 300, 600, 60)))
            for d in sorted({days[0], max(0, days[-1] - 14), days[-1]})
        ),
        litres=rng.choice((1.0, 4.5, 4.5, 10.0, 23.0)),
        said=tuple(w for w in ("clear", "still", "malolactic-over") if rng.random() < 0.8),
        more=[_act(rng, days[-1])] if rng.random() < 0.5 else [],
    )
    return Drawn(
        name="eve", rows=tuple(jar.rows), style=style, finish=rng.choice((None, None, level))
    )


_ACTS = (
    *("racked", "fined", "sulphited", "stabilised", "fed", "topped-up", "diluted", "stirred"),
    *("moved", "airlock", "cloudy", "lees", "prickle", "sugar-low", "sugar-high", "tested"),
    *("bung-leaked", "starter", "joined", "degassed", "chilled", "warmed", "filtered", "strained"),
)


def _act(rng: random.Random, last: float) -> Row:
    what = rng.choice(_ACTS)
    more = {"fed": {"sugar_g": 40.0}, "topped-up": {"added_l": 0.3}, "diluted": {"added_l": 0.3}}
    return event(rng.uniform(-10.0, last), what, **more.get(what, {}))


def _slowing(rng: random.Random) -> Drawn:
    """A ferment on one of its evenings: slow or quick, leaking, chilled, read or not."""
    og, style = rng.choice(_STYLES)
    half, peak = rng.choice((1.5, 2.5, 4.0, 8.0)), rng.choice((6.0, 20.0, 60.0))
    last = rng.randrange(6, 60)
    stops = rng.randrange(3, last) if rng.random() < 0.35 else last + 1  # a leak, or stuck
    cold = rng.randrange(3, last + 3) if rng.random() < 0.3 else last + 1
    end = rng.choice((-6.0, -3.0, 1.0, 5.0))
    rows: list[Row] = [{"day": 0.0, "sg": og, "event": "pitched", "litres": 4.5}]
    for d in range(1, last + 1):
        rate = (
            peak
            * min(1.0, d / 3.0)
            * 0.5 ** (max(0.0, d - 3.0) / half)
            * rng.lognormvariate(0, 0.15)
        )
        rate *= 0.0 if d >= stops else 0.3 if d >= cold else 1.0
        seconds = rng.choice((60.0, 300.0, 300.0))
        if rng.random() < 0.85:
            bubbles = (
                sum(rng.random() < 0.05 for _ in range(3))
                if rate == 0.0
                else round(rate * seconds / 60.0)
            )
            temp_c = 9.0 if d >= cold else 19.0
            rows.append({"day": float(d), "bubbles": bubbles, "seconds": seconds, "temp_c": temp_c})
        if rng.random() < 0.12:
            left = ((og - 1.0) * 1000.0 - end) * 0.5 ** (max(0.0, min(d, stops) - 2.0) / half)
            sg = 1.0 + (end + left + rng.gauss(0.0, 0.8)) / 1000.0
            rows.append({"day": d + 0.1, "sg": round(sg, 3)})
    if rng.random() < 0.3:
        rows.append({**_act(rng, 1.0), "day": rng.uniform(2.0, last + 0.05)})
    if rng.random() < 0.15:  # an old low reading, wrong or of another jar
        rows.append({"day": rng.uniform(2.0, last), "sg": rng.choice((0.992, 0.996, 1.000))})
    rows.sort(key=lambda row: row["day"])
    later = rng.choice((0.2, 0.2, 3.0, 9.0))
    return Drawn(name="slowing", rows=tuple(rows), style=style, later=later)


_SPOILS: tuple[list[Row], ...] = (
    [event(28.05, None, bubbles=30, seconds=300.0)],
    [event(27.0, None, bubbles=12, seconds=300.0), event(28.05, None, bubbles=9, seconds=300.0)],
    [event(28.05, "fed", sugar_g=40.0)],
    [event(21.5, "fed", sugar_g=20.0)],
    [event(28.05, None, sg=1.004)],
    [event(20.0, "joined")],
    [event(28.05, "cloudy")],
    [event(25.0, "fined")],
    [event(28.05, "prickle")],
    [event(26.0, "starter")],
    [event(28.05, "sugar-high")],
    [event(21.0, "topped-up", added_l=1.5)],
    [event(27.0, "bung-leaked")],
    [event(15.0, "stabilised")],
    [event(40.0, None, bubbles=0, seconds=300.0), event(70.0, None, bubbles=0, seconds=300.0)],
    [event(21.0, "sulphited"), event(28.05, None, bubbles=6, seconds=300.0)],
)


def _spoilt(rng: random.Random) -> Drawn:
    """A jar that is done, and then one thing that makes bottling it harm."""
    name, jar = rng.choice(sorted(DONE.items()))
    spoil = [dict(row) for row in rng.choice(_SPOILS)]
    shift = max(row["day"] for row in jar.rows) - (BEFORE + 28.02)
    spoil = [{**row, "day": row["day"] + max(0.0, shift)} for row in spoil]
    rows = sorted([*jar.rows, *spoil], key=lambda row: row["day"])
    good = frozenset(n for n, row in enumerate(rows) if not any(row is bad for bad in spoil))
    return Drawn(
        name=f"{name}, spoilt by {spoil[-1].get('event') or 'a row'}",
        rows=tuple(rows),
        style=jar.style,
        finish=jar.finish,
        good=good,
    )


def _hurting(rng: random.Random) -> Drawn:
    name, (jar, _) = rng.choice(sorted(HURTS.items()))
    return Drawn(
        name=name, rows=tuple(jar.rows), style=jar.style, finish=jar.finish, later=jar.later
    )


def drawn(number: int) -> Drawn:
    """One of the diaries, the same for the same number."""
    rng = random.Random(f"{SEED} {number}")
    return rng.choice((_eve, _slowing, _slowing, _spoilt, _hurting))(rng)


# --- changes -------------------------------------------------------------------------------------


def _late(change: Callable[[Row, float], Row]) -> Callable[[list[Row], float], list[Row]]:
    """Change the rows of the last four weeks but for the pitching."""
    return lambda rows, last: [
        change(dict(row), last)
        if int(last) - int(row["day"]) <= LATE_DAYS and row.get("event") != "pitched"
        else row
        for row in rows
    ]


def _put(row: Row, name: str, change: Callable[[Any], Any]) -> Row:
    return {**row, name: change(row[name])} if row.get(name) is not None else row


def _without(*names: str) -> Callable[[list[Row], float], list[Row]]:
    return lambda rows, _: [{k: v for k, v in row.items() if k not in names} for row in rows]


def _unsaid(*events: str) -> Callable[[list[Row], float], list[Row]]:
    return lambda rows, _: [row for row in rows if row.get("event") not in events]


def _steeper(row: Row, last: float) -> Row:
    return _put(row, "sg", lambda sg: sg + 0.0002 * (last - row["day"]) / 7.0)


SEEN = ("clear", "still", "malolactic-over", "sugar-low", "tested", "filtered")
WORSE: dict[str, Callable[[list[Row], float], list[Row]]] = {
    "every late reading a point higher": _late(lambda r, _: _put(r, "sg", lambda sg: sg + 0.001)),
    "every late reading three points higher": _late(
        lambda r, _: _put(r, "sg", lambda sg: sg + 0.003)
    ),
    "a steeper fall to the same last reading": _late(_steeper),
    "three more bubbles each time": _late(lambda r, _: _put(r, "bubbles", lambda n: n + 3)),
    "twice the bubbles": _late(lambda r, _: _put(r, "bubbles", lambda n: 2 * n)),
    "three degrees colder": _late(lambda r, _: _put(r, "temp_c", lambda c: c - 3.0)),
}
GONE: dict[str, Callable[[list[Row], float], list[Row]]] = {
    "no temperatures": _without("temp_c"),
    "no counts": _without("bubbles", "seconds"),
    "no readings": _without("sg"),
    "nothing seen": _unsaid(*SEEN),
}
FOR_THE_GO: dict[str, Callable[[list[Row], float], list[Row]]] = {
    **{f"{word} unsaid": _unsaid(word) for word in SEEN},
    "silent evenings unseen": lambda rows, _: [row for row in rows if row.get("bubbles") != 0],
}
OFF_ITS_LEES = ("racked", "filtered", "fined", "fined-two-part", "stabilised")
CONTRADICTS = ("no temperatures", "no readings")
ALONE = ", by bubbles alone"
CLOCK_DAYS = (2.0, 6.0, 20.0, 60.0)


def _bare(rows: list[Row]) -> list[Row]:
    """Rows of which something is left."""
    return [row for row in rows if len(row.keys() - {"day", "seconds"})]


def changed(one: Drawn) -> Iterator[tuple[str, Drawn]]:
    """Every diary that is worse, or says less, than this one."""
    rows, last = list(one.rows), one.last
    for name, change in {**WORSE, **GONE, **FOR_THE_GO}.items():
        made = _bare(change(rows, last))
        if made and made != rows:
            later = one.later + last - max(row["day"] for row in made)
            yield name, replace(one, rows=tuple(made), later=later)
    late = [n for n in sorted(one.good) if last - rows[n]["day"] <= LATE_DAYS]
    for n in late[:: max(1, len(late) // 8)]:
        left = rows[:n] + rows[n + 1 :]
        later = one.later + last - max(row["day"] for row in left)
        what = {k: v for k, v in rows[n].items() if k != "day"}
        yield f"dropped: {what}", replace(one, rows=tuple(left), later=later)
    for days in CLOCK_DAYS:
        yield f"{days:.0f} days later", replace(one, later=one.later + days)


def alike(one: Drawn) -> Iterator[tuple[str, Drawn, str]]:
    """The same wine told otherwise: by another name, at another time of the year, a larger jar."""
    yield "another name", one, "quince-2"
    shift = [{**row, "day": row["day"] + 99.0} for row in one.rows]
    yield "99 days later in the year", replace(one, rows=tuple(shift)), "fig"
    sized = ("litres", "added_l", "sugar_g")
    rows = [{k: 1.1 * v if k in sized else v for k, v in row.items()} for row in one.rows]
    yield "a tenth more wine, as silent", replace(one, rows=tuple(rows)), "fig"


# --- asking --------------------------------------------------------------------------------------


@contextmanager
def fitted_once() -> Iterator[None]:
    """Fit the same evidence once: half of the changes leave it as it is."""
    known: dict[bytes, Fit | None] = {}

    def fit(asked: Situation) -> Fit | None:
        key = pickle.dumps(asked.evidence)
        if key not in known:
            known[key] = fit_situation(asked)
        return known[key]

    with patch("bubblerate.course.judgement.fit_situation", fit):
        yield


def settings_of(one: Drawn, vessel: str = "fig") -> Settings:
    """What its maker says of it."""
    own = VesselSettings(style=one.style, finish=one.finish)
    return Settings(vessels={vessel: own})


def moment_of(one: Drawn) -> datetime:
    """The moment asked about."""
    return evening(one.last) + timedelta(days=one.later)


def answer(one: Drawn, vessel: str = "fig") -> Answer:
    """Judge once: the one course answers both questions."""
    made = diary(*one.rows, vessel=vessel)
    judged = judge(made, at=moment_of(one), settings=settings_of(one, vessel))
    assert judged.course is not None
    found = [q.value for q in (Question.RACKING, Question.BOTTLING) if judged.course.go(q)]
    return Answer("".join(found), judged)


def announced(base: Answer, one: Drawn) -> bool:
    """Whether the wait named this day, or an earlier one, as its end."""
    on = moment_of(one)
    course = base.judged.course
    assert course is not None
    acts = (step for step in (course.next, *course.steps) if step.kind in (Kind.RACK, Kind.BOTTLE))
    return any(step.on <= on.date() for step in acts)


def unracked(one: Drawn, two: Drawn) -> bool:
    """Whether an act that took the first wine off its lees is gone from the second."""
    acts = [[row for row in d.rows if row.get("event") in OFF_ITS_LEES] for d in (one, two)]
    return len(acts[1]) < len(acts[0])


def by_bubbles_alone(name: str, got: Answer) -> bool:
    """Whether a racking opened by bubbles alone, once what contradicted them was gone."""
    course = got.judged.course
    return name in CONTRADICTS and course is not None and course.next.row == "F2"


def finds(number: int, most: int = 1000) -> list[str]:
    """What opens, or flips, that must not; of no more than so many changes, chosen at random.

    A racking by bubbles alone is among them, marked `ALONE`.
    """
    one, rng = drawn(number), random.Random(number)
    same, worse = list(alike(one)), list(changed(one))
    with fitted_once():
        base = answer(one)
        found = [
            f"{name}: {base.go or 'wait'} -> {got.go or 'wait'}"
            for name, two, vessel in rng.sample(same, min(len(same), most))
            if (got := answer(two, vessel)).go != base.go
        ]
        for name, two in rng.sample(worse, min(len(worse), most)):
            got = answer(two)
            allowed = name.endswith("days later") and announced(base, two)
            allowed |= got.go == "racking" and unracked(one, two)
            if got.go and got.go != base.go and not allowed:
                alone = ALONE if by_bubbles_alone(name, got) else ""
                found.append(f"{name}{alone}: {base.go or 'wait'} -> {got.go}")
    return [f"{number} ({one.name}), {what}" for what in found]


def main() -> int:
    """Try them all; print each find, and count."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--diaries", type=int, default=400)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--most", type=int, default=1000, help="changes of a kind to each")
    parser.add_argument("--processes", type=int, default=1)
    asked = parser.parse_args()
    numbers = range(asked.first, asked.first + asked.diaries)
    kinds: Counter[str] = Counter()
    with ProcessPoolExecutor(asked.processes) as pool:
        for found in pool.map(finds, numbers, repeat(asked.most), chunksize=4):
            for what in found:
                kinds[what.split("), ", 1)[1].split(":")[0]] += 1
                print(what, flush=True)
    alone = {what: n for what, n in kinds.items() if what.endswith(ALONE)}
    wrong = {what: n for what, n in kinds.items() if what not in alone}
    print(f"{asked.diaries} diaries, {sum(wrong.values())} finds: {wrong}; by design {alone}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
