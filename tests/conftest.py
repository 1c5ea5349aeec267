"""What several tests share: reference tables and short ways to write a diary."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import NamedTuple

import pandas as pd
import pytest

from bubblerate.cli import main
from bubblerate.diary.settings import Hydrometer
from bubblerate.diary.visit import COLUMNS, Diary, Visit
from bubblerate.ferment.evidence import Evidence, evidence
from bubblerate.ferment.gravity import readings
from bubblerate.ferment.tail import tail

REFERENCE = Path(__file__).parent / "reference"
EXAMPLES = Path(__file__).parent.parent / "examples"
START = datetime(2026, 10, 1, 21, tzinfo=UTC)


def evening(day: float) -> datetime:
    """Moment so many days after the first evening."""
    return START + timedelta(days=day)


def visits(*rows: dict[str, object]) -> tuple[Visit, ...]:
    """Rows with a `day` each, as visits."""
    return tuple(
        Visit(when=evening(float(str(row["day"]))), **{k: v for k, v in row.items() if k != "day"})  # type: ignore[arg-type]
        for row in rows
    )


def known(
    *rows: dict[str, object], litres: float | None = 4.5, finish_sg: float | None = None
) -> Evidence:
    """What a fit goes by, of rows with a `day` each."""
    seen = visits(*rows)
    counts = tail(seen)
    assert counts is not None
    read = readings(seen, Hydrometer())
    return evidence(counts, seen, read, litres=litres, finish_sg=finish_sg)


def diary(*rows: dict[str, object], vessel: str = "fig") -> Diary:
    """A diary of rows with a `day` each."""
    return Diary(path=Path(f"{vessel}.csv"), vessel=vessel, visits=visits(*rows))


def written(path: Path, *rows: dict[str, object]) -> Path:
    """A diary of rows with a `day` each, in the order given, as a file."""
    lines = [
        ",".join("" if value is None else str(value) for value in (evening(day).isoformat(), *rest))
        for row in rows
        for day, *rest in [[float(str(row["day"])), *(row.get(name) for name in COLUMNS[1:])]]
    ]
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("\n".join([",".join(COLUMNS), *lines, ""]))
    return path


def reference(name: str) -> pd.DataFrame:
    """A published table; its source stands in the head of the file."""
    return pd.read_csv(REFERENCE / name, comment="#")


@pytest.fixture
def jars(tmp_path: Path) -> Path:
    """The example diaries on a shelf of their own."""
    folder = tmp_path / "jars"
    folder.mkdir()
    for path in (*EXAMPLES.glob("*.csv"), *EXAMPLES.glob("*.toml")):
        shutil.copy(path, folder)
    return folder


@pytest.fixture(autouse=True)
def _no_shelf_of_the_machine(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """No test reads or writes the shelf of whoever runs it."""
    monkeypatch.setenv("BUBBLERATE_SHELF", str(tmp_path / "shelf"))


class Said(NamedTuple):
    """What a command left behind."""

    code: int
    out: str
    err: str


Run = Callable[..., Said]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Type a command; its exit code and what it printed."""

    def typed(*words: str) -> Said:
        with pytest.raises(SystemExit) as done:
            main([*words])
        return Said(int(done.value.code or 0), *capsys.readouterr())

    return typed
