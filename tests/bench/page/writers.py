"""Lets many phones and terminals write in one shelf at once: is anything acknowledged lost?

Phones send entries to the page over http, sometimes twice, as a phone does that got no answer.
Terminals write with the same `Shelf` in their own processes, and every fifth time top a jar up,
which is one act in two diaries. At the end every acknowledged row must be in its diary exactly
once, and every topping up in both diaries.

    python tests/bench/page/writers.py [ENTRIES]     # of each, 100 unless said
"""

from __future__ import annotations

import http.client
import multiprocessing
import random
import sys
import tempfile
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlencode

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from bubblerate.cli.common import machine_clock
from bubblerate.diary.mingling import top_up
from bubblerate.diary.reading import read
from bubblerate.diary.shelf import shelf_at
from bubblerate.diary.visit import Visit

PHONES, TERMINALS, JARS, SPARE = 10, 10, ("fig", "plum", "quince"), "spare"
ACT = 5  # one entry of a terminal in so many is an act over two jars
AGAIN = 0.2  # of the entries are sent twice
HEADER = "when,bubbles,seconds,temp_c,pressure_hpa,sg,sample_c,event,litres,note,struck\n"


@dataclass
class Outcome:
    """What came of it: notes of the rows by jar, each acknowledged, sent, and found."""

    acknowledged: Counter = field(default_factory=Counter)
    found: Counter = field(default_factory=Counter)
    halves: int = 0  # acts that stand in one of two diaries
    slowest_s: float = 0.0
    refused: int = 0

    @property
    def lost(self) -> int:
        return sum((self.acknowledged - self.found).values())

    @property
    def doubled(self) -> int:
        return sum(n > 1 for n in self.found.values())


def phone(port: int, key: str, number: int, entries: int, outcome: Outcome) -> None:
    """Send one entry after another."""
    chance = random.Random(number)
    link = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    link.request("GET", f"/k/{key}")
    answer = link.getresponse()
    cookie = answer.getheader("Set-Cookie").partition(";")[0]
    answer.read()
    headers = {
        "Cookie": cookie,
        "Origin": f"http://127.0.0.1:{port}",
        "Content-Type": "application/x-www-form-urlencoded",
        "Accept": "application/json",
    }
    for n in range(1, entries + 1):
        jar, note = chance.choice(JARS), f"phone {number} entry {n}"
        fields = {"key": f"{number:08}{n:08}", "count": f"{n % 60} in 60s", "note": note}
        for _ in range(1 + (chance.random() < AGAIN)):
            began = time.monotonic()
            link.request("POST", f"/jar/{jar}/tally", urlencode(fields), headers)
            answer = link.getresponse()
            answer.read()
            outcome.slowest_s = max(outcome.slowest_s, time.monotonic() - began)
            outcome.refused += answer.status != 200
        if answer.status == 200:
            outcome.acknowledged[jar, note] += 1
    link.close()


def terminal(folder: Path, number: int, entries: int, told: multiprocessing.Queue) -> None:
    """Write one row after another in a process of its own, and tell of each that is down."""
    down: list[tuple[str, str]] = []
    try:
        down.extend(_typed(folder, number, n) for n in range(1, entries + 1))
    finally:
        told.put(down)


def _typed(folder: Path, number: int, n: int) -> tuple[str, str]:
    jar, note = JARS[n % len(JARS)], f"terminal {number} entry {n}"
    now, shelf = machine_clock(), shelf_at(folder)
    if n % ACT:
        shelf.write(jar, Visit(when=now, bubbles=n % 60, note=note), now=now)
    else:
        top_up(shelf, jar, spare=SPARE, litres=0.001, working=False, at=now, note=note)
    return jar, note


def crowd(folder: Path, entries: int, terminals: int = TERMINALS) -> Outcome:
    """Let each of them write so many, and look at what stands in the diaries."""
    from bubblerate.page.serving import served  # the terminals do without

    from phones import closed

    for jar, litres in (*((jar, "") for jar in JARS), (SPARE, 1000)):
        first = f"2026-11-01T21:00:00+00:00,,,,,,,pitched,{litres},,\n"
        (folder / f"{jar}.csv").write_text(HEADER + first)
    door, server = served(folder, key="k" * 22, address="127.0.0.1", port=0, clock=machine_clock)
    running = threading.Thread(target=server.run, daemon=True)
    running.start()
    outcome = Outcome()
    spawn = multiprocessing.get_context("spawn")
    told = spawn.Queue()
    others = [
        spawn.Process(target=terminal, args=(folder, i, entries, told)) for i in range(terminals)
    ]
    phones = [
        threading.Thread(target=phone, args=(door.port, door.key, i, entries, outcome))
        for i in range(PHONES)
    ]
    for other in others:
        other.start()
    for one in phones:
        one.start()
    for _ in others:
        outcome.acknowledged.update(told.get())
    for one in phones:
        one.join()
    for other in others:
        other.join()
    closed(server, running)
    poured = Counter(v.other for v in read(folder / f"{SPARE}.csv").visits if v.other)
    for jar in JARS:
        rows = read(folder / f"{jar}.csv").visits
        outcome.found.update((jar, v.note) for v in rows if v.note)
        outcome.halves += abs(poured[jar] - sum(v.other == SPARE for v in rows))
    return outcome


def main(entries: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        found = crowd(Path(folder), entries)
    print(f"{PHONES} phones and {TERMINALS} terminals, {entries} entries each, {len(JARS)} jars")
    print(f"acknowledged {sum(found.acknowledged.values())}, refused {found.refused}")
    print(f"lost {found.lost}, written twice {found.doubled}, in one of two {found.halves}")
    print(f"slowest answer {found.slowest_s:.2f} s")


if __name__ == "__main__":
    main(int(sys.argv[1]) if sys.argv[1:] else 100)
