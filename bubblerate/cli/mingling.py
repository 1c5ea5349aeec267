"""Commands for wine that goes from jar to jar: split, join, top-up."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ..diary import units
from ..diary.shelf import placed
from ..errors import InputError
from ..show.diary_text import visit_text
from .common import Folder, Note, Vessel, When, clock_of, say, vessel_names

if TYPE_CHECKING:
    from datetime import datetime

    from ..diary.mingling import Poured
    from ..diary.shelf import Shelf
    from ..shelf.pouring import Spare

__all__ = ["join", "split", "top_up"]

Other = Annotated[
    str,
    typer.Argument(help="Name of the other jar.", show_default=False, autocompletion=vessel_names),
]
_SAID = {
    "unread": "{spare} was never read, so it counts as finished wine. Read {name} on your next "
    "visit.",
    "wine": "",
    "working": "{spare} is still fermenting: it feeds {name}, which must finish again.",
    "sweet": "{spare} is sweeter than {name}: that counts as sugar, and {name} must finish again.",
}


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
    _echo(place, done)
    typer.echo(f"  {into} has a copy of the rows of {name}; from now on each goes its own way.")
    if spare:
        typer.echo(f"  It is the spare for {name} and needs no verdict. Keep its airlock filled.")
    if done.settings:
        typer.echo(f"  The settings of {name} were copied to {into}, except its litres.")


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
    from ..course.balance import blended
    from ..diary.kin import kin
    from ..diary.mingling import join as poured
    from ..shelf.pouring import less_far
    from ..show.balance_text import blend_note

    place, name, at = _place(ctx, vessel, shelf, when)
    if name == other:
        raise InputError(f"{name} is one jar; name two to join")
    jars = {one: place.open(one) for one in (name, other)}
    first, second = less_far(jars[name], jars[other], at=at)
    lesser, further = (one.diary.vessel for one in (first, second))
    if into == further:
        raise InputError(
            f"{further} is further on than {lesser}; pour them into a new jar, or use --into "
            f"{lesser}"
        )
    blend = blended(first, second, at=at, of=kin(place.folder))
    done = poured(
        place,
        lesser,
        further,
        into=into,
        litres=None if litres is None else units.litres(litres),
        at=at,
        notes=(blend_note(blend), ""),
    )
    _echo(place, done)
    typer.echo(
        f"  {into} carries on from {lesser}, which is not as far on. It must clear and be proven "
        "again. Its gravity is worked out, so take a reading."
    )


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
    from ..diary.mingling import top_up as topped
    from ..shelf.pouring import spare_is

    place, name, at = _place(ctx, vessel, shelf, when)
    what = spare_is(place.open(from_), place.open(name), at=at)
    done = topped(
        place,
        name,
        spare=from_,
        litres=units.added_l(litres),
        working=what.feeds,
        at=at,
        note=note,
    )
    _echo(place, done)
    _say_spare(what, name, from_)


def _say_spare(what: Spare, name: str, spare: str) -> None:
    """What the spare was taken for."""
    if text := _SAID[what].format(name=name, spare=spare):
        typer.echo(f"  {text}")


def _place(
    ctx: typer.Context, vessel: str, shelf: Path | None, when: str | None
) -> tuple[Shelf, str, datetime]:
    """Shelf, jar and moment of an act over several jars."""
    place, name = placed(vessel, shelf)
    place.check_there(name)
    moment = place.moment(name, when, now=clock_of(ctx)())
    return place, name, moment.when


def _echo(place: Shelf, done: Poured) -> None:
    """Say each row that was written."""
    for jar, row in done.rows.items():
        typer.echo(f"{place.path(jar).stem}: {visit_text(row)}.")
    say(place.told())
