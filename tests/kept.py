"""Jars as they were kept, row by row, for the tests of harm: what hurts, and what is plainly done.

Days count from the first reading of the end; the wine was pitched long before. Common practice, no
source.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

WEEKLY, SEASONS = (0, 7, 14, 21, 28), (0, 30, 60, 94)
BEFORE = 100  # days from pitching to the first of these readings, so that all days are above 0


Row = dict[str, Any]


def event(day: float, what: str | None, **more: object) -> Row:
    return {"day": BEFORE + day, "event": what, **more}


def gaps(seconds: float, *days: float) -> list[Row]:
    """One bubble timed on each of these evenings."""
    return [{"day": BEFORE + d + 0.04, "bubbles": 1, "seconds": float(seconds)} for d in days]


@dataclass(frozen=True, kw_only=True)
class Kept:
    """A jar steady at one gravity for four weeks, warm, silent, clear and still; but for these."""

    sg: tuple[float, ...] = (0.994,) * 5
    days: tuple[int, ...] = WEEKLY
    og: float | None = 1.086
    worked: bool = True  # its slowing was counted
    temp_c: float | None = 18.0
    noted: tuple[int, ...] | None = None  # evenings with a temperature; else every third
    worked_c: float = 19.0
    counts: tuple[tuple[float, int, int], ...] | None = None  # day, bubbles, seconds
    said: tuple[str, ...] = ("clear", "still", "malolactic-over")
    more: list[Row] = field(default_factory=list)
    litres: float = 4.5
    toml: str = ""
    style: str = "dry wine"
    finish: float | None = None
    later: float = 0.2

    @property
    def rows(self) -> list[Row]:
        last = self.days[-1]
        counts = self.counts
        if counts is None:
            counts = tuple((d, 0, 300) for d in sorted({self.days[0], last - 14, last}))
        noted = range(0, last + 1, 3) if self.noted is None else self.noted
        rows = [event(-BEFORE, "pitched", sg=self.og, litres=self.litres)]
        if self.worked:
            rates = (12, 20, 24, 20, 15, 11, 8, 6, 4, 3, 2, 1.4, 1.0, 0.6, 0.4, 0.2, 0.2, 0.2)
            rows += [
                {"day": 1.0 + d, "bubbles": round(5 * r), "seconds": 300.0, "temp_c": self.worked_c}
                for d, r in enumerate(rates)
            ]
        rows += [event(-5, "racked")]  # a wine that was never racked is not asked about bottling
        rows += [event(-40 + n / 100, word) for n, word in enumerate(self.said)]
        rows += [{"day": BEFORE + d, "sg": sg} for d, sg in zip(self.days, self.sg, strict=True)]
        rows += [
            {"day": BEFORE + d + 0.01, "bubbles": n, "seconds": float(s)} for d, n, s in counts
        ]
        if self.temp_c is not None:
            rows += [{"day": BEFORE + d + 0.02, "temp_c": self.temp_c} for d in noted]
        return sorted([*rows, *self.more], key=lambda row: row["day"])

    @property
    def settings(self) -> str:
        lines = [f'[vessel.fig]\nstyle = "{self.style}"']
        if self.finish is not None:
            lines.append(f"finish = {self.finish}")
        return "\n".join([*lines, self.toml, ""])


STABILISED = [event(-1, "stabilised")]
DAILY = tuple((d, 0, 300) for d in range(29))
LATER = ((0, 0, 300), (60, 0, 300), (94, 0, 300))
COLD = {"temp_c": 8.0}

# What a go would break, and the reasons of which one at least must be given.
HURTS: dict[str, tuple[Kept, set[str]]] = {
    # bubbles
    **{
        f"one bubble every {s} s, {n} nights": (
            Kept(counts=DAILY[: 29 - n], more=gaps(s, *range(29 - n, 29))),
            {"still-bubbling"},
        )
        for s in (60, 30, 12, 5)
        for n in (1, 2, 7)
    },
    "twelve a minute tonight, after weeks of silence": (Kept(counts=(*DAILY[:-1], (28, 60, 300))), {"still-bubbling"}),
    "a bubble every four minutes, an hour a night": (Kept(counts=tuple((d, 15, 3600) for d in range(29))), {"still-bubbling"}),
    "eight bubbles an evening in a jar of one litre": (Kept(litres=1.0, counts=tuple((d, 8, 3600) for d in range(29))), {"still-bubbling"}),
    "half a day of bubbles a row, as if a minute each": (Kept(more=[event(14.5 + d / 2, None, bubbles=40) for d in range(27)]), {"still-bubbling"}),
    # sugar
    "a note of sugar that no row answers": (Kept(more=[event(28.1, None, bubbles=0, seconds=300.0, note="added 200 g sugar")]), {"course"}),
    # nobody looked
    "nobody looked for ten days": (Kept(counts=((0, 0, 300), (18, 0, 300))), {"few-counts"}),
    "never counted": (Kept(counts=(), worked=False), {"few-counts"}),
    "counted for four minutes": (Kept(counts=((28, 0, 240),)), {"few-counts"}),
    "silent since a leak that was put right yesterday": (Kept(counts=DAILY[:-1], more=[event(28, "bung-leaked")]), {"few-counts"}),
    # warmth that was not seen
    "perry at 1.010, two temperatures 13 days apart": (Kept(sg=(1.014,) * 5, og=1.058, style="perry", noted=(15, 28), temp_c=19.0), {"fizz", "sweetness-left"}),
    "mead at 1.012, no temperature noted": (Kept(sg=(1.012,) * 5, og=1.100, style="mead", temp_c=None), {"fizz", "sweetness-left"}),
    "worked at 23 C, and stands at 1.002 in the cold": (Kept(sg=(1.002,) * 5, worked_c=23.0, temp_c=9.0), {"fizz", "sweetness-left"}),
    "stands at 1.002 in the cold, moved to 25 C yesterday": (Kept(sg=(1.002,) * 5, temp_c=9.0, more=[event(27, "warmed"), event(27.5, None, temp_c=25.0)]), {"fizz", "sweetness-left"}),
    # an end that is none
    "dry wine from 1.086 stands at 1.000": (Kept(sg=(1.000,) * 4, days=SEASONS, counts=LATER, temp_c=16.0), {"fizz", "sweetness-left"}),
    "the same, said to end there": (Kept(sg=(1.000,) * 4, days=SEASONS, counts=LATER, temp_c=16.0, finish=1.000), {"fizz", "sweetness-left"}),
    "stuck at 1.012, a finish typed to fit": (Kept(sg=(1.012,) * 5, finish=1.012), {"fizz", "sweetness-left"}),
    "stuck at 1.020, a finish typed to fit": (Kept(sg=(1.020,) * 5, finish=1.020), {"too-sweet"}),
    "paused at 1.000 and fell 3 points over two seasons": (Kept(sg=(1.000, 1.000, 0.998, 0.997), days=(0, 40, 120, 160), counts=((150, 0, 300), (160, 0, 300)), temp_c=16.0), {"fizz", "sweetness-left", "woke", "silence-alone"}),
    "cider at 1.012": (Kept(sg=(1.012,) * 5, og=1.050, style="cider"), {"fizz", "sweetness-left"}),
    "a style that nobody knows, at 1.006": (Kept(sg=(1.006,) * 5, style="beetroot"), {"fizz", "sweetness-left"}),
    "a start that was never read, at 1.006": (Kept(sg=(1.006,) * 5, og=None), {"fizz", "sweetness-left"}),
    "strong mead, tired at 1.012": (Kept(sg=(1.012,) * 5, og=1.140, style="mead"), {"strong-and-sweet", "fizz", "sweetness-left"}),
    # it falls
    **{
        f"falls {r:.2f} a day": (
            Kept(sg=tuple(round(0.9965 + r * (28 - d) / 1000.0, 3) for d in WEEKLY)),
            {"fizz", "sweetness-left", "silence-alone"},
        )
        for r in (0.10, 0.15, 0.30)
    },
    "still falls at its usual end, enough to fizz and not to burst": (Kept(sg=(0.996, 0.996, 0.995, 0.994, 0.994)), {"fizz"}),
    "falls a point a week, silent all the while": (Kept(sg=(1.001, 1.000, 0.999, 0.998, 0.997), counts=tuple((d, 0, 1800) for d in range(29))), {"fizz", "sweetness-left", "silence-alone"}),
    "works at 30 a minute at 1.030": (Kept(sg=(1.060, 1.050, 1.042, 1.036, 1.030), counts=((28, 150, 300),)), {"still-bubbling"}),
    # the stem
    "0.980 three times": (Kept(sg=(0.980,) * 3, days=(0, 14, 28)), {"gravity-impossible"}),
    "one reading": (Kept(sg=(0.994,), days=(28,), counts=((28, 0, 300),)), {"gravity-unproven"}),
    "two readings 13 dates apart": (Kept(sg=(0.994,) * 2, days=(0, 13), counts=((13, 0, 300),)), {"gravity-unproven"}),
    "the last reading four points off": (Kept(sg=(0.994, 0.994, 0.994, 0.994, 0.998)), {"odd-reading"}),
    "two readings of the last evening ten points apart": (Kept(more=[event(28.05, None, sg=1.004)]), {"odd-reading", "course"}),
    "only the high readings struck": (Kept(sg=(0.997,), days=(28,), more=[event(d, None, sg=sg, struck="2027-02-06") for d, sg in ((0, 1.004), (14, 1.000))]), {"gravity-unproven"}),
    "the other readings dated two years ahead": (Kept(sg=(0.994,), days=(28,), more=[event(d, None, sg=0.994) for d in (730, 745)], later=-716.8), {"gravity-unproven"}),
    "last read five weeks ago": (Kept(more=[event(63, None, bubbles=0, seconds=300.0)]), {"old-reading"}),
    "no reading since it was fed": (Kept(more=[event(28.1, "fed", sugar_g=50.0)]), {"no-gravity"}),
    # acts
    "fed a week ago, and steady since": (Kept(more=[event(21.5, "fed", sugar_g=20.0)]), {"gravity-unproven"}),
    "joined with another jar last week": (Kept(more=[event(21, "joined")]), {"gravity-unproven"}),
    "topped up a week ago, and nobody said by how much": (Kept(more=[event(21, "topped-up")]), {"gravity-unproven"}),
    "topped up on the evening of the last reading": (Kept(more=[event(28, "topped-up", added_l=0.2)]), {"check-reading"}),
    "a third of it topped up a week ago": (Kept(more=[event(21, "topped-up", added_l=1.5)]), {"gravity-unproven"}),
    "watered a week ago, nobody knows how much": (Kept(more=[event(21, "diluted")]), {"gravity-unproven"}),
    "stabilised, sweet, still falling": (Kept(sg=(1.013, 1.012, 1.012, 1.011, 1.010), more=STABILISED), {"stabilised-unproven", "stabilised-and-falling"}),
    "stabilised, from 1.020 to 1.019 on two readings": (Kept(sg=(1.020, 1.019), days=(0, 14), counts=((0, 0, 300), (14, 0, 300)), more=STABILISED), {"stabilised-and-falling"}),
    "stabilised a week ago": (Kept(sg=(1.010,) * 5, more=[event(21, "stabilised")]), {"gravity-unproven"}),
    "stabilised, then sweetened, read over a week": (Kept(sg=(0.994, 0.994, 0.994, 1.006, 1.006), more=[event(20, "stabilised"), event(20.9, "sweetened", sugar_g=120.0)]), {"gravity-unproven"}),
    "stuck at 1.020, a starter four weeks ago": (Kept(sg=(1.020, 1.020, 1.020, 1.019, 1.019), more=[event(1, "starter")]), {"sweetness-left", "too-sweet"}),
    "a fresh starter last week": (Kept(sg=(1.004,) * 5, more=[event(21, "starter")]), {"fizz", "sweetness-left", "gravity-unproven"}),
    "a strip that shows sugar": (Kept(sg=(0.998,) * 5, more=[event(28, "sugar-high")]), {"fizz", "sweetness-left"}),
    "primed and bottled within the hour": (Kept(more=[event(28.1, "fed", sugar_g=40.0), event(28.12, "bottled")]), {"bottled"}),
    # what was seen
    "prickle on the tongue": (Kept(more=[event(28, "prickle")]), {"prickle"}),
    "cloudy tonight": (Kept(more=[event(28, "cloudy")]), {"cloudy"}),
    "new lees": (Kept(more=[event(20, "lees")]), {"new-lees"}),
    "on its finings": (Kept(more=[event(20, "fined")]), {"on-finings"}),
    "on finings of two parts": (Kept(more=[event(20, "fined-two-part")]), {"on-finings"}),
    "a bottle gushed, and all were poured back last week": (Kept(more=[event(18, "bottled", bottles="6x75"), event(20, "gushed"), event(21, "poured-back", litres=4.2)]), {"prickle", "gravity-unproven"}),
    "one gushed last week, and a sample is still": (Kept(more=[event(18, "bottled", bottles="6x75"), event(20, "gushed"), event(21, "poured-back", litres=4.2), event(27, "still")]), {"gravity-unproven"}),
    "clear for a week": (Kept(said=("still", "malolactic-over"), more=[event(21, "clear")]), {"clear-too-short"}),
    "stirred since it was clear": (Kept(more=[event(20, "stirred")]), {"clear-unsaid"}),
    "nobody said that it is clear": (Kept(said=("still", "malolactic-over")), {"clear-unsaid"}),
    "nobody shook a sample": (Kept(said=("clear", "malolactic-over")), {"still-unsaid"}),
    "stabilised with too little sorbate, then sweetened": (Kept(
        sg=(0.994, 1.006, 1.006, 1.006, 1.006), days=(0, 8, 22, 36, 50), counts=((0, 0, 300), (36, 0, 300), (50, 0, 300)),
        more=[event(7, "stabilised", sorbate_g=0.3, litres=4.5), event(7.9, "sweetened", sugar_g=120.0), event(19, "clear"), event(50.1, "still")],
    ), {"fizz", "sweetness-left"}),
    "cider, malolactic open": (Kept(sg=(1.001,) * 5, og=1.050, style="cider", said=("clear", "still")), {"malolactic-open"}),
}  # fmt: skip

# What is plainly done.
DONE: dict[str, Kept] = {
    "finished dry": Kept(),
    "cider at 1.004, 94 days": Kept(sg=(1.004,) * 4, days=SEASONS, og=1.050, style="cider", counts=LATER),
    "perry at 1.010, 94 days": Kept(sg=(1.010,) * 4, days=SEASONS, og=1.058, style="perry", counts=LATER),
    "mead at 1.006, 94 days": Kept(sg=(1.006,) * 4, days=SEASONS, og=1.110, style="mead", counts=LATER),
    "stabilised after it stood still, 128 days ago": Kept(sg=(1.010,) * 6, days=(-30, 0, 30, 60, 94, 128), og=1.080, counts=((114, 0, 300), (128, 0, 300)), more=STABILISED),
    "topped up with like wine": Kept(days=(0, 14, 28, 60, 90), more=[event(45, "topped-up", added_l=0.2)], counts=((76, 0, 300), (90, 0, 300))),
    "perry topped up with like wine": Kept(sg=(1.010,) * 5, og=1.058, style="perry", days=(0, 20, 40, 60, 94), more=[event(45, "topped-up", added_l=0.2)], counts=LATER),
    "one outlier long ago": Kept(sg=(0.994, 0.998, 0.994, 0.994, 0.994)),
    "an odd last reading, read again the same evening": Kept(sg=(0.994, 0.994, 0.994, 0.998, 0.994), days=(0, 7, 14, 28, 28)),
    "dry for 92 days, then a tablet on the eve": Kept(days=(0, 30, 60, 91, 92), more=[event(91.9, "sulphited")], counts=((78, 0, 300), (92, 0, 300))),
    "at its end, in the cold": Kept(temp_c=12.5),
    "at its end, no temperature noted": Kept(sg=(0.992,) * 5, temp_c=None),
    "at its end, one cold evening": Kept(more=[event(20, None, temp_c=12.5)]),
    "cool cider, at 9 C all its life": Kept(sg=(0.999,) * 5, og=1.048, style="cider", temp_c=9.0, worked_c=9.0),
    "counted a minute at a time by a machine": Kept(counts=tuple((d + n / 1440.0, 0, 60) for d in range(24, 29) for n in range(10))),
    "racked and read since": Kept(more=[event(10, "racked")]),
    "filtered, so clear at once": Kept(said=("still", "malolactic-over"), more=[event(20, "filtered")]),
    "a strip that shows none": Kept(sg=(0.998, 0.998), days=(0, 14), counts=((0, 0, 300), (14, 0, 300)), more=[event(14, "sugar-low")]),
    "stabilised, then sweetened, and held for six weeks": Kept(
        sg=(0.994, 1.006, 1.006, 1.006, 1.006), days=(0, 8, 22, 36, 50), counts=((0, 0, 300), (36, 0, 300), (50, 0, 300)),
        more=[event(7, "stabilised"), event(7.9, "sweetened", sugar_g=120.0), event(19, "clear"), event(50.1, "still")],
    ),
    "by the hydrometer alone, and five minutes tonight": Kept(worked=False, counts=((28, 0, 300),)),
    "half of it bottled, and the rest as it was": Kept(more=[event(27, "bottled", bottles="4x75", litres=1.5)]),
    "23 litres, as quiet": Kept(litres=23.0),
}  # fmt: skip
