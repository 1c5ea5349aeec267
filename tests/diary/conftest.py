"""Fixtures of the tests of diaries."""

import time
from collections.abc import Iterator
from pathlib import Path

import pytest


@pytest.fixture
def quince(tmp_path: Path) -> Path:
    return tmp_path / "quince.csv"


@pytest.fixture
def berlin(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Local time as in Berlin: clocks go forward on 29 March 2026 and back on 25 October 2026."""
    monkeypatch.setenv("TZ", "Europe/Berlin")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()
