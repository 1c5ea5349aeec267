"""Counting with the space bar. Nothing heavy is loaded here."""

from __future__ import annotations

import sys
import textwrap
import time
from contextlib import suppress
from dataclasses import replace

import typer

from ..diary.places import typed_again
from ..diary.tapping import Tapping, after, tapping_text
from ..diary.typed import typed_temp, writable
from ..diary.visit import Visit
from ..errors import BubbleRateError, InputError
from ..text import plain
from .common import Folder, Note, Temp, Vessel, When, clock_of, terminal_width
from .rows import entry, write_down
from .terminal import BROKEN_OFF, is_terminal, single_keys, unbroken

__all__ = ["tap", "tapped"]

_HOW = "go! Space: one bubble. Backspace: one back. q: write it down. ctrl-c: drop it."
_TICK_S = 0.1  # the time shown is never older than this


def tap(
    ctx: typer.Context,
    vessel: Vessel,
    temp: Temp = None,
    when: When = None,
    note: Note = "",
    shelf: Folder = None,
) -> None:
    """Count with the space bar, one press for each bubble.

    Press q to write it down. The clock starts at "go", when you press Enter on this line. Backspace
    takes back the last press, ctrl-c drops the count.

    Examples: bubblerate tap quince; bubblerate tap quince --temp 18.5

    Raises
    ------
    BubbleRateError
        If there is no such diary or no terminal, a word cannot be understood, or the row cannot be
        written; then it says how to enter the count.
    """
    clock = clock_of(ctx)
    place = entry(vessel, shelf, when, now=clock())  # all is understood before anything is counted
    with writable():
        before = Visit(when=place.moment.when, temp_c=typed_temp(temp), note=note)
    path = place.shelf.path(place.name)
    if not is_terminal():
        raise InputError(
            "tap needs a terminal that reads single keys; count by the clock instead: "
            f"{typed_again(path, 'tally', '12', '--over', '90s')}"
        )
    bubbles, seconds = _tapped_or_dropped(path.stem)
    try:
        if when is None:
            place = entry(vessel, shelf, None, now=clock())
        with unbroken():
            write_down(
                place, replace(before, when=place.moment.when, bubbles=bubbles, seconds=seconds)
            )
    except BubbleRateError as err:
        said = typed_again(path, "tally", f"{bubbles}", "--over", f"{plain(seconds)}s")
        raise InputError(f"{err}; then write the count down: {said}") from err


def _tapped_or_dropped(vessel: str) -> tuple[int, float]:
    """Count at the terminal; a count that is dropped ends the command."""
    try:
        tapping = tapped(vessel)
    except KeyboardInterrupt:
        tapping = None
    if tapping is None:
        typer.echo(f"bubblerate: {vessel}: the count was dropped; nothing is written", err=True)
        raise typer.Exit(BROKEN_OFF)
    return tapping


def tapped(vessel: str) -> tuple[int, float] | None:
    """Count at the terminal, on one line written over and over.

    Parameters
    ----------
    vessel : str
        Name to show.

    Returns
    -------
    bubbles, seconds : int and float
        To a tenth of a second, which is what a hand is good for. None if it was dropped.

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
