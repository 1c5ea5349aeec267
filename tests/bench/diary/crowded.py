"""Writing where there is no room or no leave, and by many at once."""

from __future__ import annotations

import errno
import fcntl
import json
import os
import resource
import signal
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from bubblerate.diary.reading import read

from bench.diary.stops import Doer, typed, typing
from bench.diary.tallies import HELD, Count, begin, commands, evening, struck_in

if TYPE_CHECKING:
    from collections.abc import Callable

    from bench.diary.stops import Said

NOBODY = 65534
TABLE_MAKER = Path(__file__).with_name("durability.py")


# --- no room, no leave ---------------------------------------------------------------------------


def file_limit(folder: Path, step: int) -> Count:
    """The kernel refuses each byte beyond a limit, tried at every byte of the row."""
    count = Count(scene="full disk: no byte beyond a limit")
    path = begin(folder / "cellar")
    size = path.stat().st_size
    for room in range(0, 90, step):

        def narrow(limit: int = size + room) -> None:
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))

        path = begin(folder / "cellar")
        _refusable(count, folder, path, narrow)
    return count


def small_disk(folder: Path) -> Count:
    """A disk of 16 kB, filled by the entries themselves; then a strike, which needs room too."""
    count = Count(scene="full disk: 16 kB, entries until none fits")
    path = begin(folder / "cellar")
    visits = list(HELD)
    for n in range(100, 500):
        visit = evening(n, note="x" * 200)
        words = ["tally", str(path), str(visit.bubbles), "--when", visit.when.isoformat()]
        done = typed([*words, "--note", visit.note], folder.parent / "log")
        count.hear(done.err)
        if done.code:
            break
        visits.append(visit)
    count.check(path, visits, [])
    refused = typed(["strike", str(path), "4"], folder.parent / "log")
    count.hear(refused.err)
    count.check(path, visits, [])
    return count


def on_a_small_disk(folder: Path, scene: str, size: str) -> Count:
    """Run the scene on a file system of its own, in a name space of its own."""
    mount = folder / "disk"
    mount.mkdir()
    inside = f'mount -t tmpfs -o size={size} none "$1" && exec "$2" "$3" {scene} --inside "$1"'
    words = [
        "unshare",
        "-rm",
        "sh",
        "-c",
        inside,
        "sh",
        str(mount),
        sys.executable,
        str(TABLE_MAKER),
    ]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    if done.returncode:
        return Count(
            scene=f"full disk of {size}: not tried", said=Counter(done.stderr.splitlines())
        )
    found = json.loads(done.stdout)
    return Count(**{**found, "said": Counter(found["said"])})


def not_allowed(folder: Path) -> Count:
    """A file, or its folder, that may only be read."""
    count = Count(scene="read-only file; read-only folder")
    folder.chmod(0o755)
    for of_file, of_folder in ((0o444, 0o777), (0o666, 0o555)):
        path = begin(folder / "cellar")
        path.chmod(of_file)
        path.parent.chmod(of_folder)
        _refusable(count, folder, path, _as_nobody)
        path.parent.chmod(0o755)
    return count


def _as_nobody() -> None:
    if os.getuid() == 0:  # who may write everything
        os.setgroups([])
        os.setgid(NOBODY)
        os.setuid(NOBODY)


def _refusable(count: Count, folder: Path, path: Path, before: Callable[[], object]) -> None:
    """Type a count and a strike that may be refused: said and there, or refused and as before."""
    words, rows = commands(path.parent)["append"]
    old = path.read_bytes()
    done = typed(words, folder / "log", before)
    count.hear(done.err)
    count.misread += bool(done.code) and path.read_bytes() != old
    visits = [*HELD, *(rows if done.code == 0 else [])]
    old = path.read_bytes()
    words, _ = commands(path.parent)["strike"]
    done = typed(words, folder / "log", before)
    count.hear(done.err)
    count.misread += bool(done.code) and path.read_bytes() != old
    if done.code == 0:
        visits = [replace(v, struck=struck_in(path, v)) for v in visits]
    count.check(path, visits, rows)


