"""Every command over every example, its notes and names full of what a terminal would obey.

The test of the same walks a shelf of two short diaries; here each jar of the examples is asked, the
demo lays them all out, and a backtest replays them all. A find is a mark that reached a screen or a
written file, a traceback, or an exit code but 0 and 2.

Run: python tests/bench/trust/hostile_text.py
"""

from __future__ import annotations

import csv
import io
import shutil
import sys
import tempfile
from contextlib import redirect_stderr, redirect_stdout
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # what benches and tests share

from bubblerate.cli import main as program

from scenes import EXAMPLES

# Clear the screen, a title of the window, one of C1 (8 bit), right to left, a bell, a NUL's kin.
OBEYED = "\x1b[2J \x1b]0;fig\x07 \x9b31m \u202egif \b\x7f\u2028"
FORMULA = "=1+1"
NOTE = f"{FORMULA} {OBEYED} stuff {OBEYED}"

ASKED = [
    *("start new --litres 4.5", "tally JAR 8", "gravity JAR 1.004", "event JAR fined"),
    *("diary JAR", "diary JAR --as tag", "strike JAR last", "round", "shelf", "shelf --csv"),
    *("shelf --json", "verdict JAR", "verdict JAR --json", "verdict JAR --on bottling"),
    *("label JAR", "label JAR -o OUT.svg", "plot JAR -o OUT.png", "backtest JAR"),
    *("backtest --csv", "backtest --json", "after JAR", "after JAR --ics OUT.ics", "tap JAR"),
    *("import TABLE --into sloe2", "listen TABLE", "demo --shelf OUT"),
    *("verdict NAMED", "diary NAMED", "listen NAMED", "import NAMED", "strike JAR NAMED"),
    *("event JAR NAMED", "tally JAR NAMED", "gravity JAR NAMED", "start NAMED", "after NAMED"),
    *("label NAMED", "backtest NAMED", "plot NAMED", "plot JAR -o NAMED", "tap NAMED"),
    *("shelf --scheduler NAMED", "verdict JAR --at NAMED", "shelf -o NAMED"),
    *("split JAR --into part --litres 1", "split NAMED --into part --litres 1", "guide JAR"),
    *(
        "join JAR JAR --into both",
        "join JAR NAMED --into both",
        "guide NAMED",
        "about JAR",
        "words NAMED",
    ),
    *(
        "top-up JAR --from NAMED --litres 0.1",
        "about NAMED",
        "dose JAR sulphite",
        "dose NAMED sulphite",
    ),
    *("bottling-day JAR -o OUT.pdf", "bottling-day NAMED", "cellar", "sheet JAR -o OUT.pdf"),
    *("sheet NAMED", "sheet -o OUT.pdf", "phone --port NAMED"),
    *("after JAR --ics NAMED", "verdict JAR --below NAMED", "label JAR -o NAMED"),
]
WRITE = {"start", "tally", "gravity", "event"}


class Asked(NamedTuple):
    """Words to type, and the folder in which they may write a file."""

    words: list[str]
    out: Path


def hostile(path: Path) -> None:
    """Put such a note into every row, and add a row for each event that shows its note."""
    rows = [*csv.DictReader(io.StringIO(path.read_text(encoding="utf-8")))]
    names = [*dict.fromkeys([*rows[0], "note", "struck"])]
    for row in rows:
        row["note"] = NOTE
    last = rows[-1]["when"]
    more = [{"when": last, "event": event, "note": NOTE} for event in ("fined", "tasted", "moved")]
    more.append({"when": last, "bubbles": "9", "seconds": "60", "note": NOTE, "struck": NOTE})
    out = io.StringIO()
    table = csv.DictWriter(out, names)
    table.writeheader()
    table.writerows([*rows, *more])
    path.write_bytes(out.getvalue().encode())


def asked(line: str, *, jar: str, shelf: Path) -> Asked:
    """Make the words of a line: JAR, a table, a hostile name, a file to write, the shelf."""
    table = shelf.parent / "notes.csv"
    table.write_text(f"Date,Bubbles,Note {OBEYED}\n2026-11-01,9,{NOTE}\n2026-11-02,8,{NOTE}\n")
    out = shelf.parent / "out"
    stands = {"JAR": jar, "TABLE": str(table), "NAMED": f"a{OBEYED}b"}
    words = [stands.get(word, word.replace("OUT", str(out / "it"))) for word in line.split()]
    out.mkdir(exist_ok=True)
    if words[0] in WRITE:
        words += ["--note", NOTE]
    return Asked(words if words[0] in {"demo", "words"} else [*words, "--shelf", str(shelf)], out)


def unsafe(text: str) -> set[str]:
    """Marks that are neither shown nor a new line."""
    return {c for c in text if c != "\n" and not c.isprintable()}


def unsafe_files(out: Path) -> set[str]:
    """Marks of the texts that were written there."""
    texts = [path for path in out.iterdir() if path.suffix in {".ics", ".svg"}]
    return unsafe("".join(p.read_bytes().decode().replace("\r\n", "\n") for p in texts))


def fault(line: str, jar: str) -> str:
    """What one line brought to a screen or a file on a fresh shelf; empty where nothing."""
    with tempfile.TemporaryDirectory() as folder:
        shelf = Path(folder) / "jars"
        shutil.copytree(EXAMPLES, shelf, ignore=shutil.ignore_patterns("*.py", "*.png"))
        for path in shelf.glob("*.csv"):
            hostile(path)
        shutil.copy(shelf / f"{jar}.csv", shelf / f"{FORMULA}.csv")
        words, out = asked(line, jar=jar, shelf=shelf)
        code, said = _typed(words)
        found = unsafe(said) | unsafe_files(out)
    wrong = [f"marks {sorted(found)!r}"] if found else []
    wrong += ["a traceback"] if "Traceback" in said else []
    wrong += [] if code in {0, 2} else [f"exit code {code}"]
    return ", ".join(wrong)


def _typed(words: list[str]) -> tuple[int, str]:
    said = io.StringIO()
    with redirect_stdout(said), redirect_stderr(said):
        try:
            program(words, now=lambda: datetime.now(UTC))
        except SystemExit as done:
            return int(done.code or 0), said.getvalue()
    return 0, said.getvalue()


def main() -> int:
    """Walk every line over every jar; print each find, and count."""
    jars = sorted(path.stem for path in EXAMPLES.glob("*.csv"))
    walked = finds = 0
    for line in ASKED:
        for jar in jars if "JAR" in line else jars[:1]:
            walked += 1
            if wrong := fault(line, jar):
                finds += 1
                print(f"{line} ({jar}): {wrong}", flush=True)
    print(f"{walked} lines, {finds} finds")
    return 1 if finds else 0


if __name__ == "__main__":
    sys.exit(main())
