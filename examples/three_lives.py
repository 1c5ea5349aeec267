"""Three wines typed from the fruit to the last bottle: every command as a person would type it.

plum   9.7 L in a bucket, split into two jars and a spare; one of them needs finings; bottled on one
       evening, laid down, and drunk up
perry  ends at 1.006 as perry does; made sparkling on purpose, in beer bottles
mead   stabilised, held, sweetened to 1.015, held again; a page of labels

Nothing here was brewed: gravities fall along a smooth curve, and the bubbles match it. To see
every screen, and get every sheet as a PDF: python examples/three_lives.py FOLDER
"""

from __future__ import annotations

import contextlib
import io
import math
import sys
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from bubblerate.cli import main

GAS_ML_PER_POINT_LITRE = 558.0  # at 20 C
BUBBLE_ML = 0.9
SETTINGS = """\
[vessel.plum]
style = "plum wine"
ph = 3.4
place = "cellar, left"

[vessel.perry]
style = "perry"
ph = 3.6

[vessel.mead]
style = "mead"
ph = 3.5
"""


@dataclass(frozen=True, kw_only=True)
class Must:
    """How a must ferments: its gravity on a day, and the bubbles a minute of so many litres."""

    og: float
    end: float
    half_days: float

    def sg(self, day: float) -> float:
        """Gravity so many days after the yeast."""
        return self.end + (self.og - self.end) * math.exp(-((day / self.half_days) ** 1.35) * 0.7)

    def per_min(self, day: float, litres: float) -> float:
        """Bubbles a minute."""
        fall = 1000.0 * (self.sg(day - 0.25) - self.sg(day + 0.25)) / 0.5
        return fall * litres * GAS_ML_PER_POINT_LITRE / BUBBLE_ML / 1440.0


@dataclass
class Keeper:
    """A person at the keyboard; all that was printed is kept."""

    shelf: Path
    began: datetime
    sheets: Path | None = None  # folder for drawings; without one nothing is drawn
    loud: bool = False
    printed: list[str] = field(default_factory=list)

    def types(self, day: float, *words: str, code: int = 0) -> str:
        """Type a command that writes: it is of that evening."""
        return self._run(day, [*words, "--when", self._at(day).isoformat()], code)

    def asks(self, day: float, *words: str, code: int = 0) -> str:
        """Type a command that answers, as of that evening."""
        return self._run(day, [*words, "--at", self._at(day).isoformat()], code)

    def counts(self, day: float, jar: str, must: Must, litres: float, temp_c: float = 18.5) -> None:
        """Count for five minutes, or for one while it is fast."""
        rate = must.per_min(day, litres)
        minutes = 1 if rate > 5.0 else 5
        self.types(
            day, "tally", jar, str(round(rate * minutes)), "--over", f"{minutes}m",
            "--temp", str(temp_c),
        )  # fmt: skip

    def reads(self, day: float, jar: str, sg: float) -> None:
        """Float the hydrometer."""
        self.types(day + 0.01, "gravity", jar, f"{sg:.3f}", "--sample-temp", "20")

    def paper(self, name: str) -> tuple[str, ...]:
        """Options that have a sheet drawn."""
        return () if self.sheets is None else ("-o", str(self.sheets / name))

    def _at(self, day: float) -> datetime:
        return self.began + timedelta(days=day)

    def _run(self, day: float, words: list[str], code: int) -> str:
        said, told = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(told):
            try:
                main([*words, "--shelf", str(self.shelf)], now=lambda: self._at(day))
            except SystemExit as done:
                found = int(done.code or 0)
        text = said.getvalue() + told.getvalue()
        shown = " ".join(words[:-2])
        self.printed.append(f"{self._at(day):%Y-%m-%d} $ bubblerate {shown}\n{text}")
        if self.loud:
            print(self.printed[-1], flush=True)
        if found != code:
            raise RuntimeError(f"exit code {found}, not {code}\n{self.printed[-1]}")
        return text


