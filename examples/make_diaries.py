"""Write the diaries of an invented cellar, one jar for each thing the tool can be asked.

quince               finished clean: quiet airlock, two low readings days apart; rack it
perry-pear           still in full swing, only the starting gravity known; wait
damson               stuck: quiet though warm, the gravity standing at about 1.024; wait
chestnut-honey-mead  long and slow, two or three bubbles a minute, one reading; wait, date ahead
russet-cider         a bung that leaks: the airlock fell silent, the gravity did not; wait
sloe                 a cold shed: no bubbles at 8 C, and 1.012 when the frost came; wait
medlar               racked, clear and silent, one gravity for over two weeks; bottle it

Nothing here was brewed. A jar falls by some points a day: more as the yeast grows, less as the
sugar goes and the yeast dies away, twice as much when 10 C warmer, next to nothing under 10 C.
Its bubbles and its gravity come from the same fall, so they agree as they would in a cellar.
To write the files again, the same to the byte: python examples/make_diaries.py
"""

import csv
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta, timezone
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

COLUMNS = "when bubbles seconds temp_c pressure_hpa sg sample_c event litres note struck"
CLOCKS_BACK = datetime(2026, 10, 25, 2)  # summer time ends
GAS_ML_PER_L_PER_POINT = 540.0  # at 20 C
ML_PER_BUBBLE = 0.9
STEPS_PER_DAY = 48
Row = dict[str, object]


@dataclass(frozen=True, kw_only=True)
class Yeast:
    """How fast a must is eaten."""

    points_per_day: float  # in full swing at 18 C
    grown_day: float  # half grown
    dying_per_day: float


@dataclass(frozen=True, kw_only=True)
class Jar:
    """One vessel, and what its keeper did; an evening is a whole number of days since pitching."""

    name: str
    pitched: datetime
    last_evening: int
    litres: float
    og: float
    finish: float
    yeast: Yeast
    temp_c: Callable[[float], float]  # by day
    leaks_from_day: float = np.inf
    missed: Sequence[int] = ()
    readings: Sequence[int] = ()
    smallest_mark: float = 0.001
    barometer: bool = False
    events: dict[int, Row] = field(default_factory=dict)  # a row of its own that evening
    notes: dict[int, str] = field(default_factory=dict)


def fall(jar: Jar) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Gravity, and the points it falls a day, every half hour of a jar's life."""
    steps = STEPS_PER_DAY * (jar.last_evening + 2)
    sg, points_per_day = np.empty(steps), np.empty(steps)
    left = 1000.0 * (jar.og - jar.finish)
    for i in range(steps):
        day = i / STEPS_PER_DAY
        grown = 1.0 / (1.0 + np.exp(3.0 * (jar.yeast.grown_day - day)))
        alive = np.exp(-jar.yeast.dying_per_day * day)
        warm_c = jar.temp_c(day)
        pace = 2.0 ** ((warm_c - 18.0) / 10.0) / (1.0 + np.exp(2.0 * (10.0 - warm_c)))
        points_per_day[i] = jar.yeast.points_per_day * grown * alive * pace * left / (8.0 + left)
        left -= points_per_day[i] / STEPS_PER_DAY
        sg[i] = jar.finish + 0.001 * left
    return sg, points_per_day


def written(moment: datetime) -> str:
    """Local time as the tool writes it, with the offset of the day."""
    offset = timezone(timedelta(hours=1 if moment < CLOCKS_BACK else 0))
    return moment.replace(tzinfo=offset).isoformat(timespec="minutes")


def diary(jar: Jar, rng: np.random.Generator) -> list[Row]:
    """Every row the keeper of a jar wrote."""
    sg, points_per_day = fall(jar)
    bubbles_per_point = GAS_ML_PER_L_PER_POINT * jar.litres / ML_PER_BUBBLE
    start: Row = {"sg": f"{jar.og:.3f}", "event": "pitched", "litres": jar.litres}
    rows = [{"when": written(jar.pitched), **start, "note": jar.notes[0]}]
    for evening in range(1, jar.last_evening + 1):
        half_past_eight = jar.pitched.replace(hour=20, minute=30) + timedelta(days=evening)
        moment = half_past_eight + timedelta(minutes=int(rng.integers(75)))
        day = (moment - jar.pitched) / timedelta(days=1)
        now = int(day * STEPS_PER_DAY)
        per_min = points_per_day[now] * bubbles_per_point / 1440.0 * np.exp(rng.normal(0.0, 0.15))
        if day > jar.leaks_from_day:
            per_min *= 0.02
        seconds = 60 if per_min > 5.0 else 120 if per_min > 1.5 else 300
        visit: Row = {
            "when": written(moment),
            "bubbles": int(per_min * seconds / 60.0 + rng.random()),  # an airlock beats evenly
            "seconds": seconds,
            "temp_c": round(2.0 * (jar.temp_c(day) + rng.normal(0.0, 0.2))) / 2.0,
            "note": jar.notes.get(evening, ""),
        }
        if jar.barometer:
            visit["pressure_hpa"] = round(1012.0 + 9.0 * np.sin(day / 2.3) + rng.normal(0.0, 2.0))
        if evening not in jar.missed:
            rows.append(visit)
        if evening in jar.readings:
            marks = round((sg[now] + rng.normal(0.0, 0.0002)) / jar.smallest_mark)
            later = written(moment + timedelta(minutes=6))
            read = f"{marks * jar.smallest_mark:.3f}"
            rows.append({"when": later, "sg": read, "event": "sampled"})
        if evening in jar.events:
            rows.append({"when": written(moment + timedelta(minutes=15)), **jar.events[evening]})
    return rows


