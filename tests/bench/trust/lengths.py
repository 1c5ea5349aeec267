"""Measures how the time of every reader grows with the length of its input.

Each reader of the fuzzer is fed one piece over and over, at two lengths; a long table and a sound
file with many empty parts come after. CPU time of the longer, and how many times the shorter that
is: 2 where it grows with the length, 4 where it grows with the square. Prints the slowest piece of
each reader, and ends with 1 if any took over a tenth of a second at a ratio over 3.

Run: python tests/bench/trust/lengths.py
"""

from __future__ import annotations

import contextlib
import struct
import sys
import tempfile
import time
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from bubblerate.diary.csv_rows import guarded, unguarded
from bubblerate.errors import BubbleRateError

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # what benches and tests share

from bench.trust.fuzz_targets import NAMES, targets

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

LENGTHS = (30_000, 60_000)  # bytes
PIECES = (
    *(
        b"o",
        b"1",
        b"1,",
        b".",
        b" ",
        b"1 ",
        b"a ",
        b"-",
        b"1:",
        b"'",
        b"every ",
        b"\t",
        b"';",
        b"=;",
    ),
    *(b'"', b"\n", b",\n", b"1,2\n", b"[", b"a.", b"JUNK\0\0\0\0", b"12 in ", b"2026-10-01 "),
)
SLOW_S, STEEP = 0.1, 3.0


def seconds(work: Callable[[bytes], object], data: bytes) -> float:
    """CPU time of one call, refused or not: the least of three [s]."""
    took = []
    for _ in range(3):
        began = time.process_time()
        with contextlib.suppress(BubbleRateError):
            work(data)
        took.append(time.process_time() - began)
    return min(took)


def table(size: int) -> bytes:
    """About so many bytes of a table that is read to its end."""
    begin = datetime(2020, 1, 1)
    rows = (
        f"{begin + timedelta(hours=n):%d/%m/%Y,%H:%M},{n % 90},1{n % 90:03},ok"
        for n in range(size // 30)
    )
    return "\n".join(["Date,Time,Bubbles,SG,Note", *rows]).encode()


def sound(size: int) -> bytes:
    """About so many bytes of a sound file of empty parts."""
    parts = b"WAVE" + b"junk\0\0\0\0" * (size // 8)
    return b"RIFF" + struct.pack("<I", len(parts)) + parts


def tried(folder: Path) -> Iterator[tuple[str, str, Callable[[bytes], object], tuple[bytes, ...]]]:
    """Reader, what is repeated, the work, and what it is fed: shorter, then longer."""
    every = targets(folder)
    for name in NAMES:
        for number, read in enumerate(every[name].readers):
            for piece in PIECES:
                for head in (b"", b"12 "):
                    fed = (head + piece * (size // len(piece)) + b"x" for size in LENGTHS)
                    yield f"{name} {number}", repr(head + piece), read, tuple(fed)
    for piece in (b"\t", b"';", b"=;", b"' "):
        fed = (piece * (size // len(piece)) for size in LENGTHS)
        yield "note", repr(piece), lambda data: unguarded(guarded(data.decode())), tuple(fed)
    many = [5 * size for size in LENGTHS]
    yield "import", "good rows", every["import"].readers[0], tuple(map(table, many))
    yield "wav", "empty parts", every["wav"].readers[0], tuple(map(sound, many))


def main() -> None:
    """Time them all and print the slowest of each reader."""
    worst: dict[str, tuple[float, float, str]] = {}
    steep = 0
    with tempfile.TemporaryDirectory() as folder:
        for name, piece, work, (shorter, longer) in tried(Path(folder)):
            took = seconds(work, longer)
            ratio = took / max(seconds(work, shorter), 1e-6)
            steep += took > SLOW_S and ratio > STEEP
            worst[name] = max(worst.get(name, (0.0, 0.0, "")), (took, ratio, piece))
    print(f"{'reader':<12}{'CPU s':>8}{'x of half':>11}  slowest piece")
    for name, (took, ratio, piece) in worst.items():
        print(f"{name:<12}{took:>8.3f}{ratio:>11.1f}  {piece}")
    print(f"{steep} too steep")
    sys.exit(steep > 0)


if __name__ == "__main__":
    main()
