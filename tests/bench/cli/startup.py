"""How long a person waits: wall clock of whole commands, and what they load.

Each command runs in a process of its own, its modules compiled as an installer leaves them; the
median and the slowest of several runs are printed, and how many times as long as the smallest
typer command it takes, on the same machine in the same minute. They take turns, so that whatever
else the machine does falls on all of them alike.

Run: python tests/bench/cli/startup.py [--runs 15]
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

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
SMALLEST = "import typer; app = typer.Typer(); app.command()(lambda: None); app([])"
HEAVY = ("pydantic", "numpy", "scipy", "pandas", "matplotlib")
LOADED = (
    "import sys\n"
    "from bubblerate.cli import main\n"
    "try:\n"
    "    main(sys.argv[1:])\n"
    "except SystemExit:\n"
    f"    print(*[m for m in {HEAVY} if m in sys.modules], file=sys.stderr)\n"
)
BARE = {"bare python": "pass", "import typer": "import typer", "smallest typer": SMALLEST}


def seconds(words: list[str], environment: dict[str, str]) -> float:
    """Wall clock of one process [s]."""
    start = time.perf_counter()
    subprocess.run(words, env=environment, check=True, capture_output=True)
    return time.perf_counter() - start


def loaded(arguments: list[str], environment: dict[str, str]) -> str:
    """Which libraries that are slow to load a command has loaded by its end."""
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
        environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
        environment |= {
            "BUBBLERATE_SHELF": folder,
            "PYTHONPYCACHEPREFIX": str(shelf / "compiled"),  # nothing is left in the checkout
        }
        at = ["--at", "2026-11-14T21:00"]
        commands = {
            "tally": ["tally", "quince", "12", "--over", "90s"],
            "gravity": ["gravity", "quince", "0.996"],
            "diary": ["diary", "quince"],
            "verdict": ["verdict", "quince", *at],
            "verdict (45 counts)": ["verdict", "chestnut-honey-mead", *at],
            "plot": ["plot", "quince", "-o", str(shelf / "tail.png"), *at],
        }
        rows = {name: [sys.executable, "-c", code] for name, code in BARE.items()}
        for name, arguments in commands.items():
            rows[name] = [sys.executable, "-m", "bubblerate", *arguments]
        found = {name: loaded(arguments, environment) for name, arguments in commands.items()}
        for words in rows.values():
            seconds(words, environment)  # the first run compiles
        times: dict[str, list[float]] = {name: [] for name in rows}
        for _ in range(runs):
            for name, words in rows.items():
                times[name].append(seconds(words, environment))
        smallest = median(times["smallest typer"])
        print(f"{'command':<22}{'median s':>10}{'slowest s':>11}{'x smallest':>12}  loads")
        for name, took in times.items():
            ratio = median(took) / smallest
            line = f"{name:<22}{median(took):>10.3f}{max(took):>11.3f}{ratio:>12.2f}  "
            print((line + found.get(name, "")).rstrip())


if __name__ == "__main__":
    main()
