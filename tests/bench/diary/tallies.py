"""What became of entries: a diary to begin with, commands that write in it, and a count of losses.

Shared by the scenes of `durability.py`.
"""

from __future__ import annotations

import re
import shutil
from collections import Counter
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, NamedTuple

from bubblerate.diary.events import Event
from bubblerate.diary.reading import read
from bubblerate.diary.visit import BASE_COLUMNS, Visit
from bubblerate.diary.writing import extend
from bubblerate.errors import DiaryError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from pathlib import Path

START = datetime(2026, 10, 1, 21, tzinfo=UTC)
STANDARD = ",".join(BASE_COLUMNS)


@dataclass(kw_only=True)
class Count:
    """What became of the entries of one scene."""

    scene: str
    trials: int = 0
    acknowledged: int = 0
    lost: int = 0
    misread: int = 0  # rows that say what nobody entered
    faulty: int = 0  # files that no longer parse; the fault is named
    said: Counter[str] = field(default_factory=Counter)

    def check(self, path: Path, acknowledged: Sequence[Visit], others: Sequence[Visit]) -> None:
        """Read a diary: what was acknowledged has to be there, what others entered may be."""
        self.trials += 1
        self.acknowledged += len(acknowledged)
        try:
            held = Counter(bare(visit) for visit in read(path).visits) if path.exists() else {}
        except DiaryError as err:
            self.faulty += 1
            self.hear(str(err))
            raw = path.read_bytes()  # the rows that can be read still count
            held = Counter(bare(visit) for visit in _whole_rows(raw, path))
        wanted = Counter(bare(visit) for visit in acknowledged)
        self.lost += (wanted - Counter(held)).total()
        allowed = wanted + Counter({bare(visit) for visit in others} - {*wanted})
        self.misread += (Counter(held) - allowed).total()

    def hear(self, text: str) -> None:
        """Keep a message, whatever line and file it names."""
        for line in filter(None, text.splitlines()):
            self.said[re.sub(r"\d+", "#", line.strip())] += 1


def bare(visit: Visit) -> Visit:
    return replace(visit, line=0)


def _whole_rows(data: bytes, path: Path) -> Iterator[Visit]:
    """Rows that can be read one by one, as they would be once the others are mended."""
    lines = data.splitlines(keepends=True)
    alone = path.with_name("alone.csv")
    for start in range(1, len(lines)):
        for stop in range(start + 1, min(start + 3, len(lines)) + 1):
            alone.write_bytes(lines[0] + b"".join(lines[start:stop]))
            try:
                found = read(alone).visits
            except DiaryError:
                continue
            if len(found) == 1:
                yield found[0]
                break
    alone.unlink(missing_ok=True)


def evening(n: int, **cells: object) -> Visit:
    """A row of the n-th evening, no two alike."""
    return Visit(when=START + timedelta(days=n), bubbles=1000 + n, **cells)  # type: ignore[arg-type]


HELD = [evening(n, temp_c=18.5, note="sunny, warm" if n == 1 else "") for n in range(3)]


def begin(folder: Path, header: str = STANDARD, visits: Sequence[Visit] = HELD) -> Path:
    """A shelf with one diary, with just the columns asked for."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    path = folder / "quince.csv"
    path.write_bytes(header.encode() + b"\r\n")
    extend(path, visits)
    return path


TYPED = evening(9)
TABLE = [evening(n) for n in range(10, 40)]


class Act(NamedTuple):
    """One command that writes: what it prints once it is done, its words, the rows it adds."""

    done: str
    words: Callable[[Path], list[str]]  # of a shelf on which quince.csv is
    rows: Sequence[Visit] = ()


def _table(folder: Path) -> str:
    """A table to take over, beside the shelf."""
    table = folder.parent / "table.csv"
    if not table.exists():
        extend(table, TABLE)
    return str(table)


# To try another command, add it here: it is then killed at each of its system calls.
ACTS: dict[str, Act] = {
    "append": Act(
        "Line ",
        lambda shelf: [
            *("tally", str(shelf / "quince.csv"), str(TYPED.bubbles)),
            *("--when", TYPED.when.isoformat()),
        ],
        [TYPED],
    ),
    "import": Act(
        " written, from line ",
        lambda shelf: ["import", _table(shelf), "--into", str(shelf / "quince.csv"), "--yes"],
        TABLE,
    ),
    "strike": Act("To undo that", lambda shelf: ["strike", str(shelf / "quince.csv"), "4"]),
    "create": Act(
        "New diary: ",
        lambda shelf: [
            *("start", str(shelf / "shelf" / "fig.csv")),
            *("--when", TYPED.when.isoformat()),
        ],
    ),
    "widen": Act(  # a row that needs a column which the diary lacks
        "Line ",
        lambda shelf: [
            *("gravity", str(shelf / "quince.csv"), "--brix", "8.2", "--refractometer"),
            *("--when", TYPED.when.isoformat()),
        ],
        [Visit(when=TYPED.when, event=Event.SAMPLED, refractometer_brix=8.2)],
    ),
}
WRITTEN = {name: act.done for name, act in ACTS.items()}


def commands(folder: Path) -> dict[str, tuple[list[str], Sequence[Visit]]]:
    """Words of each command that writes, and the rows it adds."""
    return {name: (act.words(folder), act.rows) for name, act in ACTS.items()}


def struck_in(path: Path, visit: Visit) -> str:
    return next(v.struck for v in read(path).visits if v.when == visit.when)
