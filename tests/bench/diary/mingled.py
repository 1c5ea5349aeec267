"""Acts over several diaries, and what phones send: all of it is there afterwards, or nothing.

A split, a join and a topping up change two or three diaries, and the settings of a new jar, in one
act. A phone sends the same form again until it is answered. Each deed is stopped dead before and
after every system call, cut off from power at every moment, refused every call that a disk or a
folder can refuse; afterwards the next evening's count is entered, as a maker would, and the shelf
has to hold, byte for byte, what it holds where nothing went wrong: with the deed or without it.
"""

from __future__ import annotations

import errno
import fcntl
import itertools
import os
import shutil
from contextlib import redirect_stderr, redirect_stdout, suppress
from dataclasses import replace
from io import StringIO
from typing import TYPE_CHECKING, Any, NamedTuple
from unittest.mock import patch

from bubblerate.diary.events import Event
from bubblerate.diary.reading import read
from bubblerate.diary.writing import append, create, extend
from bubblerate.errors import DiaryError

from bench.diary.cutshort import some
from bench.diary.powercut import Disk, restore
from bench.diary.stops import Doer, held_at, kill, typing
from bench.diary.tallies import HELD, TYPED, Count, bare, evening
from phones import ORIGIN, Phone, pages_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

    from bench.diary.stops import Said

LATER = evening(50)
ANSWERED = "200 "
PAGE = 4096
FILES = ("*.csv", "bubblerate.toml")


class Deed(NamedTuple):
    """What is done on a shelf, and what is shown once it is done."""

    done: str
    act: Callable[[Path], Callable[[], object]]


def _typed(*words: str) -> Callable[[Path], Callable[[], object]]:
    return lambda shelf: typing(
        [*words, "--shelf", str(shelf), "--when", TYPED.when.isoformat(timespec="minutes")]
    )


DEEDS: dict[str, Deed] = {
    "split": Deed("quince: split, ", _typed("split", "quince", "--into", "pear", "--litres", "2")),
    "join": Deed("pear: joined, ", _typed("join", "quince", "spare", "--into", "pear")),
    "join-into": Deed("quince: joined, ", _typed("join", "quince", "spare", "--into", "quince")),
    "top-up": Deed(
        "quince: fed, ", _typed("top-up", "quince", "--from", "spare", "--litres", "0.3")
    ),
    "tally-post": Deed(ANSWERED, lambda shelf: sending(shelf, "tally")),
    "rows-post": Deed(ANSWERED, lambda shelf: sending(shelf, "rows")),
}


TABLE = [
    {"when": evening(n).when.isoformat(), "bubbles": 1000 + n, "seconds": 60} for n in range(10, 14)
]


def sending(shelf: Path, what: str, *, now: datetime = TYPED.when) -> Callable[[], str]:
    """A phone that was let in and sends a count, or a sensor its rows: ever the same entry."""
    phone = Phone(pages_of(shelf, lambda: max(now, LATER.when) if what == "rows" else now))
    fields = {"key": "0123456789abcdef", "count": f"{TYPED.bubbles} in 60s"}
    more = {"json": TABLE} if what == "rows" else {"fields": fields}
    headers = {"Origin": ORIGIN, "Accept": "application/json"}

    def send() -> str:
        answer = phone.post(f"/jar/quince/{what}", headers=headers, **more)
        text = f"{answer.status_code} {answer.text}"
        print(text)
        return text

    return send


def begun(shelf: Path) -> Path:
    """A shelf of two jars, of which one is known in the settings."""
    shutil.rmtree(shelf, ignore_errors=True)
    shelf.mkdir(parents=True)
    for name, litres in (("quince", 4.5), ("spare", 1.0)):
        first = replace(evening(0), event=Event.PITCHED, bubbles=None, litres=litres, sg=1.08)
        create(shelf / f"{name}.csv", first)
        extend(shelf / f"{name}.csv", HELD[1:], held=read(shelf / f"{name}.csv").visits)
    (shelf / "bubblerate.toml").write_bytes(b'[vessel.quince]\nstyle = "plum wine"\n')
    return shelf


def held(shelf: Path) -> dict[str, bytes]:
    """The diaries and settings of a shelf."""
    return {path.name: path.read_bytes() for one in FILES for path in shelf.glob(one)}


class Ends(NamedTuple):
    """What a shelf may hold after the next evening: without the deed, and with it."""

    without: dict[str, bytes]
    done: dict[str, bytes]