def room(usual_c: float, *, swing_c: float = 0.7) -> Callable[[float], float]:
    """Make a room that wanders slowly about its usual temperature."""
    return lambda day: float(usual_c + swing_c * (np.sin(day / 3.1) - 0.3 * np.cos(day)))


def shed(day: float) -> float:
    """Stay mild for four weeks, then fall to 8 C within a day or two and stay there."""
    return float(17.0 + 0.5 * np.sin(day / 3.0) - 9.0 / (1.0 + np.exp(-3.0 * (day - 27.5))))


# A table, kept as one: a field a line would hide what sets the jars apart.
# fmt: off
JARS = (
    Jar(name="quince", pitched=datetime(2026, 10, 3, 15, 30), last_evening=42,
        litres=4.5, og=1.086, finish=0.996, temp_c=room(18.5), readings=(37, 42),
        yeast=Yeast(points_per_day=6.3, grown_day=1.5, dying_per_day=0.035),
        missed=(6, 15, 16, 24, 33),
        events={9: {"bubbles": 31, "seconds": 60, "note": "that was another jar", "struck": "yes"}},
        notes={0: "quinces from the end tree", 3: "froth to the neck", 38: "clearing from above"}),
    Jar(name="perry-pear", pitched=datetime(2026, 11, 6, 11), last_evening=8,
        litres=10.0, og=1.058, finish=1.004, temp_c=room(15.5),
        yeast=Yeast(points_per_day=5.0, grown_day=4.0, dying_per_day=0.02),
        notes={0: "two sacks of hard pears", 3: "smells of bread"}),
    Jar(name="damson", pitched=datetime(2026, 10, 8, 17), last_evening=37,
        litres=4.5, og=1.095, finish=0.998, temp_c=room(19.5, swing_c=0.5), readings=(25, 30, 36),
        yeast=Yeast(points_per_day=17.15, grown_day=1.2, dying_per_day=0.19),
        missed=(10, 19, 27),
        notes={0: "stoned, plenty of sugar", 22: "tastes sweet", 31: "not moved, warm enough"}),
    Jar(name="chestnut-honey-mead", pitched=datetime(2026, 9, 12, 14), last_evening=67,
        litres=10.0, og=1.105, finish=1.004, temp_c=room(17.5, swing_c=0.5), readings=(58,),
        yeast=Yeast(points_per_day=3.2, grown_day=3.0, dying_per_day=0.017),
        missed=(8, 13, 14, 22, 29, 30, 31, 41, 47, 55, 60), barometer=True,
        notes={0: "dark chestnut honey", 5: "stirred down the froth", 52: "slower at last"}),
    Jar(name="russet-cider", pitched=datetime(2026, 10, 10, 12), last_evening=36,
        litres=10.0, og=1.052, finish=1.000, temp_c=room(14.5), readings=(26, 31, 36),
        yeast=Yeast(points_per_day=2.3, grown_day=2.5, dying_per_day=0.012),
        missed=(7, 18, 30), leaks_from_day=24.0,
        notes={0: "russets and a few crabs", 25: "gone quiet overnight"}),
    Jar(name="sloe", pitched=datetime(2026, 10, 14, 16), last_evening=34,
        litres=4.5, og=1.090, finish=0.998, temp_c=shed, readings=(26,), smallest_mark=0.002,
        yeast=Yeast(points_per_day=8.3, grown_day=1.8, dying_per_day=0.057),
        missed=(12, 20),
        notes={0: "sloes frozen first", 28: "frost", 31: "water drawn back in the lock"}),
    Jar(name="medlar", pitched=datetime(2026, 9, 5, 13), last_evening=72,
        litres=4.5, og=1.078, finish=0.996, temp_c=room(18.0, swing_c=0.4),
        yeast=Yeast(points_per_day=8.5, grown_day=1.2, dying_per_day=0.03),
        missed=(9, 17, 18, *(evening for evening in range(33, 72) if evening % 4)),
        readings=(31, 54, 64, 72),
        events={32: {"event": "racked", "litres": 4.3}, 40: {"event": "clear"},
                72: {"event": "still"}},
        notes={0: "medlars well bletted", 36: "dropping clear", 60: "clear, no new lees"}),
)
# fmt: on


def main() -> None:
    """Write every diary beside this file, with the line ends RFC 4180 asks for."""
    for seed, jar in enumerate(JARS):
        page = Path(__file__).with_name(f"{jar.name}.csv")
        with page.open("w", encoding="utf-8", newline="") as lines:
            writer = csv.DictWriter(lines, COLUMNS.split(), restval="")
            writer.writeheader()
            writer.writerows(diary(jar, np.random.default_rng(seed)))


if __name__ == "__main__":
    main()
