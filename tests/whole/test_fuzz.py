"""Short runs of tests/bench/trust/fuzzing.py and fits.py; the long ones are started by hand."""

import sys
import warnings
from math import inf

import pytest

from bubblerate.errors import InputError

from bench.trust import fuzz_files, fuzz_targets, fuzzing
from bench.trust.fits import fault
from bench.trust.fuzzing import Target, fuzz

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="its alarm clock is of POSIX")
INPUTS = {"table": 200, "import": 600, "wav": 600, "config": 500, "counter": 150}
INPUTS |= {"workbook": 150, "parquet": 100, "coded": 200, "forms": 100, "rows": 150}


def targets(folder):
    return fuzz_targets.targets(folder) | fuzz_files.targets(folder)


@pytest.mark.parametrize("name", [*fuzz_targets.NAMES, *fuzz_files.NAMES])
def test_bad_input_is_answered_or_refused_in_one_line(tmp_path, monkeypatch, name):
    monkeypatch.setattr(fuzzing, "SLOW_S", fuzzing.HANG_S)  # the bench looks at time
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        found = fuzz(name, targets(tmp_path)[name], inputs=INPUTS.get(name, 2000), minutes=inf)
    assert found.finds == {}
    assert found.inputs == INPUTS.get(name, 2000)
    assert found.answered > 0
    # it was refused for more than one reason, though rows and Parquet are few and far between
    assert found.places > (0 if name in fuzz_files.NAMES else 2)


def broken(data):
    if b"99" in data:
        raise ZeroDivisionError("99")
    if b"8" in data:
        raise InputError("two\nlines")
    if b"7" in data:
        while True:
            pass


def test_the_fuzzer_finds_a_traceback_a_refusal_of_two_lines_and_a_hang(monkeypatch):
    monkeypatch.setattr(fuzzing, "HANG_S", 0.01)
    monkeypatch.setattr(fuzzing, "SLOW_S", 0.005)
    found = fuzz("broken", Target(readers=(broken,), seeds=(b"1000",)), inputs=400, minutes=inf)
    assert {kind for kind, _ in found.finds} == {
        "ZeroDivisionError",
        "refusal",
        "HangError",
        "slow",
    }


def test_an_input_that_goes_a_new_way_is_kept(tmp_path):
    target = targets(tmp_path)["diary"]
    found = fuzz("diary", target, inputs=500, minutes=inf)
    assert found.kept > len(target.seeds)
    assert found.steps > 100


@pytest.mark.parametrize("number", range(20))
def test_the_fit_warns_of_nothing_whatever_was_counted(number):
    assert fault(number) == ""
