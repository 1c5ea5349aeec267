"""How far each kind of jar may go before it waits: the last value that is a go.

Nobody's rule says these values: they are what the weighing comes to, written down so that a change
that lets more pass is seen. `tests/golden/edges.txt` holds them.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bubblerate.diary.settings import Settings, VesselSettings
from bubblerate.verdict.lacks import lacks
from bubblerate.verdict.proof import evidence_for_bottling, near_its_end
from bubblerate.verdict.sugar_grid import weigh

from kept import DAILY, SEASONS, STABILISED, WEEKLY, Kept, event
from scenes import diary, evening

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from bubblerate.verdict.proof import NearItsEnd
    from bubblerate.verdict.sugar_evidence import SugarEvidence

GOLDEN = Path(__file__).parent.parent / "golden" / "edges.txt"
LATE = {"days": SEASONS, "counts": ((0, 0, 300), (80, 0, 300), (94, 0, 300))}
HALF_A_YEAR = (0, 60, 120, 180)
LIVELY = tuple((d, 1, 600) for d in range(0, 29, 2))
PERRY = {"og": 1.058, "style": "perry"}
MEAD = {"og": 1.110, "style": "mead"}

JARS: dict[str, dict[str, Any]] = {
    "dry wine": {},
    "read twice": {"days": (0, 14)},
    "read twice in a month": {"days": (0, 28)},
    "read each day": {"days": tuple(range(29)), "counts": DAILY},
    "three seasons": LATE,
    "half a year": {"days": HALF_A_YEAR, "counts": tuple((d, 0, 300) for d in (0, 166, 180))},
    "at 25 C": {"temp_c": 25.0},
    "at 15 C": {"temp_c": 15.0, **LATE},
    "at 12 C": {"temp_c": 12.0, **LATE},
    "at 9 C": {"temp_c": 9.0, **LATE},
    "no temperature": {"temp_c": None, **LATE},
    "one temperature": {"noted": (14,), **LATE},
    "worked at 9 C": {"worked_c": 9.0, "temp_c": 9.0, **LATE},
    "worked at 25 C": {"worked_c": 25.0, **LATE},
    "never heard to work": {"worked": False},
    "counted for an hour each night": {"counts": tuple((d, 0, 3600) for d in range(29))},
    "counted once": {"counts": ((28, 0, 300),)},
    "counted by day and night": {"counts": tuple((d, 3, 43_200) for d in range(29))},
    "a bubble or two": {"counts": LIVELY},
    "a bubble or two, one litre": {"counts": LIVELY, "litres": 1.0},
    "a bubble or two, 23 litres": {"counts": LIVELY, "litres": 23.0},
    "cider": {"og": 1.050, "style": "cider"},
    "cider, three seasons": {"og": 1.050, "style": "cider", **LATE},
    "perry": PERRY,
    "perry, three seasons": {**PERRY, **LATE},
    "perry at 12 C": {**PERRY, **LATE, "temp_c": 12.0},
    "mead": MEAD,
    "mead, three seasons": {**MEAD, **LATE},
    "strong mead": {"og": 1.140, "style": "mead", **LATE},
    "no style": {"style": "", **LATE},
    "no start": {"og": None, **LATE},
    "said to end at 1.000": {"finish": 1.000, **LATE},
    "said to end at 1.010": {"finish": 1.010, **PERRY, **LATE},
    "a strip that shows none": {"more": [event(27, "sugar-low")]},
    "a strip that shows sugar": {"more": [event(27, "sugar-high")]},
    "a test bottle kept warm": {"more": [event(10, "tested")], **LATE},
    "stabilised": {"more": STABILISED},
    "stabilised, three seasons": {"more": STABILISED, **LATE},
    "sulphited": {"more": [event(5, "sulphited")], **LATE},
    "racked": {"more": [event(10, "racked")], **LATE},
    "warmed": {"temp_c": 9.0, "more": [event(40, "warmed"), event(41, None, temp_c=21.0)], **LATE},
    "stabilised, then a starter": {"more": [*STABILISED, event(3, "starter")], **LATE},
    "a starter": {"more": [event(20, "starter")], **LATE},
    "topped up": {"more": [event(20, "topped-up", added_l=0.4)], **LATE},
}  # fmt: skip
TAUGHT = {"gas of a bubble known well": (0.6, 0.2), "and hardly": (0.6, 1.0), "large": (2.0, 0.3)}


def known_of(jar: Kept) -> SugarEvidence:
    """What its diary tells of the sugar left."""
    at = evening(max(row["day"] for row in jar.rows) + jar.later)
    own = Settings(vessels={"fig": VesselSettings(style=jar.style or None, finish=jar.finish)})
    return evidence_for_bottling(diary(*jar.rows), at=at, settings=own)


def goes(jar: Kept, bubble_ml: tuple[float, float] | None = None) -> bool:
    """Whether nothing stands against bottling it."""
    known = replace(known_of(jar), bubble_ml=bubble_ml)
    return not lacks(known, weigh(known))


def last_go(tried: Sequence[Any], go: Callable[[Any], bool]) -> str:
    """The last of values that get worse at which it goes, by halves."""
    low, high = -1, len(tried)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if go(tried[middle]) else (low, middle)
    return "no go" if low < 0 else "all go" if high == len(tried) else f"{tried[low]:g}"


LEVELS = [round(0.990 + 0.0002 * n, 4) for n in range(128)]
NEAR = [round(0.990 + 0.0002 * n, 4) for n in range(256)]
FALLS = [round(0.01 * n, 2) for n in range(64)]  # points a day
ODD = [round(0.0002 * n, 4) for n in range(48)]  # one reading higher than the others


def of_level(more: dict[str, Any], **known: Any) -> str:
    days = more.get("days", WEEKLY)
    return last_go(LEVELS, lambda sg: goes(Kept(**{**more, "sg": (sg,) * len(days)}), **known))


def of_near(more: dict[str, Any], days: tuple[int, ...], fall: float = 0.0) -> str:
    """Of a wine that is to be racked, and what may be left of it at most at 1.006."""

    def weighed(sg: float) -> NearItsEnd:
        sgs = tuple(round(sg + fall * (days[-1] - d) / 1000.0, 4) for d in days)
        found = near_its_end(known_of(Kept(**{**more, "days": days, "sg": sgs})))
        assert found is not None
        return found

    most = weighed(1.006).left_points.high
    return f"{last_go(NEAR, lambda sg: weighed(sg).near)} ({most:.2g})"


def of_fall(more: dict[str, Any]) -> str:
    days = more.get("days", WEEKLY)

    def go(fall: float) -> bool:
        sg = tuple(round(0.993 + fall * (days[-1] - d) / 1000.0, 5) for d in days)
        return goes(Kept(**{**more, "sg": sg}))

    return last_go(FALLS, go)


def of_one_odd(more: dict[str, Any], n: int) -> str:
    days = more.get("days", WEEKLY)

    def go(by: float) -> bool:
        sg = [0.993] * len(days)
        sg[n] += by
        return goes(Kept(**{**more, "sg": tuple(sg)}))

    return last_go(ODD, go)


def of_bubbles(more: dict[str, Any], seconds: int, nights: int) -> str:
    days = more.get("days", WEEKLY)

    def go(n: int) -> bool:
        quiet = more.get("counts") or ((days[0], 0, 300), (days[-1] - 14, 0, 300))
        last = tuple((days[-1] - k, n, seconds) for k in range(nights - 1, -1, -1))
        early = tuple(c for c in quiet if c[0] < days[-1] - nights)
        return goes(Kept(**{**more, "sg": (0.994,) * len(days), "counts": (*early, *last)}))

    return last_go(range(64), go)


def lines() -> Iterator[str]:
    """How far each goes, line by line."""
    yield "highest gravity"
    yield from (f"    {name}: {of_level(more)}" for name, more in JARS.items())
    for name, bubble_ml in TAUGHT.items():
        yield f"    {name}: {of_level(JARS['a bubble or two'], bubble_ml=bubble_ml)}"
    yield "near enough to its end to be racked, by one reading, by two that agree, are apart, fall"
    for name in ("dry wine", "perry", "mead", "no start", "at 9 C", "a bubble or two"):
        more = {**JARS[name], "counts": JARS[name].get("counts")}
        agree = (of_near(more, days) for days in ((28,), (23, 28), (0, 45)))
        yield f"    {name}: {', '.join([*agree, of_near(more, (22, 28), fall=2.0)])}"
    yield "fastest fall, points a day"
    some = [*[*JARS][:8], "perry", "stabilised", "counted for an hour each night"]
    yield from (f"    {name}: {of_fall(JARS[name])}" for name in some)
    yield "one reading off, the first, the third and the last"
    for name in ("dry wine", "read each day", "perry"):
        yield f"    {name}: {', '.join(of_one_odd(JARS[name], n) for n in (0, 2, -1))}"
    yield "most bubbles, on the last night, on three, in an hour"
    for name in ("dry wine", "a bubble or two, one litre", "a bubble or two, 23 litres", "perry"):
        ways = ((300, 1), (300, 3), (3600, 1), (3600, 3))
        yield f"    {name}: {', '.join(of_bubbles(JARS[name], *way) for way in ways)}"


def test_no_jar_may_go_further_than_it_did(tmp_path):
    found = tmp_path / "edges.txt"
    found.write_text("\n".join([*lines(), ""]), encoding="utf-8")
    same = found.read_text(encoding="utf-8") == GOLDEN.read_text(encoding="utf-8")
    assert same, f"if what goes further does no harm: cp {found} {GOLDEN}"
