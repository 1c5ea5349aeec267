"""Fixtures that every test may ask for."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest

from bubblerate.cli import main
from bubblerate.cli.common import machine_clock

from scenes import EXAMPLES, Run, Said

if TYPE_CHECKING:
    from pathlib import Path

    from bubblerate.cli.common import Clock


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


@pytest.fixture
def clock() -> Clock:
    """What the program takes for now; a test module that stops the clock has one of its own."""
    return machine_clock


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], clock: Clock) -> Run:
    """Type a command; its exit code and what it printed."""

    def typed(*words: str) -> Said:
        with pytest.raises(SystemExit) as done:
            main([*words], now=clock)
        return Said(int(done.value.code or 0), *capsys.readouterr())

    return typed
