"""Small faults in the sums of doses, pressures and dates: do the tests of each module see them?

The mutants are those of `mutants.py`. Each is put to the tests of its own module, in a process of
its own, and printed if all of them pass. The tests are found once, and those that killed others
come first.

Run: python tests/bench/verdict/own_tests.py [module ...] [--every K] [--first N]
"""

from __future__ import annotations

import argparse
import gc
import importlib
import inspect
import signal
import sys
from collections import Counter
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # what benches and tests share

from bench.verdict.mutants import PACKAGE, ROOT, apart, change, mutants
from bench.verdict.telling import Fault, Faults, put

# Those that have no file of tests by their own name, and those that others try as well.
TESTS = {
    "physics.constants": (
        *("physics.sulphite", "physics.doses", "physics.gas", "physics.bottle"),
        *("physics.hydrometer", "physics.airlock", "physics.alcohol", "course.volumes"),
        "course.balance",
    ),
    "course.days": ("course.windows", "course.table"),
    "course.parts": ("course.parts", "course.table", "course.fold"),
    "course.sparkling": ("course.doses",),
    "course.must": ("course.must", "course.balance"),
    "course.mass": ("course.mass", "course.balance"),
}
MODULES = (
    *("physics.doses", "physics.sulphite", "physics.bottle", "physics.constants"),
    *("course.doses", "course.pressure", "course.sparkling", "course.windows", "course.days"),
    *("course.volumes", "course.label", "course.balance", "course.must", "course.mass"),
    *("course.parts", "show.doses_text"),
)
KNOWN = tuple(
    ".".join(path.relative_to(PACKAGE).with_suffix("").parts)
    for folder in ("physics", "course", "verdict", "show", "ferment")
    for path in sorted((PACKAGE / folder).glob("*.py"))
    if path.stem != "__init__"
)
HANG_S = 120.0  # of CPU time
SURVIVES, HANGS, SAME, BROKEN = "survives", "never ends", "the same", "cannot be imported"


@dataclass(kw_only=True)
class Trial:
    """A plugin that puts each fault to the tests that pytest has found."""

    faults: list[Fault]
    fates: Counter[str] = field(default_factory=Counter)
    killers: Counter[int] = field(default_factory=Counter)

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Try them all in place of the usual run."""
        sound = apart(partial(_first_to_fail, session, None, []), None, seconds=0)
        assert sound == SURVIVES, f"without a fault: {sound}"
        for fault in self.faults:
            self.fates[self._fate(session, fault)] += 1
        return True

    def _fate(self, session: pytest.Session, fault: Fault) -> str:
        if fault.idle or fault.broken:
            return SAME if fault.idle else BROKEN
        order = [number for number, _ in self.killers.most_common()]
        found = apart(partial(_first_to_fail, session, fault, order), None, seconds=0)
        if isinstance(found, int):
            self.killers[found] += 1
            return "killed"
        if found is None:
            return HANGS
        where = f"{fault.mutant.module}:{fault.mutant.line}"
        print(f"    survives: {where}: {fault.mutant.what}", file=sys.__stderr__, flush=True)
        return SURVIVES


def _first_to_fail(session: pytest.Session, fault: Fault | None, order: list[int]) -> object:
    """Number of the first test that fails, or that none does."""
    signal.setitimer(signal.ITIMER_VIRTUAL, HANG_S)  # ends the process
    session.config.pluginmanager.unregister(name="terminalreporter")
    if fault is not None:
        _put(fault)
    rest = [number for number in range(len(session.items)) if number not in {*order}]
    for number in (*order, *rest):
        item = session.items[number]
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=None)
        if session.testsfailed:
            return number
    return SURVIVES


def _put(fault: Fault) -> None:
    """Put a fault where the sound code is, in the tests too, and forget what was worked out."""
    names = {name: vars(sys.modules[module])[name] for module, name in fault.names}
    values = {name: value for (_, name), value in fault.names.items()}
    put(fault, change)
    for module in [*sys.modules.values()]:
        if (getattr(module, "__file__", None) or "").startswith(str(ROOT / "tests")):
            for name, sound in names.items():
                if vars(module).get(name) is sound:
                    setattr(module, name, values[name])
    for one in gc.get_objects():
        if hasattr(type(one), "cache_clear") and str(one.__module__).startswith("bubblerate."):
            one.cache_clear()


def _files(module: str) -> list[str]:
    """The tests of a module; its examples are tests too."""
    paths = [inspect.getfile(sys.modules[f"bubblerate.{module}"])]
    for name in TESTS.get(module, (module,)):
        folder, _, subject = name.partition(".")
        path = ROOT / "tests" / folder / f"test_{subject}.py"
        assert path.is_file(), path  # else the mutants would seem to be killed
        paths.append(str(path))
    return paths


def _try(known: Faults, module: str, every: int, first: int) -> Any:
    """What became of the mutants of one module."""
    faults = [known.of(mutant) for mutant in [*mutants(module)][first::every]]
    trial = Trial(faults=faults)
    pytest.main(
        ["-q", "-n", "0", "-p", "no:cacheprovider", "--rootdir", str(ROOT), *_files(module)],
        plugins=[trial],
    )
    return len(faults), trial.fates


def main() -> None:
    """Make, try, print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("modules", nargs="*", default=[*MODULES])
    asked.add_argument("--every", type=int, default=1, help="try one mutant in so many")
    asked.add_argument("--first", type=int, default=0, help="from this one on")
    given = asked.parse_args()
    for module in KNOWN:
        importlib.import_module(f"bubblerate.{module}")
    known = Faults(KNOWN)
    for module in given.modules:
        made, fates = _try(known, module, given.every, given.first)
        print(f"{module:24s} {made:6d} {dict(fates.most_common())}", flush=True)


if __name__ == "__main__":
    main()
