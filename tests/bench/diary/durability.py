"""What is lost when a write is stopped, the power goes, the disk is full or others write too.

Each line of the table is one scene, tried at every moment it has: entries the program said were
written (exit code 0, or the line it prints), how many of them are not in the file afterwards, rows
that say what nobody entered, and files in which the next reader finds a fault and names it.
Kill and save at every system call need Linux; a small full disk needs `unshare`.

Run: python tests/bench/diary/durability.py [scene ...]
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from functools import partial
from pathlib import Path
from unittest.mock import patch

from bubblerate.cli import main

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # what benches and tests share

from bench.diary.crowded import (
    clock_back,
    file_limit,
    imports,
    no_lock,
    not_allowed,
    on_a_small_disk,
    small_disk,
    writers,
)
from bench.diary.cutshort import kill_at_calls, power_cut, save_at_calls
from bench.diary.mingled import (
    DEEDS,
    clock_back_deed,
    kill_deed,
    no_lock_deed,
    power_deed,
    refused_deed,
    small_disk_deeds,
)
from bench.diary.tallies import WRITTEN, Count, begin, commands

Scene = Callable[[Path, int], Count]
SCENES: dict[str, Scene] = {
    **{f"kill-{name}": partial(kill_at_calls, command=name) for name in WRITTEN},
    "kill-short": partial(kill_at_calls, command="append", header="when,bubbles"),
    **{
        f"power-{name}": partial(power_cut, command=name)
        for name in ("append", "import", "strike", "create")
    },
    "limit": file_limit,
    "small-disk": lambda folder, _: on_a_small_disk(folder, "small-disk", "16k"),
    "small-disk-mingled": lambda folder, _: on_a_small_disk(folder, "small-disk-mingled", "64k"),
    "lock-fails": no_lock,
    "clock-back": clock_back,
    "read-only": lambda folder, _: not_allowed(folder),
    "two": lambda folder, step: writers(folder, 2, 50 // step),
    "twenty": lambda folder, step: writers(folder, 20, 50 // step),
    "strikes": lambda folder, step: writers(folder, 5, 30 // step, strikes=30 // step),
    "imports": lambda folder, _: imports(folder, 8),
    **{
        f"save-{name}{how}": partial(save_at_calls, command=name, by_renaming=not how)
        for name in ("append", "import", "strike")
        for how in ("", "-in-place")
    },
    **{
        f"{what}-{name}": partial(scene, name=name)
        for what, scene in (
            *(("kill", kill_deed), ("power", power_deed)),
            *(("refused", refused_deed), ("no-lock", no_lock_deed)),
        )
        for name in DEEDS
    },
    "clock-back-mingled": clock_back_deed,
}


def _load(home: Path) -> None:
    """Load here what the commands load as they go, so that no child needs to."""
    with (home / "log").open("w") as log, patch("sys.stdout", log), patch("sys.stderr", log):
        for words, _ in commands(begin(home / "warm").parent).values():
            try:
                main(words)
            except SystemExit as end:
                if end.code:
                    raise RuntimeError(words) from end


def counted(name: str, step: int) -> Count:
    """Play one scene in a folder of its own."""
    with tempfile.TemporaryDirectory() as folder:
        try:
            return SCENES[name](Path(folder).resolve(), step)
        except PermissionError as err:
            return Count(scene=f"{name}: not tried", said=Counter([str(err)]))


def table() -> None:
    """Play the scenes and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("scenes", nargs="*", help=f"of {', '.join(SCENES)}; all unless said")
    parser.add_argument("--step", type=int, default=1, help="try every so many-th moment only")
    parser.add_argument("--json", action="store_true", help="one JSON object a line")
    parser.add_argument("--inside", type=Path, help=argparse.SUPPRESS)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as home:
        _load(Path(home))
    if options.inside:
        scene = {"small-disk": small_disk, "small-disk-mingled": small_disk_deeds}
        print(json.dumps(vars(scene[options.scenes[0]](options.inside))))
        return
    if not options.json:
        print(f"{'scene':<58}{'trials':>7}{'said':>7}{'lost':>6}{'misread':>8}{'faulty':>7}")
    for name in options.scenes or SCENES:
        count = counted(name, options.step)
        if options.json:
            print(json.dumps(vars(count) | {"name": name}), flush=True)
            continue
        print(
            f"{count.scene:<58}{count.trials:>7}{count.acknowledged:>7}{count.lost:>6}"
            f"{count.misread:>8}{count.faulty:>7}"
        )
        for text, times in count.said.most_common():
            print(f"    {times} x {text}", flush=True)


if __name__ == "__main__":
    table()
