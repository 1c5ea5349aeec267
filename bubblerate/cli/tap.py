"""Counting by the space bar. Nothing heavy is loaded here."""

from __future__ import annotations

import sys
import textwrap
import time
from contextlib import suppress

import typer

from ..diary.tapping import Tapping, after, tapping_text
from ..errors import BubbleRateError, InputError
from ..text import plain
from .common import Note, Shelf, Temp, Vessel, diary_path, open_diary, terminal_width
from .entries import typed_temp, write_down
from .terminal import BROKEN_OFF, is_terminal, single_keys, unbroken

__all__ = ["tap", "tapped"]

_HOW = "go! Space: a bubble. Backspace: one back. q: write. ctrl-c: drop."
_TICK_S = 0.1  # the time shown is never older than this


def tap(vessel: Vessel, temp: Temp = None, note: Note = "", shelf: Shelf = None) -> None:
    """Count by the space bar: one press for each bubble, q to write it down.

    The clock starts at "go", when you press Enter on this line. Backspace takes the last press
    back, ctrl-c drops the count.

    Examples: bubblerate tap quince; bubblerate tap quince --temp 18.5
    """
    path = diary_path(vessel, shelf)
    if not path.exists():
        open_diary(vessel, shelf)  # says which names there are, before anything is counted
    temp_c = typed_temp(temp)
    if not is_terminal():
        raise InputError(
            "tap reads single keys and needs a terminal; count by a clock instead: "
            f"bubblerate tally {vessel} 12 --over 90s"
        )
    try:
        tapping = tapped(path.stem)
    except KeyboardInterrupt:
        tapping = None
    if tapping is None:
        typer.echo(f"bubblerate: {path.stem}: the count was dropped; nothing is written", err=True)
        raise typer.Exit(BROKEN_OFF)
    bubbles, seconds = tapping
    try:
        with unbroken():
            write_down(
                vessel, shelf, None, bubbles=bubbles, seconds=seconds, temp_c=temp_c, note=note
            )
    except BubbleRateError as err:
        said = f"{bubbles} --over {plain(seconds)}s"
        raise InputError(
            f"{err}; then write the count down: bubblerate tally {vessel} {said}"
        ) from err


def tapped(vessel: str) -> tuple[int, float] | None:
    """Count at the terminal, on one line written over and over.

    Parameters
    ----------
    vessel : str
        Name to show.

    Returns
    -------
    bubbles, seconds : int and float
        To a tenth of a second, which is what a hand is good for. None where it was dropped.

    Raises
    ------
    InputError
        If it ended within a second.
    """
    width = max(20, terminal_width() - 1)  # the last column would wrap
    tapping = _count(vessel, width)
    if tapping.ended_s is None:
        return None
    seconds = round(tapping.ended_s - tapping.began_s, 1)
    if seconds < 1.0:
        raise InputError(f"{vessel}: the count ended within a second; nothing is written")
    return tapping.bubbles, seconds


def _count(vessel: str, width: int) -> Tapping:
    """Run the count until a key ends it."""
    print(textwrap.fill(f"{vessel}: {_HOW}", width), file=sys.stderr, flush=True)
    try:
        with single_keys() as wait:
            tapping = Tapping(began_s=time.monotonic())
            shown = ""
            while True:
                text = tapping_text(tapping, time.monotonic(), width=width)
                if text != shown:
                    print("\r" + text.ljust(width), end="", file=sys.stderr, flush=True)
                    shown = text
                if tapping.over:
                    break
                for key in wait(_TICK_S):
                    tapping = after(tapping, key, time.monotonic())
    finally:
        with suppress(OSError):  # the terminal may be gone
            print(file=sys.stderr, flush=True)
    return tapping
