"""What travels with the package: types, diaries for the demo, the command."""

from importlib.metadata import PackageNotFoundError, distribution
from importlib.resources import files
from pathlib import Path

import pytest

import bubblerate


def test_the_package_says_that_it_is_typed():
    assert files("bubblerate").joinpath("py.typed").is_file()


def test_the_diaries_of_the_demo_travel_along():
    root = files("bubblerate")
    found = [f for f in (root / "examples", Path(str(root)).parent / "examples") if f.is_dir()]
    assert sum(path.name.endswith(".csv") for path in found[0].iterdir()) == 7


def test_the_installed_package_tells_version_and_command():
    try:
        found = distribution("bubblerate")
    except PackageNotFoundError:
        pytest.skip("run from a folder that is not installed")
    assert found.version == bubblerate.__version__
    (command,) = (entry for entry in found.entry_points if entry.group == "console_scripts")
    assert (command.name, command.value) == ("bubblerate", "bubblerate.cli:main")
