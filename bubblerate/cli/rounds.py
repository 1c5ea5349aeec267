"""The evening's round: every jar in turn, with what it needs before and after its answers."""

from __future__ import annotations

import io
import sys
import textwrap
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import typer

from ..diary.counts import counted
from ..diary.event_names import named
from ..diary.events import Event
from ..diary.folder import Unread
from ..diary.gravity_scales import reading, scale_named
from ..diary.places import SUFFIX, shelf_folder
from ..diary.shelf import shelf_at
from ..diary.typed import typed_temp, writable
from ..diary.visit import Visit
from ..errors import BubbleRateError, InputError
from ..show.diary_text import last_count_text, note_text
from ..text import beside
from .common import Clock, Folder, When, clock_of, terminal_width
from .rows import Entry, write_down
from .shelf import no_diaries, show
from .tap import tapped
from .terminal import BROKEN_OFF, is_terminal, unbroken

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import datetime

    from ..diary.shelf import Shelf
    from ..diary.visit import Diary

__all__ = ["round", "say_next"]

_HOW = """\
Enter skips a question, q ends the round.
  bubbles      12 in 90s, every 55s, none in 5m, 3.2/min
               or t to count with the space bar
  temperature  18.5 or 65F
  gravity      1.004, or 1.004 at 17C
  event        racked, fed, moved, airlock, ..."""
_HOW_TO_SAY = "Answer fed or not-fed as the event."
_LONGEST = 1000  # characters of an answer
_LABEL = 15  # characters of a question, with its margin


class _Ended(Exception):  # noqa: N818 - not an error
    """The person wants no more questions, or no more answers come."""


def round(  # noqa: A001 - the word on the command line
    ctx: typer.Context, when: When = None, shelf: Folder = None
) -> None:
    """Go round every jar that is not bottled.

    It says what is next, then asks for your count and the rest. Enter skips a question, t counts by
    the space bar, q ends the round. Each row is written as soon as its jar is done. Answers can be
    piped in, one per line.

    Examples: bubblerate round; bubblerate round --when "yesterday 9pm"

    Raises
    ------
    BubbleRateError
        If there is no such shelf or moment, or the table at the end cannot be worked out.
    """
    where, clock = shelf_at(shelf_folder(shelf)), clock_of(ctx)
    jars = where.unbottled()
    if not jars:
        names = where.names()
        typer.echo("Every jar on the shelf is bottled." if names else no_diaries(where.folder))
        return
    if isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(errors="backslashreplace")  # a stray byte is an answer to ask again
    for one in jars:
        where.moment(_file(one), when, now=clock())  # a bad --when costs no answer
    typer.echo(_HOW)
    walk = _Round(shelf=where, when=when, clock=clock)
    try:
        walk.through(jars)
        typer.echo()
        show(where, clock())
    except KeyboardInterrupt:
        typer.echo()
        typer.echo(f"bubblerate: round stopped; {walk.stays()}", err=True)
        raise typer.Exit(BROKEN_OFF) from None
    if walk.failed:
        raise typer.Exit(2)


@dataclass(slots=True, kw_only=True)
class _Answers:
    """What was answered for one jar so far: the row as it grows, and the words as typed."""

    vessel: str
    visit: Visit
    said: list[str] = field(default_factory=list)

    def ask(self) -> bool:
        """Ask each question until its answer can be read; True if the round should end."""
        questions: dict[str, Callable[[Visit, str], Visit]] = {
            "bubbles": self._bubbles,
            "temperature": lambda visit, text: replace(visit, temp_c=typed_temp(text)),
            "gravity": _gravity,
            "event": lambda visit, text: replace(visit, event=named(text)),
        }
        try:
            for name, read in questions.items():
                self._answer(name, read)
        except _Ended:
            return True
        return False

    def _answer(self, name: str, read: Callable[[Visit, str], Visit]) -> None:
        while text := _line(f"  {name}".ljust(_LABEL)):
            try:
                with writable():
                    self.visit = read(self.visit, text)
            except InputError as err:
                typer.echo(textwrap.indent(textwrap.fill(str(err), terminal_width() - 4), "    "))
                continue
            self.said.append(text)
            return

    def _bubbles(self, visit: Visit, text: str) -> Visit:
        if text.lower() != "t":
            bubbles, seconds = counted(text)
        elif is_terminal():
            tapping = tapped(self.vessel)
            if tapping is None:
                raise InputError("the count was dropped; count again, or Enter to skip")
            bubbles, seconds = tapping
        else:
            raise InputError("tapping needs a terminal; write a count such as 12 in 90s")
        return replace(visit, bubbles=bubbles, seconds=seconds)


