"""How long a person waits: CPU time of whole commands, and what they load.

Each command runs in a process of its own, its modules compiled as an installer leaves them; the
median and the least of several runs are printed, and how many times as long as the smallest typer
command, and as importing what the sums need, the median is. They take turns, so that whatever else
the machine does falls on all of them alike. It needs a machine that tells what a child has used.

Run: python tests/bench/cli/startup.py [--runs 15]
"""

from __future__ import annotations

import argparse
import os
import resource
import shutil
import subprocess
import sys
import tempfile
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
SUMS = "numpy and scipy.special"
BARE = {
    "bare python": "pass",
    "import typer": "import typer",
    "smallest typer": SMALLEST,
    SUMS: "import numpy, scipy.special",
}


def used() -> float:
    """CPU time of all processes that have ended [s]."""
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return children.ru_utime + children.ru_stime


def seconds(words: list[str], environment: dict[str, str]) -> float:
    """CPU time of one process [s]."""
    start = used()
    subprocess.run(words, env=environment, check=True, capture_output=True)
    return used() - start


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
            "OMP_NUM_THREADS": "1",
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
            "verdict --json": ["verdict", "quince", "--json", *at],
            "shelf": ["shelf", *at],
            "shelf -o": ["shelf", "-o", str(shelf / "shelf.png"), *at],
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
        smallest, sums = median(times["smallest typer"]), median(times[SUMS])
        print(f"{'command':<25}{'median s':>9}{'least s':>9}{'x smallest':>12}{'x sums':>8}  loads")
        for name, took in times.items():
            half = median(took)
            line = f"{name:<25}{half:>9.3f}{min(took):>9.3f}{half / smallest:>12.2f}"
            print(f"{line}{half / sums:>8.2f}  {found.get(name, '')}".rstrip())


if __name__ == "__main__":
    main()
