"""Measures how long the server takes for a page, cold and warm, and whether memory stays flat.

CPU time of the process, so that a busy machine does not matter; the cold shelf is compared with the
command `shelf`. A POST is also given in wall clock time, since most of it waits for the disk.

    python tests/bench/page/speed.py [--requests 10000]
"""

from __future__ import annotations

import argparse
import os
import shutil
import sys
import tempfile
import time
from datetime import datetime
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from bubblerate.diary.shelf import shelf_at
from bubblerate.page.app import make_app
from bubblerate.page.door import Door
from bubblerate.page.pages import Pages
from bubblerate.shelf.overview import due_first, glance

if TYPE_CHECKING:
    from collections.abc import Callable

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
AT = datetime.fromisoformat("2026-11-14T22:00:00+00:00")
HOST = "127.0.0.1:8530"
WARM = ["/", "/jar/quince", "/jar/medlar", "/evening", "/jar/quince/picture.svg", "/calendar.ics"]


def cpu_s(act: Callable[..., object], *given: object) -> float:
    """CPU time that something takes [s]."""
    began = time.process_time()
    act(*given)
    return time.process_time() - began


def resident_mb() -> float:
    """Memory of this process [MB]; Linux tells it."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def main(requests: int) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for source in (*EXAMPLES.glob("*.csv"), *EXAMPLES.glob("*.toml")):
            shutil.copy(source, folder)
        shelf = shelf_at(folder)

        def judged() -> None:
            due_first(glance(one, at=AT, settings=shelf.settings) for one in shelf.diaries())

        judged()  # libraries are loaded, as they are for the page
        door = Door(key="k" * 22, names=("127.0.0.1",), port=8530)
        peer, cold = [], []
        for _ in range(3):  # in turns, so that whatever else runs falls on both
            peer.append(cpu_s(judged))
            client = make_app(Pages.of(folder, door=door, clock=lambda: AT)).test_client()
            client.get(f"/k/{door.key}", base_url=f"http://{HOST}")
            cold.append(cpu_s(_get, client, "/"))
        print(f"7 jars cold: {median(cold):.2f} s, as `shelf`: {median(peer):.2f} s")
        for path in WARM:
            _get(client, path)
            took = [cpu_s(_get, client, path) for _ in range(50)]
            print(f"warm {path}: median {1e3 * median(took):.1f} ms, longest {1e3 * max(took):.1f}")
        _posts(client)
        _memory(client, requests)


def _get(client, path: str) -> None:
    answer = client.get(path, base_url=f"http://{HOST}")
    assert answer.status_code == 200, answer.text


def _posts(client) -> None:
    """Entries, each with its row and its mark on the disk."""
    cpu, wall = [], []
    for n in range(100):
        fields = {"count": f"{n} in 5m", "key": f"{n:016}"}
        began = time.perf_counter()
        cpu.append(cpu_s(_post, client, fields))
        wall.append(time.perf_counter() - began)
    print(
        f"POST: median {1e3 * median(cpu):.1f} ms CPU, {1e3 * median(wall):.1f} ms wall, "
        f"longest {1e3 * max(wall):.1f} ms wall"
    )


def _post(client, fields: dict[str, str]) -> None:
    headers = {"Origin": f"http://{HOST}"}
    answer = client.post(
        "/jar/quince/tally", base_url=f"http://{HOST}", data=fields, headers=headers
    )
    assert answer.status_code == 303, answer.text


def _memory(client, requests: int) -> None:
    told = []
    for n in range(requests + 1):
        _get(client, WARM[n % 4])
        if n % (requests // 5) == 0:
            told.append(f"{resident_mb():.0f}")
    print(f"memory over {requests} requests [MB]: {' '.join(told)}")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--requests", type=int, default=10_000)
    main(parser.parse_args().requests)