def no_lock(folder: Path, _step: int) -> Count:
    """A folder of another machine, whose lock fails in one of the ways that flock(2) names."""
    count = Count(scene="no lock to be had: ENOLCK, EOPNOTSUPP, EIO, EBADF")
    for number in (errno.ENOLCK, errno.EOPNOTSUPP, errno.EIO, errno.EBADF):

        def broken(reason: int = number) -> None:
            def flock(*_: object) -> None:
                raise OSError(reason, os.strerror(reason))

            fcntl.flock = flock  # of the child alone

        path = begin(folder / "cellar")
        _refusable(count, folder, path, broken)
    return count


def clock_back(folder: Path, _step: int) -> Count:
    """The clock is set back by a year between two counts: both are there, in order of time."""
    count = Count(scene="clock set back between two counts")
    path = begin(folder / "cellar")
    moments = [evening(30), evening(30 - 365), evening(31)]
    for visit in moments:
        words = ["tally", str(path), str(visit.bubbles), "--when", visit.when.isoformat()]
        count.hear(typed(words, folder / "log").err)
    times = [visit.when for visit in read(path).visits]
    count.misread += times != sorted(times)
    count.check(path, [*HELD, *moments], [])
    return count


# --- many at once --------------------------------------------------------------------------------


def writers(folder: Path, number: int, each: int, *, strikes: int = 0) -> Count:
    """So many processes, each typing its counts one after the other; one more may strike rows."""
    besides = f", {strikes} strikes" if strikes else ""
    count = Count(scene=f"{number} writers at once, {each} counts each{besides}")
    visits = [evening(n) for n in range(max(3, strikes))]
    path = begin(folder / "cellar", visits=visits)
    pids = [_forked(partial(_tallies, path, folder, i, each)) for i in range(number)]
    if strikes:
        pids.append(_forked(partial(_strikes, path, folder, strikes)))
    codes = [os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) for pid in pids]
    count.lost += sum(codes)  # each is the number of entries refused
    new = [evening(1000 * (i + 1) + n) for i in range(number) for n in range(each)]
    found = read(path).visits
    visits = [replace(v, struck=struck_in(path, v)) for v in visits]
    count.lost += strikes - sum(bool(visit.struck) for visit in found)
    count.check(path, [*visits, *new], [])
    count.trials = len(new) + strikes
    lines = len(path.read_bytes().splitlines())
    count.misread += lines != 1 + len(visits) + len(new)
    return count


def _forked(act: Callable[[], int]) -> int:
    sys.stdout.flush()
    pid = os.fork()
    if pid == 0:
        os._exit(act())
    return pid


def _tallies(path: Path, folder: Path, me: int, each: int) -> int:
    refused = 0
    for n in range(each):
        visit = evening(1000 * (me + 1) + n)
        words = ["tally", str(path), str(visit.bubbles), "--when", visit.when.isoformat()]
        refused += typed(words, folder / f"log{me}").code != 0
    return refused


def _strikes(path: Path, folder: Path, number: int) -> int:
    lines = range(2, number + 2)
    words = (["strike", str(path), str(line)] for line in lines)
    return sum(typed(one, folder / "logs").code != 0 for one in words)


def imports(folder: Path, number: int) -> Count:
    """The same table taken over by so many at the same moment: each row is there once."""
    count = Count(scene=f"{number} imports of one table at once")
    for _ in range(10):
        path = begin(folder / "cellar")
        words, rows = commands(path.parent)["import"]
        ready, go = os.pipe()
        children = [
            Doer(typing(words), folder / f"log{i}", partial(os.read, ready, 1))
            for i in range(number)
        ]
        os.write(go, b"." * number)
        done: list[Said] = [child.said() for child in children]
        os.close(ready)
        os.close(go)
        for one in done:
            count.hear(one.err)
        told = rows if any(one.code == 0 for one in done) else []
        count.check(path, [*HELD, *told], [])
    return count
