"""Commands for wine that goes from jar to jar: split, join, top-up."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ..diary import units
from ..diary.shelf import placed
from ..show.pouring_text import joined_lines, parted_lines, row_lines, topped_up_lines
from .common import Folder, Note, Vessel, When, clock_of, echo, say, vessel_names

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from ..diary.mingling import Poured
    from ..diary.shelf import Shelf

__all__ = ["join", "split", "top_up"]

Other = Annotated[
    str,
    typer.Argument(help="Name of the other jar.", show_default=False, autocompletion=vessel_names),
]


def split(
    ctx: typer.Context,
    vessel: Vessel,
    into: Annotated[str, typer.Option(help="Name of the new jar.", show_default=False)],
    litres: Annotated[
        str, typer.Option(help="How much goes into the new jar: 4.5, 750ml.", show_default=False)
    ],
    left: Annotated[
        str | None,
        typer.Option(help="How much stays in the old jar, if you measured it.", show_default=False),
    ] = None,
    spare: Annotated[
        bool, typer.Option("--spare", help="Keep the new jar for topping up the old one.")
    ] = False,
    when: When = None,
    note: Note = "",
    shelf: Folder = None,
) -> None:
    """Divide a wine between two jars.

    Both diaries keep its history and strength.

    Example: bubblerate split plum --into plum-2 --litres 4.5

    Raises
    ------
    BubbleRateError
        If there is no such jar, it holds no more than that, or a diary cannot be written.
    """
    from ..diary.mingling import split as parted

    place, name, at = _place(ctx, vessel, shelf, when)
    done = parted(
        place,
        name,
        into=into,
        litres=units.litres(litres),
        left=None if left is None else units.litres(left),
        at=at,
        spare=spare,
        note=note,
    )
    _echo(place, done, parted_lines(done, name, into, spare=spare))


def join(
    ctx: typer.Context,
    vessel: Vessel,
    other: Other,
    into: Annotated[
        str, typer.Option(help="A new jar, or the one that is not as far on.", show_default=False)
    ],
    litres: Annotated[
        str | None,
        typer.Option(
            help=("Litres of both together, if you measured them (default: the sum)."),
            show_default=False,
        ),
    ] = None,
    when: When = None,
    shelf: Folder = None,
) -> None:
    """Pour two wines together.

    Gravity and strength are worked out by volume; the proof starts again.

    Example: bubblerate join plum plum-2 --into plum-big

    Raises
    ------
    BubbleRateError
        If there is no such jar, the wines cannot be joined so, or a diary cannot be written.
    """
    from ..shelf.pouring import join as poured

    place, name, at = _place(ctx, vessel, shelf, when)
    in_all = None if litres is None else units.litres(litres)
    done, lesser = poured(place, name, other, into=into, litres=in_all, at=at)
    _echo(place, done, joined_lines(into, lesser))


def top_up(
    ctx: typer.Context,
    vessel: Vessel,
    from_: Annotated[
        str,
        typer.Option(
            "--from",
            help="The jar you topped it up from.",
            show_default=False,
            autocompletion=vessel_names,
        ),
    ],
    litres: Annotated[
        str, typer.Option(help="How much you poured: 0.3, 300ml.", show_default=False)
    ],
    when: When = None,
    note: Note = "",
    shelf: Folder = None,
) -> None:
    """Top a jar up from another.

    It is written in both diaries, or in neither.

    Example: bubblerate top-up plum --from spare --litres 0.3

    Raises
    ------
    BubbleRateError
        If there is no such jar, it holds less than that, or a diary cannot be written.
    """
    from ..shelf.pouring import top_up as topped

    place, name, at = _place(ctx, vessel, shelf, when)
    done, what = topped(place, name, spare=from_, litres=units.added_l(litres), at=at, note=note)
    _echo(place, done, topped_up_lines(what, name, from_))


def _place(
    ctx: typer.Context, vessel: str, shelf: Path | None, when: str | None
) -> tuple[Shelf, str, datetime]:
    """Shelf, jar and moment of a change to several jars."""
    place, name = placed(vessel, shelf)
    place.check_there(name)
    moment = place.moment(name, when, now=clock_of(ctx)())
    return place, name, moment.when


def _echo(place: Shelf, done: Poured, lines: Iterable[str]) -> None:
    """Show each row that was written, and what it means."""
    for line in row_lines(done):
        echo(line)
    for line in lines:
        echo(f"  {line}")
    say(place.told())
