"""Commands that write a diary or show it: start, tally, gravity, event, strike, diary.

Nothing heavy is loaded here: writing a count down must feel instant.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal

import typer

from ..diary import units
from ..diary.counts import counted
from ..diary.doubts import doubts
from ..diary.events import EVENTS, named
from ..diary.gravity_scales import SCALES, Scale, reading
from ..diary.reading import read
from ..diary.settings_file import settings
from ..diary.visit import Diary, Visit
from ..diary.writing import append, create
from ..diary.writing import strike as strike_row
from ..errors import BubbleRateError, InputError
from ..show.diary_text import diary_text, visit_text
from .common import (
    Note,
    Shelf,
    Temp,
    Vessel,
    When,
    diary_path,
    moment,
    now,
    open_diary,
    refuse_twin,
    say_if_open,
)

Litres = Annotated[
    str | None,
    typer.Option(help='Wine in the vessel: 4.5, "1 UK gal", "1 US gal".', show_default=False),
]


def start(
    vessel: Vessel,
    litres: Litres = None,
    sg: Annotated[
        str | None, typer.Option(help="Gravity at the start: 1.084 or 1084.", show_default=False)
    ] = None,
    temp: Temp = None,
    when: When = None,
    note: Note = "",
    shelf: Shelf = None,
) -> None:
    """Begin the diary of a vessel.

    Example: bubblerate start quince --litres 4.5 --sg 1084
    """
    path = diary_path(vessel, shelf)
    blank = Diary(path=path, vessel=path.stem, visits=())
    begun = None if sg is None else reading(sg)
    visit = _visit(
        when=moment(when, pitched=None),
        event="pitched",
        litres=None if litres is None else units.litres(litres),
        sg=None if begun is None else begun.sg,
        sample_c=None if begun is None else begun.sample_c,
        temp_c=typed_temp(temp),
        note=note,
    )
    refuse_twin(path)
    create(path, visit)
    typer.echo(f"{path.stem}: {visit_text(visit)}. New diary: {path}")
    _ask(blank, visit, line=2)


def tally(
    vessel: Vessel,
    bubbles: Annotated[
        str | None, typer.Argument(help="Bubbles counted, or none.", show_default=False)
    ] = None,
    over: Annotated[
        str | None,
        typer.Option(help="Length of the count: 90s, 5m; else 60 s.", show_default=False),
    ] = None,
    every: Annotated[
        str | None,
        typer.Option(help="Time from bubble to bubble instead: 55s.", show_default=False),
    ] = None,
    temp: Temp = None,
    when: When = None,
    note: Note = "",
    shelf: Shelf = None,
) -> None:
    """Write down an evening's count.

    Examples: bubblerate tally quince 12 --over 90s; bubblerate tally quince --every 55s;
    bubblerate tally quince none --over 5m --temp 18.5
    """
    if (bubbles is None) == (every is None):
        raise InputError("give a count (tally quince 12) or a spacing (tally quince --every 55s)")
    if every is not None and over is not None:
        raise InputError("--every is one bubble in that time; leave --over out")
    found = (
        counted(f"every {every}")
        if bubbles is None
        else counted(bubbles, over_s=None if over is None else units.seconds(over))
    )
    write_down(
        vessel,
        shelf,
        when,
        bubbles=found.bubbles,
        seconds=found.seconds,
        temp_c=typed_temp(temp),
        note=note,
    )


def gravity(
    vessel: Vessel,
    sg: Annotated[
        str | None, typer.Argument(help="As read: 1.004, 1004 or .996.", show_default=False)
    ] = None,
    oechsle: Annotated[
        str | None, typer.Option(help="Degrees Oechsle instead.", show_default=False)
    ] = None,
    brix: Annotated[
        str | None, typer.Option(help="Brix or Plato of a hydrometer instead.", show_default=False)
    ] = None,
    sample_temp: Annotated[
        str | None,
        typer.Option(help="Temperature of the sample: 18.5 or 65F.", show_default=False),
    ] = None,
    temp: Temp = None,
    when: When = None,
    note: Note = "",
    shelf: Shelf = None,
) -> None:
    """Write down a gravity reading.

    Examples: bubblerate gravity quince 1.004 --sample-temp 17; bubblerate gravity quince --brix 1.0
    """
    if sum(value is not None for value in (sg, oechsle, brix)) != 1:
        raise InputError("give one gravity: 1.004, or --oechsle 4, or --brix 1.0")
    typed: dict[Scale, str | None] = {"sg": sg, "oechsle": oechsle, "brix": brix}
    scale = next(scale for scale in SCALES if typed[scale] is not None)
    found = reading(typed[scale] or "", scale=scale, sample=sample_temp)
    write_down(
        vessel,
        shelf,
        when,
        sg=found.sg,
        sample_c=found.sample_c,
        temp_c=typed_temp(temp),
        event="sampled",
        note=note,
    )


def event(
    vessel: Vessel,
    what: Annotated[str, typer.Argument(help=f"One of {', '.join(EVENTS)}.", show_default=False)],
    litres: Litres = None,
    temp: Temp = None,
    when: When = None,
    note: Note = "",
    shelf: Shelf = None,
) -> None:
    """Write down what was done to a vessel.

    Example: bubblerate event quince racked --litres 4.3
    """
    write_down(
        vessel,
        shelf,
        when,
        event=named(what),
        litres=None if litres is None else units.litres(litres),
        temp_c=typed_temp(temp),
        note=note,
    )


def strike(
    vessel: Vessel,
    line: Annotated[
        str, typer.Argument(help="Line as bubblerate diary shows it, or last.", show_default=False)
    ],
    shelf: Shelf = None,
) -> None:
    """Mark a row as a slip: it stays in the file and takes no part in any sum.

    Example: bubblerate strike quince 14
    """
    found, _ = open_diary(vessel, shelf)
    number = _line(line, found)
    visit = strike_row(found.path, number, at=now())
    typer.echo(f"{found.vessel}: struck line {number}: {visit_text(visit)}.")
    typer.echo("  To take that back, empty its cell struck in the file.")
    say_if_open(found.path)


def diary(
    vessel: Vessel,
    form: Annotated[
        Literal["table", "tag"],
        typer.Option("--as", help="Every row, or the wine's story on one card."),
    ] = "table",
    shelf: Shelf = None,
) -> None:
    """Show the rows of a diary with their rates, or the story of the wine on a card.

    Examples: bubblerate diary quince; bubblerate diary quince --as tag
    """
    found, known = open_diary(vessel, shelf)
    if form == "table":
        typer.echo(diary_text(found))
        return
    from ..course.label import label
    from ..course.standing import standing
    from ..show.story_text import card_text

    own = known.vessel(found.vessel)
    stands = standing(found, on=now().date(), known=own)
    typer.echo(card_text(stands, label(stands, known=own, hydrometer=known.hydrometer)))


def _line(text: str, known: Diary) -> int:
    """Line that is to be struck."""
    if text.strip().lower() == "last" and known.live:
        return max(visit.line for visit in known.live)
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise InputError(f"no line {text!r} in {known.path.name}; write a number shown by diary")
    return int(text)


def typed_temp(text: str | None) -> float | None:
    """Temperature to a tenth, where one was given."""
    return None if text is None else round(units.temp_c(text), 1)


def _visit(**cells: Any) -> Visit:
    """A row that can be written, or one line that says why not."""
    try:
        return Visit(**cells)
    except ValueError as err:
        raise InputError(f"this cannot be written down: {err}") from err


def write_down(vessel: str, shelf: Path | None, when: str | None, **cells: Any) -> None:
    """Append one row, say how it was understood, and ask where it looks like a slip."""
    path = diary_path(vessel, shelf)
    pitched, trouble = None, ""
    try:
        pitched = settings(path.parent).vessel(path.stem).pitched
        known = read(path, pitched=pitched)
    except BubbleRateError as err:
        if not path.exists():
            open_diary(vessel, shelf)  # says which names there are
        # neither a bad cell further up nor a bad setting may cost a count: it is written
        known, trouble = Diary(path=path, vessel=path.stem, visits=()), str(err)
    day_0 = pitched or known.pitched
    visit = _visit(when=moment(when, pitched=day_0), **cells)
    # a diary of day numbers alone has no calendar: only a day number can be written into it
    by_day = when is not None and when.strip().lower().startswith("day")
    line = append(path, visit, pitched=day_0 if by_day else pitched)
    typer.echo(f"{path.stem}: {visit_text(visit)}. Line {line}.")
    if trouble:
        typer.echo(f"bubblerate: written, but there is something to mend: {trouble}", err=True)
    say_if_open(path)
    _ask(known, visit, line=line)


def _ask(known: Diary, visit: Visit, *, line: int) -> None:
    """Say what looks like a slip, and how to strike it."""
    found = doubts(known, visit, now=now())
    for doubt in found:
        typer.echo(f"  Is that right? {doubt}", err=True)
    if found:
        typer.echo(f"  If not: bubblerate strike {known.vessel} {line}", err=True)