def ends_of(deed: Deed, folder: Path) -> Ends:
    """The two ends that there may be."""
    found = []
    for acts in (False, True):
        shelf = begun(folder / "cellar")
        if acts:
            _quietly(deed.act(shelf), deed.done)  # here, so that no child has to load what it needs
        append(shelf / "quince.csv", LATER)
        found.append(held(shelf))
    assert found[0] != found[1]
    return Ends(*found)


def look(count: Count, shelf: Path, ends: Ends, *, told: bool, at_all: bool = True) -> None:
    """Enter the next evening; the shelf then holds all of the deed, or nothing of it."""
    with redirect_stderr(StringIO()) as said:
        append(shelf / "quince.csv", LATER)
    count.hear(said.getvalue())
    now = held(shelf)
    count.trials += 1
    count.acknowledged += told
    count.lost += told and now == ends.without
    count.misread += now not in ends or (now == ends.done and not at_all)


def kill_deed(folder: Path, step: int, name: str) -> Count:
    """A deed killed before and after each of its system calls; a phone then sends it again."""
    count = Count(scene=f"kill -9 at every call of {name}")
    deed = DEEDS[name]
    ends = ends_of(deed, folder)
    for stop in itertools.count(1, step):
        shelf = begun(folder / "cellar")
        done = held_at(stop, deed.act(shelf), folder / "log", kill)
        if done is None:
            break
        told = deed.done in done.out
        if name.endswith("post"):  # the phone got no answer, or one that it lost
            _quietly(deed.act(shelf), ANSWERED)
            told = True
        look(count, shelf, ends, told=told)
    return count


def power_deed(folder: Path, step: int, name: str) -> Count:
    """Every state in which the disk may be left, before and after the deed is acknowledged."""
    count = Count(scene=f"power cut in {name}")
    deed, after = DEEDS[name], folder / "after"
    ends = ends_of(deed, folder)
    shelf = begun(folder / "cellar")
    act = deed.act(shelf)
    disk = Disk(shelf)
    with disk.watched() as states:
        _quietly(act, deed.done)
    with patch("os.fsync"):  # nothing is cut off while we look
        for told, left in ((True, [*disk.states()]), (False, some(states, step))):
            for state in left:
                restore(state, after)
                if name.endswith("post"):
                    _sent_again(count, after, deed, ends)
                else:
                    look(count, after, ends, told=told)
    return count


def _quietly(act: Callable[[], object], done: str) -> None:
    """Do it here, to its end."""
    with (
        redirect_stdout(StringIO()) as out,
        redirect_stderr(StringIO()) as err,
        suppress(SystemExit),
    ):
        act()
    if done not in out.getvalue():
        raise RuntimeError(out.getvalue() + err.getvalue())


def _sent_again(count: Count, shelf: Path, deed: Deed, ends: Ends) -> None:
    """The phone was not answered: it sends again, once the line that was cut short is mended."""
    path = shelf / "quince.csv"
    while True:
        try:
            read(path)
            break
        except DiaryError as err:
            lines = path.read_bytes().splitlines(keepends=True)
            del lines[int(str(err).split(":")[1]) - 1]
            path.write_bytes(b"".join(lines))
    for _ in range(2):  # the answer may be lost again
        _quietly(deed.act(shelf), ANSWERED)
    append(path, LATER)
    count.trials += 1
    count.acknowledged += 1
    rows = [bare(visit) for visit in read(path).visits]
    (shelf / "whole.csv").write_bytes(ends.done["quince.csv"])
    count.misread += rows != [bare(visit) for visit in read(shelf / "whole.csv").visits]


CALLS = ("open", "write", "fsync", "replace", "unlink", "chmod", "mkdir")


