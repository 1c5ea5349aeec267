"""The same diary, the same answer: byte for byte, whatever the machine around it is set to.

    python tests/bench/trust/sameness.py [PYTHON ...]

Each surrounding is one process; what it prints and draws is held against that of a plain one. With
other Pythons named they are tried too: their libraries may differ in the last digit.
"""

from __future__ import annotations

import hashlib
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
EXAMPLES = ROOT / "examples"
AT = "2026-11-14T22:00+00:00"
RUN = """
import io, os, sys, contextlib
from bubblerate.cli import main
for words in WORDS:
    sys.argv = ["bubblerate", *words]
    print("$", *words)
    try:
        main(words)
    except SystemExit as left:
        print("code", left.code)
"""
PLAIN = {"TZ": "UTC", "LC_ALL": "C.UTF-8", "PYTHONHASHSEED": "0", "OMP_NUM_THREADS": "1"}
SURROUNDINGS: dict[str, dict[str, str]] = {
    "another hash seed": {"PYTHONHASHSEED": "4711"},
    "hashes at random": {"PYTHONHASHSEED": "random"},
    "two threads": {"OMP_NUM_THREADS": "2", "OPENBLAS_NUM_THREADS": "2"},
    "eight threads": {"OMP_NUM_THREADS": "8", "OPENBLAS_NUM_THREADS": "8"},
    "German": {"LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8"},
    "Turkish": {"LC_ALL": "tr_TR.UTF-8", "LANG": "tr_TR.UTF-8"},
    "no locale": {"LC_ALL": "C", "PYTHONUTF8": "1"},
    "Tokyo": {"TZ": "Asia/Tokyo"},
    "St John's, half an hour off": {"TZ": "America/St_Johns"},
    "kernel Haswell": {"OPENBLAS_CORETYPE": "Haswell"},
    "kernel SkylakeX": {"OPENBLAS_CORETYPE": "SkylakeX"},
    "kernel Prescott": {"OPENBLAS_CORETYPE": "Prescott"},
    "kernel Zen": {"OPENBLAS_CORETYPE": "Zen"},
    "no SIMD of numpy": {"NPY_DISABLE_CPU_FEATURES": "AVX512F AVX2 FMA3"},
    "bytes as they come": {"PYTHONOPTIMIZE": "1"},
}


def commands(folder: Path) -> list[list[str]]:
    """What is asked of each example: answers, steps, the shelf and a picture."""
    words = []
    for path in sorted(EXAMPLES.glob("*.csv")):
        words.append(["verdict", str(path), "--at", AT, "--json"])
        words.append(["after", str(path), "--at", AT, "--json"])
    picture, shelf = str(folder / "tail.svg"), ["shelf", "--shelf", str(EXAMPLES)]
    return [
        *words,
        [*shelf, "--at", AT, "--json"],
        ["plot", str(EXAMPLES / "quince.csv"), "--at", AT, "-o", picture],
    ]


def answers(python: str, **around: str) -> bytes:
    """All that the commands print and draw in one surrounding; the time of day in UTC."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("OPENBLAS", "LC_", "OMP"))}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        code = f"WORDS = {commands(folder)!r}\n{RUN}"
        done = subprocess.run(
            [python, "-c", code],
            cwd=ROOT,
            env=kept | PLAIN | around,
            capture_output=True,
            timeout=900,
            check=False,
        )
        drawn = folder / "tail.svg"
        lines = drawn.read_bytes().splitlines() if drawn.exists() else []
        # the day it was drawn on, and names that the drawing library makes up anew
        picture = [line for line in lines if b"<dc:date>" not in line and b"clip" not in line]
        told = done.stdout + done.stderr
        return told.replace(name.encode(), b"FOLDER") + b"\n".join(picture[:40])


def rounded(told: bytes) -> bytes:
    """The same with numbers to four digits and moments to the minute: more no reader can use."""
    minutes = re.sub(rb"(T\d\d:\d\d):\d\d\.\d+", rb"\1", told)
    return re.sub(
        rb"\d+\.\d+(?:e-?\d+)?", lambda found: b"%.4g" % (float(found[0]) + 1e-9), minutes
    )


def same(title: str, one: bytes, other: bytes) -> None:
    """Say how far two answers are the same."""
    told = differences(rounded(one), rounded(other))
    how = "the same bytes" if one == other else "the same to 4 digits and the minute"
    print(f"{title:32s} {'NOT THE SAME' if told else how}")
    print(*told, sep="\n", end="\n" if told else "", flush=True)


def differences(one: bytes, other: bytes) -> list[str]:
    """Lines that are not the same, as many as a person will read."""
    pairs = zip(one.splitlines(), other.splitlines(), strict=False)
    found = [f"    {a.decode()}  |  {b.decode()}" for a, b in pairs if a != b]
    longer = abs(one.count(b"\n") - other.count(b"\n"))
    return [*found[:6], *([f"    {longer} lines more or fewer"] if longer else [])]


if __name__ == "__main__":
    plain = answers(sys.executable)
    print(f"plain: {plain.count(b'$ ')} commands, {hashlib.sha256(plain).hexdigest()[:16]}")
    for title, around in SURROUNDINGS.items():
        same(title, plain, answers(sys.executable, **around))
    for python in sys.argv[1:]:
        same(python, plain, answers(python))
