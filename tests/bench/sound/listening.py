"""How many bubbles are heard, and how many of those are bubbles, on made-up sound files.

One row a kind of room: recall (share of the bubbles heard), precision (share of what was heard that
is a bubble; onsets within 0.15 s are the same), the same over trusted sound files only, how often
the answer was trusted, and how far off a trusted count was at worst. Seeds from 2000 on took no
part when the thresholds were chosen; for kinds marked * no rule was made.
Last, what an hour of 48 kHz stereo costs in memory and time.

Run: python tests/bench/sound/listening.py [--seeds 8] [--first 2000] [--hour]
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from bubblerate.diary.sound.bubbles import listen

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # what benches and tests share

from bench.sound import sounds

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Room = Callable[[int], sounds.Take]

SECONDS, RATE_HZ = 90.0, 16_000
N = int(SECONDS * RATE_HZ)


def room(other: Callable[..., NDArray[np.float64]] | None = None, /, **options: object) -> Room:
    """A kind of sound file: options of `sounds.airlock`, and perhaps one other sound."""
    own = {"per_min", "snr_db", "noise", "rings", "apart_s"}
    kept = {key: value for key, value in options.items() if key in own}
    rest = {key: value for key, value in options.items() if key not in own}

    def take(seed: int) -> sounds.Take:
        rng = np.random.default_rng([seed, 1])
        others = [] if other is None else [other(rng, N, RATE_HZ, **rest)]
        return sounds.airlock(seed, seconds=SECONDS, rate_hz=RATE_HZ, others=others, **kept)  # type: ignore[arg-type]

    return take


# In a process of its own, so that making the sound is not counted.
LISTENER = """
import re, sys, tracemalloc
from pathlib import Path
from bubblerate.diary.sound.bubbles import listen
def most_kb():
    return re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1]