def plum(keeper: Keeper) -> None:
    """Two jars and a spare, from the bucket to the last bottle."""
    must = Must(og=1.084, end=0.995, half_days=7.0)
    keeper.types(0, "start", "plum", "--litres", "9.7", "--sg", "1084", "--note", "6 kg, stoned")
    keeper.asks(0.5, "guide", "plum")
    for day in range(1, 7):
        keeper.counts(day, "plum", must, 9.7)
    keeper.types(6.01, "event", "plum", "strained")
    keeper.types(6.02, "split", "plum", "--into", "plum-2", "--litres", "4.5")
    parted = ("--litres", "0.7", "--left", "4.5", "--spare")
    keeper.types(6.03, "split", "plum", "--into", "spare", *parted)
    keeper.asks(7, "sheet", "plum", *keeper.paper("evenings.pdf"))
    for day in range(7, 34):
        for jar in ("plum", "plum-2"):
            keeper.counts(day, jar, must, 4.5)
    for day in (22, 32):
        for jar in ("plum", "plum-2"):
            keeper.reads(day, jar, must.sg(day))
    keeper.asks(33, "verdict", "plum")
    for jar in ("plum", "plum-2"):
        keeper.types(34, "event", jar, "racked", "--litres", "4.25")
    keeper.types(34.01, "top-up", "plum", "--from", "spare", "--litres", "0.25")
    keeper.types(34.01, "top-up", "plum-2", "--from", "spare", "--litres", "0.25")
    keeper.asks(35, "shelf")
    keeper.reads(36, "plum", 0.995)
    keeper.types(65, "event", "plum", "clear")
    keeper.types(65, "event", "plum-2", "cloudy")
    keeper.asks(65, "guide", "plum-2", "--on", "haze")
    keeper.asks(65, "dose", "plum-2", "finings")
    keeper.types(
        66, "event", "plum-2", "fined", "--two-part", "--finings", "2.5ml",
        "--note", "silica, chitosan",
    )  # fmt: skip
    keeper.asks(67, "after", "plum-2", "--all")
    keeper.types(70, "event", "plum-2", "clear")
    keeper.types(70.01, "event", "plum-2", "racked", "--litres", "4.3")
    keeper.types(70.02, "top-up", "plum-2", "--from", "spare", "--litres", "0.2")
    for day in (72, 88, 103):
        for jar in ("plum", "plum-2"):
            keeper.reads(day, jar, 0.995)
            keeper.types(day, "tally", jar, "none", "--over", "5m", "--temp", "18")
    for jar in ("plum", "plum-2"):
        keeper.types(103.01, "event", jar, "still")
        keeper.types(103.02, "event", jar, "clear")
        keeper.asks(103.03, "verdict", jar)
    keeper.asks(103.04, "bottling-day", "plum", "plum-2", *keeper.paper("bottling.pdf"))
    for jar in ("plum", "plum-2"):
        keeper.types(103.05, "event", jar, "bottled", "--bottles", "6x75cl", "--closure", "cork")
    page = keeper.paper("labels.pdf")
    many = ("--per-page", "12", *page) if page else ()
    named = ("--title", "Plum, north wall", "--bottle", "75cl")
    keeper.asks(104, "label", "plum-2", *named, *many)
    keeper.asks(300, "cellar", *keeper.paper("cellar.pdf"))
    keeper.types(310, "event", "plum", "opened", "--note", "soft, a little almond")
    for n in range(5):
        keeper.types(400 + 30 * n, "event", "plum", "opened")
    keeper.asks(521, "after", "plum")


