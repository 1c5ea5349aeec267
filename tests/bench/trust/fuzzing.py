"""Bad input by the million for all that reads what people type or keep, guided by coverage.

Each target is fed what grows out of a few good inputs by random changes. One input in some is run
under a line tracer, and kept to grow further ones from if it reaches a step from line to line that
none before it reached; every input is kept that is refused at a new place. A find is anything but
an answer or a refusal in one short printable line, a warning too; anything slower than a second;
and all that needs more than 3 GB. Fixed seed: the same run on the same machine tries the same
inputs, up to those that a clock cuts off.

Run: python tests/bench/trust/fuzzing.py [diary typed wav import table config workbook parquet coded
     forms rows] [--inputs 1000000] [--minutes 12] [--processes 2]
"""

from __future__ import annotations

import argparse
import random
import signal
import sys
import tempfile
import time
import warnings
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from itertools import repeat
from pathlib import Path
from typing import TYPE_CHECKING, Any

import bubblerate
from bubblerate.errors import BubbleRateError

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # what benches and tests share

if TYPE_CHECKING:
    from collections.abc import Callable
    from types import CodeType, FrameType

PACKAGE = str(Path(bubblerate.__file__).parent)
SLOW_S, HANG_S = 1.0, 20.0  # of CPU time: others may be at work on the machine
MOST_BYTES = 3 * 1024**3
LONGEST_LINE = 600  # of a refusal
TRACED = 16  # one input in so many
LONGEST, RARELY_LONGER, LONG = 1_500, 3_000, 60_000  # bytes; one input in; bytes
# what breaks readers of text, of numbers and of tables
WORDS = (
    *(b"\0", b"\r", b"\n", b"\r\n", b'"', b'""', b",", b";", b"\t", b" ", b"'", b"\xef\xbb\xbf"),
    *(
        b"\xff",
        b"\xc3",
        "\u202e\u2028\u2212\u00ba\u00b2\u0663\uff1d\uff0f\ufffe\U0010ffff".encode(),
    ),
    *(b"-0", b"1e999", b"nan", b"inf", b"-inf", b"99999999999999999999", b"0x1f", b"1_000", b"1,5"),
    *(b"0000-00-00", b"9999-12-31T23:59", b"0001-01-01", b"2026-02-30", b"2024-02-29", b"24:00"),
    *(b"2026-03-29T02:30", b"+23:59", b"-14:00", b"Z", b"=1+1", b"@x", b"\x1b[31m", b"{}", b"[["),
    *(b"]]", b"\xed\xa0\x80", b"\xf4\x90\x80\x80", b"%s", b"\\", b"#", b"\x7f", b"\x85", b"oil"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """Readers, of which each input is given to one, good inputs to begin with, and words."""

    readers: tuple[Callable[[bytes], object], ...]
    seeds: tuple[bytes, ...]
    words: tuple[bytes, ...] = ()
    longest: int = LONGEST


@dataclass(slots=True, kw_only=True)
class Found:
    """What a run came to."""

    name: str
    inputs: int = 0
    answered: int = 0
    seconds: float = 0.0
    steps: int = 0  # from line to line
    places: int = 0  # of refusal
    kept: int = 0
    slowest_s: float = 0.0
    peak_mb: float = 0.0
    finds: dict[tuple[Any, ...], tuple[str, bytes]] = field(default_factory=dict)

    def note(self, kind: str, where: object, what: str, data: bytes) -> None:
        """Keep the shortest input of each kind and place."""
        before = self.finds.get((kind, str(where)))
        if before is None or len(data) < len(before[1]):
            self.finds[kind, str(where)] = what, data


class HangError(Exception):
    """An input took far too long."""


def fuzz(name: str, target: Target, *, inputs: int, minutes: float, seed: int = 1) -> Found:
    """Feed one target.

    Parameters
    ----------
    name : str
    target : Target
    inputs : int
        How many at most.
    minutes : float
        How long at most, by the clock on the wall.
    seed : int
        Of the random changes.

    Returns
    -------
    Found
    """
    rng, found = random.Random(f"{name} {seed}"), Found(name=name)
    kept, places = [*target.seeds], set[Any]()
    tracer = _Tracer()
    signal.signal(signal.SIGPROF, _hung)
    started = time.monotonic()
    for number in range(inputs):
        now = time.monotonic()
        if now - started > 60.0 * minutes:
            break
        # the seeds themselves first, then what grows out of them and mostly of the latest kept
        data = kept[number] if number < len(target.seeds) else _grown(rng, kept, target)
        traced = number < len(target.seeds) or number % TRACED == 0
        was = len(places), len(tracer.steps)
        # what is traced goes to all of them, else only what one of them likes would be kept
        for reader in target.readers if traced else [rng.choice(target.readers)]:
            began = time.process_time()
            place = _place(reader, data, found, tracer if traced else None)
            took = time.process_time() - began
            found.slowest_s = max(found.slowest_s, took)
            if took > SLOW_S:
                found.note("slow", target.readers.index(reader), f"took {took:.1f} s", data)
            if place is None:
                found.answered += 1
            else:
                places.add((reader, place))
        if (len(places), len(tracer.steps)) != was and len(data) <= target.longest:
            kept.append(data)
        found.inputs += 1
    found.seconds = time.monotonic() - started
    found.steps, found.places, found.kept = len(tracer.steps), len(places), len(kept)
    return found


def _hung(*_: object) -> None:
    raise HangError(f"more than {HANG_S} s")


def _place(
    reader: Callable[[bytes], object], data: bytes, found: Found, tracer: _Tracer | None
) -> tuple[Any, ...] | None:
    """Where an input was refused, None if it was not; whatever else happens is a find."""
    try:
        signal.setitimer(signal.ITIMER_PROF, HANG_S)
        if tracer is not None:
            sys.settrace(tracer.call)
        try:
            reader(data)
        finally:
            sys.settrace(None)
            signal.setitimer(signal.ITIMER_PROF, 0)
    except BubbleRateError as err:
        line = str(err)
        if not line.isprintable() or len(line) > LONGEST_LINE:
            found.note("refusal", _lines(err)[-1:], f"{len(line)} characters: {line!r:.160}", data)
        return (type(err), *_lines(err))
    except Exception as err:
        where = _lines(err)[-1:]
        found.note(type(err).__name__, where, str(err)[:120], data)
        return (type(err), *where)
    return None


def _lines(err: BaseException) -> list[tuple[str, int]]:
    """Lines of the package that an error came through."""
    lines, step = [], err.__traceback__
    while step is not None:
        code = step.tb_frame.f_code
        if code.co_filename.startswith(PACKAGE):
            lines.append((code.co_filename[len(PACKAGE) + 1 :], step.tb_lineno))
        step = step.tb_next
    return lines


class _Tracer:
    """Steps from line to line that were seen within functions of the package."""

    def __init__(self) -> None:
        self.steps: set[tuple[CodeType, int, int]] = set()

    def call(self, frame: FrameType, _event: str, _arg: object) -> Any:
        code, steps = frame.f_code, self.steps
        if not code.co_filename.startswith(PACKAGE):
            return None
        last = 0

        def line(frame: FrameType, event: str, _arg: object) -> Any:
            nonlocal last
            if event == "line":
                steps.add((code, last, frame.f_lineno))
                last = frame.f_lineno
            return line

        return line


def _grown(rng: random.Random, kept: list[bytes], target: Target) -> bytes:
    """One of the inputs kept, changed in a few ways."""
    words = target.words
    data = bytearray(kept[-1 - int(rng.expovariate(0.05)) % len(kept)])
    if rng.random() < 0.3:
        data = bytearray(rng.choice(kept))
    for _ in range(1 + int(rng.expovariate(1.2))):
        at, end = sorted((rng.randint(0, len(data)), rng.randint(0, len(data))))
        end = min(end, at + 1 + int(rng.expovariate(0.1)))
        match rng.randrange(10):
            case 0 if data:
                data[min(at, len(data) - 1)] = rng.randrange(256)
            case 1:
                data[at:at] = bytes([rng.randrange(256)])
            case 2:
                del data[at:end]
            case 3:
                data[at:end] *= rng.randint(0, 4)
            case 4:
                data[at:end] = rng.choice(WORDS if not words or rng.random() < 0.4 else words)
            case 5:
                other = rng.choice(kept)
                start = rng.randint(0, len(other))
                data[at:end] = other[start : start + 1 + int(rng.expovariate(0.02))]
            case 6:
                data[at:end] = b"%d" % (rng.choice((-1, 1)) * int(10 ** rng.uniform(0.0, 12.0)))
            case 7:
                lines = data.splitlines(keepends=True)
                rng.shuffle(lines)
                data = bytearray(b"".join(lines))
            case _:  # another digit: this more often leaves an input that is still good
                digits = [i for i, byte in enumerate(data) if 48 <= byte < 58]
                if digits:
                    data[rng.choice(digits)] = rng.randrange(48, 58)
    if rng.randrange(RARELY_LONGER) == 0:  # what takes the square of its length shows then
        at = rng.randint(0, len(data))
        data[at:at] = (data[at : at + rng.randint(1, 6)] or b" ") * (LONG // rng.randint(1, 6))
        return bytes(data[:LONG])
    return bytes(data[: target.longest])


def _run(name: str, inputs: int, minutes: float) -> Found:
    """Feed one target in a process of its own."""
    import resource

    from bench.trust import fuzz_files, fuzz_targets

    with tempfile.TemporaryDirectory(dir=_in_memory()) as folder:
        of = fuzz_files if name in fuzz_files.NAMES else fuzz_targets
        target = of.targets(Path(folder))[name]
        warnings.simplefilter("error")
        resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
        found = fuzz(name, target, inputs=inputs, minutes=minutes)
    found.peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    return found


def _in_memory() -> str | None:
    """A folder that is no disk, where there is one."""
    return "/dev/shm" if Path("/dev/shm").is_dir() else None


def main() -> None:
    """Feed the targets and print what came of it; 1 where anything was found."""
    from bench.trust import fuzz_files, fuzz_targets

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("targets", nargs="*", default=[*fuzz_targets.NAMES, *fuzz_files.NAMES])
    parser.add_argument("--inputs", type=int, default=1_000_000)
    parser.add_argument("--minutes", type=float, default=12.0)
    parser.add_argument("--processes", type=int, default=2)
    asked = parser.parse_args()
    print("target     inputs  a second  answered  steps  places  kept  slowest s  peak MB  finds")
    finds = 0
    with ProcessPoolExecutor(asked.processes, max_tasks_per_child=1) as pool:
        every = pool.map(_run, asked.targets, repeat(asked.inputs), repeat(asked.minutes))
        for found in every:
            print(
                f"{found.name:<7} {found.inputs:9d} {found.inputs / found.seconds:9.0f} "
                f"{found.answered:9d} {found.steps:6d} {found.places:7d} {found.kept:5d} "
                f"{found.slowest_s:10.3f} {found.peak_mb:8.0f} {len(found.finds):6d}",
                flush=True,
            )
            for (kind, where), (what, data) in found.finds.items():
                print(f"    {kind} at {where}: {what}\n      {len(data)} bytes: {data[:160]!r}")
            finds += len(found.finds)
    sys.exit(finds > 0)


if __name__ == "__main__":
    main()
