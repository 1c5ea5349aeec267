"""The tests of the course at their full length: all lives, every evening, many diaries at random.

The same functions as in the suite, which is thinned. Every screen of every evening of the examples
and of each life lived by the book is held against the others (some six minutes of CPU time).

Run: python tests/bench/course/sweep.py [words for pytest, such as -x or -k agree]
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[3]
TESTS = ("tests/course/test_invariants.py", "tests/course/test_judgement.py")


def main(words: list[str]) -> int:
    """Run them, and say what it cost."""
    began = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", *TESTS, *words],
        cwd=ROOT,
        env=os.environ | {"BUBBLERATE_SWEEP": "1"},
        check=False,
    )
    print(f"{time.monotonic() - began:.0f} s")
    return done.returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
