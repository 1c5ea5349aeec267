"""Commands that write a diary or show it: start, tally, strike, diary.

Nothing heavy is loaded here: writing a count down must feel instant.
"""

from __future__ import annotations

from typing import Annotated, Literal

import typer

from ..diary import times, units
from ..diary.counts import counted
from ..diary.folder import names
from ..diary.places import typed_again
from ..diary.shelf import placed
from ..diary.typed import begun, typed_pressure, typed_temp, writable
from ..diary.visit import Diary, Visit
from ..errors import InputError
from ..show.diary_text import diary_text, visit_text
from ..show.entry_text import struck_text, taken_back_text
from .common import (
    At,
    Folder,
    Litres,
    Note,
    Temp,
    Vessel,
    When,
    ask_of_notes,
    asked_moment,
    clock_of,
    echo,
    opened,
    say,
    window_width,
)
from .rows import entry, say_beside, write_down

__all__ = ["diary", "start", "strike", "tally"]


def start(
    ctx: typer.Context,
    vessel: Vessel,
    litres: Litres = None,
    sg: Annotated[
        str | None, typer.Option(help="Gravity at the start: 1.084 or 1084.", show_default=False)
    ] = None,
    sugar: Annotated[
        str | None,
        typer.Option(
            help="Sugar in the recipe, not counting the fruit: 1100g (for honey, four fifths of "
            "its weight). Gives the strength if you did not read the start.",
            show_default=False,
        ),
    ] = None,
    temp: Temp = None,
    when: When = None,
    note: Note = "",
    shelf: Folder = None,
) -> None:
    """Start a diary for a new jar.

    Example: bubblerate start quince --litres 4.5 --sg 1084

    Raises
    ------
    BubbleRateError
        If there is such a diary, a word cannot be understood, or it cannot be written.
    """
    place, name = placed(vessel, shelf)
    now = clock_of(ctx)()
    visit = begun(
        now if when is None else times.moment(when, now=now),
        litres=litres,
        gravity=sg,
        sugar=sugar,
        temp=temp,
        note=note,
    )
    written = place.begin(name, visit, now=now)
    path = place.path(name)
    echo(f"{path.stem}: {visit_text(visit)}. New diary: {path}")
    say_beside(path, written)
    if visit.sg is None:
        echo("  A hydrometer is needed before bottling. Floated in the jar, it costs no wine.")
    if len(names(place.folder)) == 1:  # a beginner's first
        tally_line = typed_again(path, "tally", "12", "--over", "90s")
        echo(f"  Each evening: {tally_line}")
        echo("  A word is new to you? bubblerate words")


def tally(
    ctx: typer.Context,
    vessel: Vessel,
    bubbles: Annotated[
        str | None, typer.Argument(help="Bubbles counted, or none.", show_default=False)
    ] = None,
    over: Annotated[
        str | None,
        typer.Option(help="How long you counted: 90s, 5m (default: 60 s).", show_default=False),
    ] = None,
    every: Annotated[
        str | None,
        typer.Option(help="Or the time from one bubble to the next: 55s.", show_default=False),
    ] = None,
    temp: Temp = None,
    pressure: Annotated[
        str | None,
        typer.Option(help="Air pressure at the jar: 1013 hPa.", show_default=False),
    ] = None,
    when: When = None,
    note: Note = "",
    shelf: Folder = None,
) -> None:
    """Write down an evening's count.

    Examples: bubblerate tally quince 12 --over 90s; bubblerate tally quince --every 55s;
    bubblerate tally quince none --over 5m --temp 18.5

    Raises
    ------
    BubbleRateError
        If there is no such diary, a word cannot be understood, or the row cannot be written.
    """
    if (bubbles is None) == (every is None):
        raise InputError(
            "give one of the two: a count (12 --over 90s), or the time between bubbles "
            "(--every 55s)"
        )
    if every is not None and over is not None:
        raise InputError("--every already says the time; leave --over out")
    count = (
        counted(f"every {every}")
        if bubbles is None
        else counted(bubbles, over_s=None if over is None else units.seconds(over))
    )
    place = entry(vessel, shelf, when, now=clock_of(ctx)())
    with writable():
        visit = Visit(
            when=place.moment.when,
            bubbles=count.bubbles,
            seconds=count.seconds,
            temp_c=typed_temp(temp),
            pressure_hpa=typed_pressure(pressure),
            note=note,
        )
    write_down(place, visit)


def strike(
    ctx: typer.Context,
    vessel: Vessel,
    lines: Annotated[
        list[str],
        typer.Argument(
            metavar="LINE...",
            help="Line numbers as bubblerate diary shows them, or last.",
            show_default=False,
        ),
    ],
    back: Annotated[bool, typer.Option("--back", help="Make struck rows count again.")] = False,
    shelf: Folder = None,
) -> None:
    """Strike out wrong rows, so that they no longer count.

    They stay in the file.

    Examples: bubblerate strike quince 14 15; bubblerate strike quince last;
    bubblerate strike quince 14 --back

    Raises
    ------
    BubbleRateError
        If there is no such diary or line, it is struck already, or not struck where that is taken
        back, or it cannot be written.
    """
    found = opened(vessel, shelf).diary
    place, name = placed(vessel, shelf)
    numbers = [_line(line, found, back=back) for line in lines]
    struck = place.strike(name, numbers, at=clock_of(ctx)(), back=back)
    told = taken_back_text if back else struck_text
    for visit in struck.visits:
        echo(told(found.vessel, visit))
    if not back:
        lines_struck = (str(visit.line) for visit in struck.visits)
        undo = typed_again(found.path, "strike", *lines_struck, "--back")
        echo(f"  To undo that: {undo}")
    say(struck.warnings)


def diary(
    ctx: typer.Context,
    vessel: Vessel,
    form: Annotated[
        Literal["table", "tag"],
        typer.Option("--as", help="Every row, or the wine's story on a card."),
    ] = "table",
    at: At = None,
    shelf: Folder = None,
) -> None:
    """Show a diary's rows, or the wine's story on a card.

    Examples: bubblerate diary quince; bubblerate diary quince --as tag

    Raises
    ------
    BubbleRateError
        If there is no such diary, or it or the settings cannot be read.
    """
    found = opened(vessel, shelf)
    known = found.diary
    if at is not None:
        known = known.until(asked_moment(at, found, now=clock_of(ctx)()))
    if form == "table":
        typer.echo(diary_text(known, width=window_width()))
        ask_of_notes(known)
        return
    from ..course.label import label_of
    from ..course.standing import standing
    from ..diary.kin import kin
    from ..show.story_text import card_text

    stands = standing(known, known=found.settings.vessel(known.vessel))
    asked_at = max((visit.when for visit in known.live), default=clock_of(ctx)())
    of = kin(known.path.parent)
    typer.echo(card_text(stands, label_of(found, at=asked_at, of=of)))


def _line(text: str, known: Diary, *, back: bool) -> int:
    """Line to strike, or to count again."""
    some = [visit.line for visit in known.visits if bool(visit.struck) is back]
    if text.strip().lower() == "last" and some:
        return max(some)
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise InputError(f"no line {text!r} in {known.path.name}; write a number that diary shows")
    return int(text)
