"""What a row costs to read: the log of a machine, ten weeks at a count a minute.

CPU time of the same bytes read column by column and row by row, in turns, and of a long table of
100 such jars together; the median of five.

Run: python tests/bench/diary/rows.py
"""

from __future__ import annotations

import io
import time
from datetime import UTC, datetime, timedelta
from itertools import islice
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING

import pandas as pd

from bubblerate.diary.csv_rows import column_names, rows
from bubblerate.diary.reading import of_rows, parse
from bubblerate.shelf.tables import vessels

if TYPE_CHECKING:
    from collections.abc import Callable

ROWS, JARS = 100_800, 100
HEAD = "when,bubbles,seconds,temp_c,pressure_hpa,sg,sample_c,event,litres,note,struck\n"
BEGAN = datetime(2026, 9, 1, tzinfo=UTC)
PATH = Path("counter.csv")


def log() -> bytes:
    """Rows as a sensor writes them."""
    lines = (
        f"{(BEGAN + timedelta(minutes=i)).isoformat()},{i % 30},60,{18 + i % 20 / 10:.1f},,,,,,,\n"
        for i in range(ROWS)
    )
    return (HEAD + "".join(lines)).encode()


def by_rows(data: bytes) -> object:
    """Read as if every row were odd."""
    body = islice(rows(PATH, data), 1, None)
    return of_rows(PATH, "counter", column_names(PATH, data), body, pitched=None, now=BEGAN)


def main() -> None:
    """Time each and print the table."""
    data = log()
    table = pd.read_csv(io.BytesIO(data), dtype=str, keep_default_na=False)
    table["vessel"] = [f"jar {i % JARS}" for i in range(ROWS)]
    work: dict[str, Callable[[], object]] = {
        "column by column": lambda: parse(PATH, data, pitched=None, now=BEGAN),
        "row by row": lambda: by_rows(data),
        f"table of {JARS} jars": lambda: list(vessels(table)),
    }
    took: dict[str, list[float]] = {name: [] for name in work}
    for _ in range(5):
        for name, read in work.items():
            began = time.process_time()
            read()
            took[name].append(time.process_time() - began)
    for name, times in took.items():
        print(f"{name:<18}{median(times):>7.2f} s{1e6 * median(times) / ROWS:>8.2f} us a row")


if __name__ == "__main__":
    main()
