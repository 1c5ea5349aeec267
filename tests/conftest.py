"""Fixtures that every test may ask for, and the cores that share a run of many tests."""

from __future__ import annotations

import gc
import os
import shutil
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from bubblerate.cli import main
from bubblerate.cli.common import machine_clock

from scenes import EXAMPLES, Run, Said

if TYPE_CHECKING:
    from collections.abc import Generator

    from bubblerate.cli.common import Clock

MOST_CORES = 8  # each loads numpy, scipy and pandas anew
_NUMBERS = count()


@pytest.hookimpl(tryfirst=True)
def pytest_cmdline_main(config: pytest.Config) -> None:
    """Let the cores share folders of tests, where pytest-xdist is and nothing else is asked.

    Not by `addopts`: a run without that plugin would refuse them. Single files run in one process,
    which begins sooner, and so does whatever is to be watched (`-n 0`, `--pdb`, `-s`).
    """
    option = config.option
    free = getattr(option, "numprocesses", 0) is None and option.dist == "no" and not option.tx
    shared = hasattr(config, "workerinput")  # this is one of those that share
    watched = option.usepdb or option.trace or option.capture == "no"
    many = any(Path(one).is_dir() for one in config.args)
    if free and many and not (shared or watched) and _cores() > 1:
        option.numprocesses = min(_cores(), MOST_CORES)
        # file by file, so that what a file shares is made once; the last ones are the shortest
        option.dist, option.loadscopereorder = "loadfile", False


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Generator[None, object, object]:
    """Look for unused objects once all tests are found: the search took a quarter of that time."""
    gc.disable()
    try:
        return (yield)
    finally:
        gc.enable()


def pytest_configure(config: pytest.Config) -> None:
    """Give what hypothesis tries all the time it takes: a busy machine is no fault.

    Programs that tests start may keep what they compile, or each would compile all of it again.
    """
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    if config.pluginmanager.hasplugin("hypothesispytest"):
        from hypothesis import settings

        settings.register_profile("patient", deadline=None)
        settings.load_profile("patient")


def _cores() -> int:
    """How many this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


@pytest.fixture
def jars(tmp_path: Path) -> Path:
    """The example diaries on a shelf of their own."""
    folder = tmp_path / "jars"
    folder.mkdir()
    for path in (*EXAMPLES.glob("*.csv"), *EXAMPLES.glob("*.toml")):
        shutil.copy(path, folder)
    return folder


@pytest.fixture(autouse=True)
def _no_shelf_of_the_machine(
    request: pytest.FixtureRequest,
    monkeypatch: pytest.MonkeyPatch,
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    """No test reads or writes the shelf of whoever runs it.

    Most tests have no use for a folder, and to make one for each would take longer than they do:
    the shelf of those is a place where nothing is.
    """
    if "tmp_path" in request.fixturenames:
        folder: Path = request.getfixturevalue("tmp_path")
    else:
        folder = tmp_path_factory.getbasetemp() / f"nowhere-{next(_NUMBERS)}"
    monkeypatch.setenv("BUBBLERATE_SHELF", str(folder / "shelf"))


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