class Refused:
    """Refuses, in this process, the nth call of a kind that a disk may refuse.

    Or each from then on. A write that is refused may have written half of it; a full disk still
    lets go of files.
    """

    def __init__(self, number: int, reason: int, *, after: bool) -> None:
        self.number, self.reason, self.after, self.seen = number, reason, after, 0

    def over(self, act: Callable[[], object]) -> Callable[[], object]:
        def refused() -> None:
            for name in CALLS:
                setattr(os, name, self._call(name, getattr(os, name)))
            try:
                act()
            finally:
                if self.seen < self.number:
                    print("all calls went well")

        return refused

    def _call(self, name: str, real: Callable[..., object]) -> Callable[..., object]:
        def call(*args: Any, **options: Any) -> object:
            self.seen += 1
            later = self.after and self.seen > self.number and name in ("write", "fsync")
            if self.seen != self.number and not later:
                return real(*args, **options)
            if name == "write" and len(args[1]) > 1:
                real(args[0], args[1][: len(args[1]) // 2])
            raise OSError(self.reason, os.strerror(self.reason))

        return call


def refused_deed(folder: Path, step: int, name: str) -> Count:
    """A deed of which each call is refused in turn, once or from then on: said, and all or none."""
    count = Count(scene=f"a call refused (no room, disk fault) in {name}")
    deed = DEEDS[name]
    ends = ends_of(deed, folder)
    for reason, after in itertools.product((errno.ENOSPC, errno.EIO), (False, True)):
        for number in itertools.count(1, step):
            shelf = begun(folder / "cellar")
            calls = Refused(number, reason, after=after)
            done = Doer(calls.over(deed.act(shelf)), folder / "log").said()
            _refused(count, shelf, ends, deed, done)
            if "all calls went well" in done.out:
                break
    return count


def _refused(count: Count, shelf: Path, ends: Ends, deed: Deed, said: Said) -> None:
    """What was said of a deed has to be true, and a phone that was refused may send it again."""
    told, text = deed.done in said.out, said.out + said.err
    part = any(words in text for words in ("only partly written", "is written, but", "halfway"))
    count.misread += "Traceback" in text or "rror(" in said.err
    if '{"error"' in said.out:
        _quietly(deed.act(shelf), ANSWERED)
        told = True
    look(count, shelf, ends, told=told, at_all=told or part)


def small_disk_deeds(folder: Path) -> Count:
    """A disk with room for no page, one, two and three more, and each deed on it."""
    count = Count(scene="full disk: each act with room for 0 to 3 pages")
    for deed, room in itertools.product(DEEDS.values(), range(4)):
        ends = ends_of(deed, folder)
        shelf, filler = begun(folder / "cellar"), folder / "filler"
        act = deed.act(shelf)  # the phone was let in while there was room
        with suppress(OSError), filler.open("wb", buffering=0) as file:
            while True:
                file.write(bytes(PAGE))
        os.truncate(filler, max(0, filler.stat().st_size - room * PAGE))
        said = Doer(act, folder.parent / "log").said()
        filler.unlink()
        _refused(count, shelf, ends, deed, said)
    return count


def no_lock_deed(folder: Path, step: int, name: str) -> Count:
    """A folder of another machine, whose lock fails in one of the ways that flock(2) names."""
    count = Count(scene=f"no lock to be had in {name}")
    deed = DEEDS[name]
    ends = ends_of(deed, folder)
    for number in (errno.ENOLCK, errno.EOPNOTSUPP, errno.EIO, errno.EBADF):

        def broken(reason: int = number) -> None:
            def flock(*_: object) -> None:
                raise OSError(reason, os.strerror(reason))

            fcntl.flock = flock  # of the child alone

        shelf = begun(folder / "cellar")
        done = Doer(deed.act(shelf), folder / "log", broken).said()
        count.hear(done.err)
        look(count, shelf, ends, told=False, at_all=False)
    return count


def clock_back_deed(folder: Path, _step: int) -> Count:
    """The clock is set back by three days between two toppings up, and between two counts sent."""
    count = Count(scene="clock set back between two acts, two counts sent")
    shelf = begun(folder / "cellar")
    for n, moment in enumerate((evening(9).when, evening(6).when), start=1):
        words = ["top-up", "quince", "--from", "spare", "--litres", "0.3", "--note", f"act {n}"]
        at = ["--when", moment.isoformat(timespec="minutes"), "--shelf", str(shelf)]
        done = Doer(typing([*words, *at]), folder / "log").said()
        count.hear(done.err)
        count.acknowledged += done.code == 0
        fields = {"key": f"{n:016}", "count": f"{n} in 60s", "note": f"count {n}"}
        phone = Phone(pages_of(shelf, lambda moment=moment: moment))
        for _ in range(2):
            answer = phone.post("/jar/quince/tally", fields)
            count.acknowledged += answer.status_code == 303
    rows = read(shelf / "quince.csv").visits
    spare = read(shelf / "spare.csv").visits
    count.trials += 4
    for n in (1, 2):
        count.lost += sum(row.note == f"act {n}" for row in rows) != 1
        count.lost += sum(row.note == f"count {n}" for row in rows) != 1
    count.lost += sum(row.other == "quince" for row in spare) != 2
    count.misread += [row.when for row in rows] != sorted(row.when for row in rows)
    return count
