"""Many phones and terminals write in one shelf at once: is anything that was acknowledged lost?

Phones send entries over http to the page, each now and then twice, as a phone does that got no
answer; terminals write by the same `Shelf` in processes of their own. At the end every row that was
acknowledged must stand in its diary once, and no row may stand there twice.

    python tests/bench/page/writers.py [SECONDS]     # a minute unless said
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
from bubblerate.diary.reading import read
from bubblerate.diary.shelf import shelf_at
from bubblerate.diary.visit import Visit

PHONES, TERMINALS, JARS = 18, 2, ("fig", "plum", "quince")
AGAIN = 0.2  # of the entries are sent twice
HEADER = "when,bubbles,seconds,temp_c,pressure_hpa,sg,sample_c,event,litres,note,struck\n"


@dataclass
class Outcome:
    """What came of it: notes of the rows by jar, each acknowledged, sent, and found."""

    acknowledged: Counter = field(default_factory=Counter)
    found: Counter = field(default_factory=Counter)
    slowest_s: float = 0.0
    refused: int = 0

    @property
    def lost(self) -> int:
        return sum((self.acknowledged - self.found).values())

    @property
    def doubled(self) -> int:
        return sum(n > 1 for n in self.found.values())


def phone(port: int, key: str, number: int, until: float, outcome: Outcome) -> None:
    """Send one entry after another until the time is over."""
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
    n = 0
    while time.monotonic() < until:
        n += 1
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


def terminal(folder: Path, number: int, until: float, told: multiprocessing.Queue) -> None:
    """Write one row after another in a process of its own, and tell of each that is down."""
    n, down = 0, []
    while time.monotonic() < until:
        n += 1
        jar, note = JARS[n % len(JARS)], f"terminal {number} entry {n}"
        now = machine_clock()
        shelf_at(folder).write(jar, Visit(when=now, bubbles=n % 60, note=note), now=now)
        down.append((jar, note))
        time.sleep(0.02)
    told.put(down)


def crowd(folder: Path, seconds: float) -> Outcome:
    """Let all of them write for so long, and look at what stands in the diaries."""
    from bubblerate.page.serving import served  # the terminals do without

    from phones import closed

    for jar in JARS:
        (folder / f"{jar}.csv").write_text(f"{HEADER}2026-11-01T21:00:00+00:00,,,,,,,pitched,,,\n")
    door, server = served(folder, key="k" * 22, address="127.0.0.1", port=0, clock=machine_clock)
    running = threading.Thread(target=server.run, daemon=True)
    running.start()
    outcome, until = Outcome(), time.monotonic() + seconds
    spawn = multiprocessing.get_context("spawn")
    told = spawn.Queue()
    others = [
        spawn.Process(target=terminal, args=(folder, i, until, told)) for i in range(TERMINALS)
    ]
    phones = [
        threading.Thread(target=phone, args=(door.port, door.key, i, until, outcome))
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
    for jar in JARS:
        outcome.found.update((jar, v.note) for v in read(folder / f"{jar}.csv").visits if v.note)
    return outcome


def main(seconds: float) -> None:
    with tempfile.TemporaryDirectory() as folder:
        found = crowd(Path(folder), seconds)
    print(f"{PHONES} phones and {TERMINALS} terminals, {seconds:.0f} s, {len(JARS)} jars")
    print(f"acknowledged {sum(found.acknowledged.values())}, refused {found.refused}")
    print(f"lost {found.lost}, written twice {found.doubled}")
    print(f"slowest answer {found.slowest_s:.2f} s")


if __name__ == "__main__":
    main(float(sys.argv[1]) if sys.argv[1:] else 60.0)
