"""How long a person waits: wall clock of whole commands, and what they load.

Each command runs in a process of its own; the median and the slowest of several runs are printed
beside bare Python and the smallest typer command on the same machine in the same minute.

Run: python tests/bench/startup.py [--runs 15]
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
SMALLEST = "import typer; app = typer.Typer(); app.command()(lambda: None); app([])"
HEAVY = ("numpy", "scipy", "pandas", "matplotlib")
LOADED = (
    "import sys\n"
    "from bubblerate.cli import main\n"
    "try:\n"
    "    main(sys.argv[1:])\n"
    "except SystemExit:\n"
    f"    print(*[m for m in {HEAVY} if m in sys.modules], file=sys.stderr)\n"
)


def seconds(words: list[str], environment: dict[str, str]) -> float:
    """Wall clock of one process [s]."""
    start = time.perf_counter()
    subprocess.run(words, env=environment, check=True, capture_output=True)
    return time.perf_counter() - start


def loaded(arguments: list[str], environment: dict[str, str]) -> str:
    """Which heavy libraries a command has loaded by its end."""
    words = [sys.executable, "-c", LOADED, *arguments]
    run = subprocess.run(words, env=environment, check=True, capture_output=True, text=True)
    return run.stderr.split("\n")[-2] or "none"


def main() -> None:
    """Time each command and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=15)
    runs = parser.parse_args().runs
    with tempfile.TemporaryDirectory() as folder:
        shelf = Path(folder)
        for source in EXAMPLES.glob("*.csv"):
            shutil.copy(source, shelf)
        environment = {**os.environ, "BUBBLERATE_SHELF": folder}
        at = ["--at", "2026-11-14T21:00"]
        commands = {
            "tally": ["tally", "quince", "12", "--over", "90s"],
            "gravity": ["gravity", "quince", "0.996"],
            "diary": ["diary", "quince"],
            "verdict": ["verdict", "quince", *at],
            "verdict (45 counts)": ["verdict", "chestnut-honey-mead", *at],
            "plot": ["plot", "quince", "-o", str(shelf / "tail.png"), *at],
        }
        print(f"{'command':<22}{'median s':>10}{'slowest s':>11}  loads")
        for name, code in (("bare python", "pass"), ("smallest typer", SMALLEST)):
            words = [sys.executable, "-c", code]
            times = [seconds(words, environment) for _ in range(runs)]
            print(f"{name:<22}{median(times):>10.3f}{max(times):>11.3f}")
        for name, arguments in commands.items():
            words = [sys.executable, "-m", "bubblerate", *arguments]
            times = [seconds(words, environment) for _ in range(runs)]
            what = loaded(arguments, environment)
            print(f"{name:<22}{median(times):>10.3f}{max(times):>11.3f}  {what}")


if __name__ == "__main__":
    main()