before = most_kb()
found = listen(sys.argv[1])
after = most_kb()
tracemalloc.start()
listen(sys.argv[1])
print(found.bubbles, tracemalloc.get_traced_memory()[1], before, after)
"""

ROOMS: dict[str, Room] = {
    "hardly any noise": room(snr_db=None),
    **{f"white noise, {snr} dB": room(snr_db=snr) for snr in (30, 20, 15, 10, 5, 0)},
    **{f"pink noise, {snr} dB": room(snr_db=snr, noise="pink") for snr in (20, 10, 5)},
    "slow, 2 a minute": room(per_min=2.0),
    "brisk, 40 a minute": room(per_min=40.0),
    "too fast, 100 a minute": room(per_min=100.0),
    "gurgles, 3 to 7 rings": room(per_min=10.0, rings=(3, 7), apart_s=(0.02, 0.07)),
    "gurgles, 6 to 13 rings": room(per_min=10.0, rings=(6, 13), apart_s=(0.02, 0.07)),
    "hum 50 Hz, as loud": room(sounds.hum, mains_hz=50.0, level=0.1),
    "hum 60 Hz, 3 times as loud": room(sounds.hum, mains_hz=60.0, level=0.3),
    "clock, every 1 s": room(sounds.clock, period_s=1.0, level=0.1),
    "clock, every 0.5 s, faint": room(sounds.clock, period_s=0.5, level=0.02),
    "clock, every 0.2 s": room(sounds.clock, period_s=0.2, level=0.05),
    "talk, a tenth of the time": room(sounds.speech, level=0.1, share=0.1),
    "talk, a third of the time": room(sounds.speech, level=0.1, share=0.33),
    "talk, faint, a third": room(sounds.speech, level=0.02, share=0.33),
    "crockery, 6 a minute": room(sounds.clinks, level=0.1),
    "*radio, faint": room(sounds.tune, level=0.01),
    "*radio, as loud": room(sounds.tune, level=0.1),
    "no bubbles, white noise": room(per_min=0.0),
    "no bubbles, clock every 1 s": room(sounds.clock, per_min=0.0, period_s=1.0, level=0.1),
    "no bubbles, clock, faint": room(sounds.clock, per_min=0.0, period_s=0.5, level=0.02),
    "no bubbles, talk, a third": room(sounds.speech, per_min=0.0, level=0.1, share=0.33),
    "no bubbles, talk, a tenth": room(sounds.speech, per_min=0.0, level=0.1, share=0.1),
    "no bubbles, crockery": room(sounds.clinks, per_min=0.0, level=0.1),
    "*no bubbles, bird": room(sounds.chirps, per_min=0.0, level=0.05),
    "*no bubbles, radio": room(sounds.tune, per_min=0.0, level=0.1),
}


def hits(heard: tuple[float, ...], true: tuple[float, ...], *, within_s: float = 0.15) -> int:
    """How many bubbles have an onset of their own near them."""
    left = list(heard)
    for at in true:
        near = [t for t in left if abs(t - at) <= within_s]
        if near:
            left.remove(min(near, key=lambda t: abs(t - at)))
    return len(heard) - len(left)


def share(part: int, whole: int) -> str:
    """A share to two digits, or a dash."""
    return f"{part / whole:.2f}" if whole else "-"


def row(name: str, take: Room, seeds: range, folder: Path) -> str:
    """One line of the table."""
    sums = np.zeros((2, 3), int)  # all, trusted: true, heard, hit
    trusted, worst = 0, 0
    for seed in seeds:
        made = take(seed)
        found = listen(sounds.saved(folder / "take.wav", made))
        here = [len(made.onsets_s), found.bubbles, hits(found.onsets_s, made.onsets_s)]
        sums[0] += here
        if found.trusted:
            sums[1] += here
            trusted += 1
            worst = max(worst, abs(here[1] - here[0]), key=abs)
    (true, heard, hit), (true_t, heard_t, hit_t) = sums.tolist()
    cells = (share(hit, true), share(hit, heard), share(hit_t, true_t), share(hit_t, heard_t))
    return (
        f"{name:<30}{true:>6}{heard:>7}"
        + "".join(f"{cell:>9}" for cell in cells)
        + f"{trusted:>6}/{len(seeds)}{worst:>7}"
    )


def hour(folder: Path) -> str:
    """Cost of an hour of 48 kHz stereo, written a minute at a time."""
    minute = sounds.airlock(7, seconds=60.0, rate_hz=48_000)
    stereo = np.column_stack([minute.wave, 0.8 * minute.wave])
    whole = sounds.wav_bytes(stereo, minute.rate_hz)
    head, body = bytearray(whole[:44]), whole[44:]
    head[4:8] = (36 + 60 * len(body)).to_bytes(4, "little")
    head[40:44] = (60 * len(body)).to_bytes(4, "little")
    path = folder / "hour.wav"
    with path.open("wb") as file:
        file.write(head)
        for _ in range(60):
            file.write(body)
    began = time.perf_counter()
    run = subprocess.run(
        [sys.executable, "-c", LISTENER, str(path)], check=True, capture_output=True, text=True
    )
    bubbles, traced, before, after = (int(word) for word in run.stdout.split())
    return (
        f"an hour of 48 kHz stereo, {path.stat().st_size / 2**20:.0f} MB: {bubbles} bubbles "
        f"({60 * len(minute.onsets_s)} true), heard twice in {time.perf_counter() - began:.0f} s\n"
        f"most memory for sound: {traced / 2**20:.0f} MB; of the whole process (Linux): "
        f"{before / 1024:.0f} MB once the libraries are loaded, {after / 1024:.0f} MB at most"
    )


def main() -> None:
    """Make, listen, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=8)
    parser.add_argument("--first", type=int, default=2000)
    parser.add_argument("--hour", action="store_true")
    chosen = parser.parse_args()
    seeds = range(chosen.first, chosen.first + chosen.seeds)
    with tempfile.TemporaryDirectory() as folder:
        if chosen.hour:
            print(hour(Path(folder)))
            return
        print(" " * 43 + "------- all ------  ---- trusted ----          off at")
        print(
            f"{'room':<30}{'true':>6}{'heard':>7}"
            + f"{'recall':>9}{'prec.':>9}" * 2
            + "  trust  worst"
        )
        for name, take in ROOMS.items():
            print(row(name, take, seeds, Path(folder)), flush=True)


if __name__ == "__main__":
    main()
