"""Scenes that several tests play in: reference tables, short ways to write a diary."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any, NamedTuple

import pandas as pd
import pytest

from bubblerate.diary.reading import read
from bubblerate.diary.settings import Hydrometer
from bubblerate.diary.visit import BASE_COLUMNS, COLUMNS, Diary, Visit
from bubblerate.errors import DiaryError
from bubblerate.ferment.evidence import Evidence, gather_evidence
from bubblerate.ferment.gravity import corrected_readings
from bubblerate.ferment.tail import find_tail

REFERENCE = Path(__file__).parent / "reference"
EXAMPLES = Path(__file__).parent.parent / "examples"
START = datetime(2026, 10, 1, 21, tzinfo=UTC)
EVENING = datetime(2026, 11, 24, 21, 30, tzinfo=timezone(timedelta(hours=1)))
LATER = EVENING + timedelta(days=1)
HEADER = ",".join(BASE_COLUMNS)


def evening(day: float) -> datetime:
    """Moment so many days after the first evening."""
    return START + timedelta(days=day)


def visits(*rows: Mapping[str, object]) -> tuple[Visit, ...]:
    """Rows with a `day` each, as visits."""
    return tuple(
        Visit(when=evening(float(str(row["day"]))), **{k: v for k, v in row.items() if k != "day"})  # type: ignore[arg-type]
        for row in rows
    )


def known(
    *rows: Mapping[str, object], litres: float | None = 4.5, finish_sg: float | None = None
) -> Evidence:
    """What a fit goes by, of rows with a `day` each."""
    seen = visits(*rows)
    counts = find_tail(seen)
    assert counts is not None
    read = corrected_readings(seen, Hydrometer())
    return gather_evidence(counts, seen, read, litres=litres, finish_sg=finish_sg)


def diary(*rows: Mapping[str, object], vessel: str = "fig") -> Diary:
    """A diary of rows with a `day` each."""
    return Diary(path=Path(f"{vessel}.csv"), vessel=vessel, visits=visits(*rows))


def written(path: Path, *rows: Mapping[str, object]) -> Path:
    """A diary of rows with a `day` each, in the order given, as a file."""
    more = [name for name in COLUMNS if any(name in row for row in rows)]
    columns = [*BASE_COLUMNS, *(name for name in more if name not in BASE_COLUMNS)]
    lines = [
        ",".join("" if value is None else str(value) for value in (evening(day).isoformat(), *rest))
        for row in rows
        for day, rest in [(float(str(row["day"])), [row.get(name) for name in columns[1:]])]
    ]
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("\n".join([",".join(columns), *lines, ""]))
    return path


def read_text(path: Path, text: str, **options: Any) -> Diary:
    """A diary of such a text, read from a file."""
    path.write_bytes(text.encode())
    return read(path, **options)


def refusal(act: Callable[..., object], *args: object, **options: object) -> str:
    """What is said, in one line, where a diary is refused."""
    with pytest.raises(DiaryError) as caught:
        act(*args, **options)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def reference(name: str) -> pd.DataFrame:
    """A published table; its source stands in the head of the file."""
    return pd.read_csv(REFERENCE / name, comment="#")


class Said(NamedTuple):
    """What a command left behind."""

    code: int
    out: str
    err: str


Run = Callable[..., Said]
