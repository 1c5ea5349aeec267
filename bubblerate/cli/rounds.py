"""The evening's round: every jar in turn. Nothing heavy is loaded before its last row is down."""

from __future__ import annotations

import io
import sys
import textwrap
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from ..diary.counts import counted
from ..diary.events import named
from ..diary.folder import Unread, diaries, in_bottle
from ..diary.gravity_scales import reading
from ..diary.settings import Settings
from ..diary.settings_file import settings
from ..errors import BubbleRateError, ConfigError, InputError
from ..show.diary_text import visit_text
from .common import Shelf, shelf_folder, terminal_width
from .entries import typed_temp, write_down
from .shelf import no_diaries, show
from .tap import tapped
from .terminal import BROKEN_OFF, is_terminal, unbroken

if TYPE_CHECKING:
    from ..diary.visit import Diary

__all__ = ["round"]

_HOW = """\
Enter skips a question, q ends the round.
  bubbles      12 in 90s, every 55s, none in 5m, 3.2/min
               or t to tap them by the space bar
  temperature  18.5 or 65F
  gravity      1.004, or 1.004 at 17C
  event        racked, fed, moved, airlock, ..."""
_LONGEST = 1000  # characters of an answer
_LABEL = 15  # characters of a question, with its margin


class _Ended(Exception):  # noqa: N818 - not an error
    """No further question is wanted, or no further answer comes."""


def round(shelf: Shelf = None) -> None:  # noqa: A001 - the word on the command line
    """Walk through every jar that is not bottled: bubbles, temperature, gravity, event.

    Enter skips a question, t counts by the space bar, q ends the round. Each row is written as
    soon as its jar is done. Answers may be piped in, one a line.

    Example: bubblerate round
    """
    folder = shelf_folder(shelf)
    found = _diaries(folder)
    live = [one for one in found if isinstance(one, Unread) or not in_bottle(one)]
    if not live:
        typer.echo("Every jar on the shelf is bottled." if found else no_diaries(folder))
        return
    if isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(errors="backslashreplace")  # a stray byte is an answer to ask again
    typer.echo(_HOW)
    written: list[str] = []
    failed, answers = False, _Answers("")
    try:
        for i, one in enumerate(live, start=1):
            typer.echo(f"\n{one.vessel} ({i} of {len(live)})\n{_before(one)}")
            answers = _Answers(one.vessel)
            ended = answers.ask()
            with unbroken() as came:
                if answers.cells and _write(folder / f"{one.vessel}.csv", answers):
                    written.append(one.vessel)
                elif answers.cells:
                    failed = True
                elif not ended:
                    typer.echo("  skipped")
                answers = _Answers("")
            if came:
                raise KeyboardInterrupt
            if ended:
                break
        typer.echo()
        show(folder)
    except KeyboardInterrupt:
        typer.echo()
        typer.echo(f"bubblerate: round broken off; {_stays(written, answers)}", err=True)
        raise typer.Exit(BROKEN_OFF) from None
    if failed:
        raise typer.Exit(2)


class _Answers:
    """What was answered for one vessel so far: the cells of its row, and the words as typed."""

    def __init__(self, vessel: str) -> None:
        self.vessel = vessel
        self.cells: dict[str, Any] = {}
        self.said: list[str] = []

    def ask(self) -> bool:
        """Put every question until its answer can be read; True where the round is to end."""
        questions: dict[str, Callable[[str], dict[str, Any]]] = {
            "bubbles": self._bubbles,
            "temperature": lambda text: {"temp_c": typed_temp(text)},
            "gravity": _gravity,
            "event": lambda text: {"event": named(text)},
        }
        try:
            for name, read in questions.items():
                self._answer(name, read)
        except _Ended:
            return True
        return False

    def _answer(self, name: str, read: Callable[[str], dict[str, Any]]) -> None:
        while text := _line(f"  {name}".ljust(_LABEL)):
            try:
                self.cells |= read(text)
            except InputError as err:
                typer.echo(textwrap.indent(textwrap.fill(str(err), terminal_width() - 4), "    "))
                continue
            self.said.append(text)
            return

    def _bubbles(self, text: str) -> dict[str, Any]:
        if text.lower() != "t":
            bubbles, seconds = counted(text)
        elif is_terminal():
            tapping = tapped(self.vessel)
            if tapping is None:
                raise InputError("the count was dropped; count again, or Enter to skip")
            bubbles, seconds = tapping
        else:
            raise InputError("tapping needs a terminal; write a count such as 12 in 90s")
        return {"bubbles": bubbles, "seconds": seconds}


def _diaries(folder: Path) -> tuple[Diary | Unread, ...]:
    """Every diary of the shelf; bad settings cost no count, and the table at the end names them."""
    try:
        known = settings(folder)
    except ConfigError:
        known = Settings()
    return tuple(diaries(folder, known))


def _before(one: Diary | Unread) -> str:
    """Last evening's count, or why it is not known, below the name of its vessel."""
    if isinstance(one, Unread):
        text = f"fault in the diary: {one.error}. Mend it first, or keep tonight's on paper."
    else:
        counts = [visit for visit in one.batch if visit.bubbles is not None]
        bare = [replace(visit, event=None, litres=None, note="") for visit in counts[-1:]]
        text = visit_text(bare[0]) if bare else "no count yet"
    start = "  last".ljust(_LABEL)
    return textwrap.fill(
        text, terminal_width(), initial_indent=start, subsequent_indent=" " * _LABEL
    )


def _gravity(text: str) -> dict[str, Any]:
    """A reading, with the temperature of its sample where that is said."""
    found = reading(text)
    sample = {} if found.sample_c is None else {"sample_c": found.sample_c}
    return {"sg": found.sg, "event": "sampled"} | sample


def _line(question: str) -> str:
    """Ask, and wait for a line."""
    print(question, end="", flush=True)
    try:
        text = _typed() if sys.stdin is not None else ""
    except OSError:  # the terminal is gone
        text = ""
    if not is_terminal():
        print(text.rstrip("\r\n"))  # so that what was piped in can be read back
    elif not text:
        print()
    text = text if text.strip().lower() != "q" else ""
    if not text:
        raise _Ended
    return text.strip()


def _typed() -> str:
    """One line of input, but no more of it than an answer can be: the rest is read and dropped."""
    text = more = sys.stdin.readline(_LONGEST)
    while len(more) == _LONGEST and not more.endswith("\n"):
        more = sys.stdin.readline(_LONGEST)
    return text if more is text else f"{text}..."  # which nothing reads as an answer


def _write(path: Path, answers: _Answers) -> bool:
    """Write the row of one vessel; where that fails say what is to be kept on paper."""
    try:
        write_down(str(path), None, None, **answers.cells)
    except BubbleRateError as err:
        typer.echo(f"bubblerate: {err}", err=True)
        typer.echo(f"  Not written, keep it on paper: {', '.join(answers.said)}", err=True)
        return False
    return True


def _stays(written: list[str], answers: _Answers) -> str:
    stays = f"what was written stays: {', '.join(written)}" if written else "nothing was written"
    return stays + (f"; not yet written: {answers.vessel}" if answers.cells else "")
