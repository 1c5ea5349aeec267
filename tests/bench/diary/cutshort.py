"""Writing stopped dead, overtaken by another program, or cut off from power, at every moment of it.

Kill and save at every system call need Linux.
"""

from __future__ import annotations

import csv
import io
import itertools
from dataclasses import replace
from pathlib import Path
from unittest.mock import patch

from bubblerate.diary.events import Event
from bubblerate.diary.reading import read
from bubblerate.diary.striking import strike
from bubblerate.diary.visit import Visit
from bubblerate.diary.writing import append, create, extend
from bubblerate.errors import DiaryError

from bench.diary.powercut import Disk, State, restore
from bench.diary.stops import held_at, kill, typing
from bench.diary.tallies import (
    HELD,
    STANDARD,
    START,
    TYPED,
    WRITTEN,
    Count,
    bare,
    begin,
    commands,
    evening,
    struck_in,
)


def kill_at_calls(folder: Path, step: int, command: str, header: str = STANDARD) -> Count:
    """A command killed before and after each of its system calls; then the next evening's count."""
    count = Count(scene=f"kill -9 at every call of {command}{_of(header)}")
    shelf = folder / "cellar"
    for stop in itertools.count(1, step):
        plain = header == STANDARD
        visits = HELD if plain else [evening(n) for n in range(3)]
        path = begin(shelf, header, visits)
        words, rows = commands(shelf)[command]
        done = held_at(stop, typing(words), folder / "log", kill)
        if done is None:
            break
        told = WRITTEN[command] in done.out  # it stood on the screen
        if command == "create":
            _created(count, Path(words[1]), told=told)
            continue
        before = path.read_bytes()
        if command == "strike":
            visits = _after_strike(count, path, visits, told=told)
        later = evening(50)
        append(path, later)
        if not path.read_bytes().startswith(before):
            count.misread += 1
        count.check(path, [*visits, later, *(rows if told else [])], rows)
    return count


def _of(header: str) -> str:
    return "" if header == STANDARD else f" ({header})"


def _after_strike(count: Count, path: Path, visits: list[Visit], *, told: bool) -> list[Visit]:
    """What the diary has to hold after a strike that was stopped: struck or not, and no third."""
    slip = next(visit for visit in read(path).visits if visit.line == 4)
    count.lost += told and not slip.struck
    return [replace(v, struck=slip.struck) if v.when == slip.when else v for v in visits]


def _created(count: Count, path: Path, *, told: bool) -> None:
    """A diary half begun must not stand in the way of beginning it again."""
    first = Visit(when=TYPED.when, event=Event.PITCHED)
    if not path.exists():
        count.lost += told
        create(path, first)
    count.check(path, [first], [])


def save_at_calls(folder: Path, step: int, command: str, *, by_renaming: bool) -> Count:
    """Another program saves its own row, without a line end, at each system call of a command."""
    how = "a new file" if by_renaming else "in place"
    count = Count(scene=f"another's save ({how}) at every call of {command}")
    shelf, theirs = folder / "cellar", evening(70)
    for stop in itertools.count(1, step):
        path = begin(shelf)
        row = b",".join(
            [theirs.when.isoformat().encode(), str(theirs.bubbles).encode(), *[b""] * 9]
        )

        def save(_: int, path: Path = path, row: bytes = row) -> None:
            data = path.read_bytes() + row
            target = path.with_name("theirs.tmp") if by_renaming else path
            target.write_bytes(data)
            target.replace(path)

        words, rows = commands(shelf)[command]
        done = held_at(stop, typing(words), folder / "log", save)
        if done is None:
            break
        count.hear(done.err)
        visits = HELD
        if command == "strike" and done.code == 0:
            visits = [replace(v, struck=struck_in(path, v)) for v in HELD]
        told = rows if done.code == 0 else []
        count.check(path, [*visits, theirs, *told], rows)
    return count


# --- the power goes ------------------------------------------------------------------------------

LAYOUTS = (
    STANDARD,
    "when,bubbles",
    "when,bubbles,seconds,note",
    "bubbles,when,note",
    "note,when,bubbles",
)
NOTES = ("", "sunny, wärmer", 'she said "go"\r\nand went')


def power_cut(folder: Path, step: int, command: str) -> Count:
    """Every state the disk may be left in, before and after the entry is acknowledged."""
    count = Count(scene=f"power cut in {command}")
    for header in LAYOUTS if command != "create" else LAYOUTS[:1]:
        for note in NOTES if "note" in header else NOTES[:1]:
            visit, later = evening(9, note=note), evening(50)
            visits = [evening(n) for n in range(3)]
            cellar = folder / "cellar"
            path = begin(cellar, header, visits)
            if command == "create":
                path, visits = cellar / "shelf" / "fig.csv", []
            file = path.relative_to(cellar)
            disk = Disk(cellar)
            with disk.watched() as states:
                _act(command, path, visit)
            with patch("os.fsync"):  # nothing is cut off while we look
                for state in disk.states():  # one, if all is on the disk
                    _look(count, folder / "after", state, file, visits, visit, None, command)
                for state in some(states, step):
                    _look(count, folder / "after", state, file, visits, visit, later, command)
    return count


def some(states: set[State], step: int) -> list[State]:
    """Each step-th of them, the longest, which holds all, among them."""
    return sorted(states, key=lambda state: (-sum(len(d) for _, d in state), sorted(state)))[::step]


def _act(command: str, path: Path, visit: Visit) -> None:
    if command == "create":
        create(path, visit)
    elif command == "strike":
        strike(path, 3, at=START)
    elif command == "import":
        extend(path, [visit, evening(10)], held=read(path).visits)
    else:
        append(path, visit)


def _look(
    count: Count,
    after: Path,
    state: State,
    file: Path,
    visits: list[Visit],
    visit: Visit,
    later: Visit | None,
    command: str,
) -> None:
    """Read what a power cut left; enter the next evening; correct what is named; read again.

    Without a `later`, the entry was acknowledged before the power went.
    """
    restore(state, after)
    path = after / file
    told, was = later is None, path.read_bytes() if path.exists() else None
    rows = [visit, evening(10)] if command == "import" else [visit] * (command != "strike")
    if command == "strike":
        slip = read(path).visits[1]
        count.lost += told and not slip.struck
        visits = [visits[0], replace(visits[1], struck=slip.struck), *visits[2:]]
    count.check(path, [*visits, *(rows if told else [])], rows)
    if later is None or was is None:
        return
    append(path, later)
    data = path.read_bytes()
    last = [*csv.reader(io.StringIO(data.decode(errors="replace"), newline=""))][-1]
    count.misread += not data.startswith(was) or str(later.bubbles) not in last
    while True:  # as a maker would: delete the line that is named, until nothing is
        try:
            found = [bare(one) for one in read(path).visits]
            break
        except DiaryError as err:
            lines = path.read_bytes().splitlines(keepends=True)
            del lines[int(str(err).split(":")[1]) - 1]
            path.write_bytes(b"".join(lines))
    count.lost += sum(one not in found for one in (*visits, later))
    count.misread += sum(one not in (*visits, *rows, later) for one in found)