@dataclass(slots=True, kw_only=True)
class _Round:
    """A round under way: which rows are written, and which answers are not yet."""

    shelf: Shelf
    when: str | None
    clock: Clock
    written: list[str] = field(default_factory=list)
    failed: bool = False
    open: _Answers | None = None

    def through(self, jars: Iterable[Diary | Unread]) -> None:
        """Ask for each jar and write its row, until the last one or the word that ends it."""
        in_turn = [*jars]
        for i, one in enumerate(in_turn, start=1):
            typer.echo(f"\n{one.vessel} ({i} of {len(in_turn)})\n{_before(one)}")
            say_next(self.shelf, one.vessel, self.clock(), said=True)
            self.open = answers = _Answers(vessel=one.vessel, visit=Visit(when=self.clock()))
            ended = answers.ask()
            with unbroken() as came:
                if answers.said:
                    self._write(_file(one), answers)
                elif not ended:
                    typer.echo("  skipped")
                self.open = None
            if came:
                raise KeyboardInterrupt
            if ended:
                return

    def stays(self) -> str:
        """What is written and what is not, if the round was stopped."""
        names = ", ".join(self.written)
        stays = f"already written: {names}" if names else "nothing was written"
        left = self.open if self.open is not None and self.open.said else None
        return stays + (f"; not yet written: {left.vessel}" if left else "")

    def _write(self, name: str, answers: _Answers) -> None:
        """Write the row of one jar; if that fails, say what to keep on paper."""
        now = self.clock()
        try:
            moment = self.shelf.moment(name, self.when, now=now)
            place = Entry(shelf=self.shelf, name=name, now=now, moment=moment)
            write_down(place, replace(answers.visit, when=moment.when))
        except BubbleRateError as err:
            typer.echo(f"bubblerate: {err}", err=True)
            typer.echo(f"  Not written, so keep it on paper: {', '.join(answers.said)}", err=True)
            self.failed = True
        else:
            self.written.append(answers.vessel)
            say_next(self.shelf, answers.vessel, max(self.clock(), moment.when), said=False)


def _file(one: Diary | Unread) -> str:
    """Name of a diary's file: that of a jar may itself end in .csv."""
    return f"{one.vessel}{SUFFIX}"


def _before(one: Diary | Unread) -> str:
    """The last count, or why it is not known, below the name of its jar."""
    if isinstance(one, Unread):
        text = (
            f"fault in the diary: {one.error}. Fix that first, or keep tonight's numbers on paper."
        )
    else:
        text = last_count_text(one)
    start = "  last".ljust(_LABEL)
    return textwrap.fill(
        text, terminal_width(), initial_indent=start, subsequent_indent=" " * _LABEL
    )


def say_next(shelf: Shelf, vessel: str, at: datetime, *, said: bool) -> None:
    """Say what a jar needs, and with `said` the events that settle it; nothing if it is unread."""
    from ..course.judgement import judge
    from ..diary.sugar_notes import open_note
    from ..show.step_text import answer_text, next_text, settling_text
    from ..verdict.reasons import Kind

    try:
        found = shelf.open(f"{vessel}{SUFFIX}")
    except BubbleRateError:
        return  # it was or will be told
    judged = judge(found.diary, at=at, settings=found.settings)
    step, course = judged.verdict.next, judged.course
    today = at.date() if course is None else course.asked_on
    waits = judged.verdict.answer == "wait" and step.kind is not Kind.RESCUE
    answer = "" if waits else f"{answer_text(judged.verdict.answer, step)}. "
    lines = [("next", f"{answer}{next_text(step, today)}")]
    if said:
        note = open_note(judged.diary.batch)
        asked = "" if note is None else f"{note_text(note)} {_HOW_TO_SAY}"
        lines += [("then write", settling_text(step)), ("note", asked)]
    for label, text in lines:
        if text:
            typer.echo("\n".join(beside(label, text, width=terminal_width(), column=_LABEL)))


def _gravity(visit: Visit, text: str) -> Visit:
    """A reading, with the temperature of its sample if given."""
    found = reading(text)
    if scale_named(text) == "brix":
        print("  saved as a hydrometer reading; for a refractometer use bubblerate gravity --brix")
    return replace(visit, sg=found.sg, event=Event.SAMPLED, sample_c=found.sample_c)


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