def perry(keeper: Keeper) -> None:
    """Ends above 1.000, and sparkles on purpose."""
    must = Must(og=1.054, end=1.006, half_days=9.0)
    keeper.types(0, "start", "perry", "--litres", "4.5", "--sg", "1.054")
    for day in range(1, 40):
        keeper.counts(day, "perry", must, 4.5, temp_c=15.0)
    for day in (25, 33, 40):
        keeper.reads(day, "perry", must.sg(day))
    keeper.asks(40.03, "verdict", "perry")
    keeper.types(40.04, "event", "perry", "racked", "--litres", "4.3")
    keeper.reads(52, "perry", 1.006)
    keeper.types(70, "event", "perry", "clear")
    for day in (72, 90, 110, 128):
        keeper.reads(day, "perry", 1.006)
        keeper.types(day, "tally", "perry", "none", "--over", "5m", "--temp", "18")
    keeper.types(128.01, "event", "perry", "still")
    keeper.types(128.01, "event", "perry", "malolactic-over")
    keeper.asks(128.02, "verdict", "perry")
    keeper.asks(128.03, "dose", "perry", "sparkle", "--bar", "2", code=2)
    keeper.asks(128.03, "dose", "perry", "sparkle", "--bar", "2", "--bottle", "beer")
    keeper.types(
        128.4, "event", "perry", "bottled", "--sparkling", "--sugar", "13g", "--bottles", "8x50cl",
        "--closure", "crown",
    )  # fmt: skip
    keeper.asks(129, "after", "perry")
    for n in range(8):
        keeper.types(230 + 10 * n, "event", "perry", "opened")
    keeper.asks(310, "after", "perry")


def mead(keeper: Keeper) -> None:
    """Stabilised and sweetened, with both holds."""
    must = Must(og=1.102, end=0.999, half_days=14.0)
    keeper.types(
        0,
        "start",
        "mead",
        "--litres",
        "4.5",
        "--sugar",
        "1180g",
        "--note",
        "1.48 kg of heather honey",
    )
    for day in range(1, 70):
        keeper.counts(day, "mead", must, 4.5, temp_c=19.0)
    for day in (45, 66):
        keeper.reads(day, "mead", must.sg(day))
    keeper.asks(60, "dose", "mead", "stabilise", code=2)
    keeper.asks(69, "verdict", "mead")
    keeper.types(70, "event", "mead", "racked", "--litres", "4.3")
    keeper.types(110, "event", "mead", "clear")
    keeper.reads(110, "mead", 0.999)
    keeper.asks(110.01, "dose", "mead", "stabilise")
    doses = ("--sulphite", "1 tablet", "--sorbate", "1g")
    keeper.types(110.02, "event", "mead", "stabilised", *doses)
    keeper.asks(117, "guide", "mead")
    keeper.reads(125, "mead", 0.999)
    keeper.asks(125.01, "dose", "mead", "sweeten", "--to", "1.015")
    keeper.types(125.02, "event", "mead", "sweetened", "--sugar", "188g")
    keeper.reads(125.03, "mead", 1.015)
    for day in (132, 140, 141):
        keeper.types(day, "tally", "mead", "none", "--over", "5m", "--temp", "19")
    keeper.reads(141, "mead", 1.015)
    keeper.types(141.01, "event", "mead", "still")
    keeper.types(141.01, "event", "mead", "clear")
    keeper.asks(141.02, "verdict", "mead")
    keeper.asks(141.03, "bottling-day", "mead", "--closure", "cap", "--filter")
    keeper.types(
        141.04, "event", "mead", "bottled", "--bottles", "5x75cl+1x37.5cl", "--closure", "cap"
    )
    keeper.asks(142, "label", "mead")
    keeper.types(270, "event", "mead", "opened", "--size", "37.5cl", "--note", "young, hot")
    for n in range(5):
        keeper.types(330 + 60 * n, "event", "mead", "opened", "--note", "sweet, waxy")
    keeper.asks(580, "after", "mead")


def live(folder: Path, *, draw: bool = True, loud: bool = False) -> Keeper:
    """Type all three lives on a shelf in a folder; sheets are drawn beside it."""
    shelf, sheets = folder / "shelf", folder / "sheets"
    shelf.mkdir(parents=True)
    sheets.mkdir()
    (shelf / "bubblerate.toml").write_text(SETTINGS, encoding="utf-8")
    began = datetime(2026, 8, 22, 20, tzinfo=UTC)
    keeper = Keeper(shelf, began, sheets if draw else None, loud)
    plum(keeper)
    perry(keeper)
    mead(keeper)
    keeper.asks(200, "sheet", *keeper.paper("wall.pdf"))
    return keeper


if __name__ == "__main__":
    live(Path(sys.argv[1]), loud=True)
