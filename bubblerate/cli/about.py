"""The command about: the settings of one jar, shown or written into the settings beside it."""

from __future__ import annotations

from typing import Annotated

import typer

from ..diary.about_jar import about_doubts, about_of
from ..diary.shelf import placed
from ..show.about_text import about_text, changed_text
from .common import Folder, Vessel, say

__all__ = ["about"]


def about(
    vessel: Vessel,
    style: Annotated[
        str | None,
        typer.Option(
            help=("What is in it, in your own words: perry, plum wine."), show_default=False
        ),
    ] = None,
    finish: Annotated[
        str | None, typer.Option(help="Gravity at which it should finish.", show_default=False)
    ] = None,
    ph: Annotated[str | None, typer.Option(help="Its measured pH.", show_default=False)] = None,
    litres: Annotated[
        str | None,
        typer.Option(help=("Litres of wine in it, if no row says so."), show_default=False),
    ] = None,
    full: Annotated[
        str | None,
        typer.Option(help="Litres it holds when properly full.", show_default=False),
    ] = None,
    spare_for: Annotated[
        str | None,
        typer.Option(help=("The jar that this one is kept to top up."), show_default=False),
    ] = None,
    drink_from: Annotated[
        str | None,
        typer.Option(help=("Months in bottle before the first glass."), show_default=False),
    ] = None,
    best_by: Annotated[
        str | None, typer.Option(help="Months that it keeps in bottle.", show_default=False)
    ] = None,
    forget: Annotated[
        list[str] | None,
        typer.Option(help="Name of an option above, to clear it.", show_default=False),
    ] = None,
    shelf: Folder = None,
) -> None:
    """Set what is known about a jar, or show it.

    Examples: bubblerate about quince --style perry --ph 3.4 --full 4.6; bubblerate about quince;
    bubblerate about jug --spare-for quince; bubblerate about quince --forget finish

    Raises
    ------
    BubbleRateError
        If there is no such diary, a word cannot be understood, or the settings cannot be read or
        written.
    """
    place, name = placed(vessel, shelf)
    place.check_there(name)
    jar = place.path(name).stem
    typed = {
        "style": style,
        "finish": finish,
        "ph": ph,
        "litres": litres,
        "full": full,
        "spare-for": spare_for,
        "drink-from": drink_from,
        "best-by": best_by,
    }
    said = about_of(jar, typed, forget=forget or ())
    before = place.settings
    if not said:
        say(place.open(name).warnings)
        typer.echo(about_text(place.path(name), before.vessel(jar)))
        return
    from ..diary.settings_writing import say_of

    now = say_of(place.folder, jar, said)
    typer.echo(changed_text(jar, before.vessel(jar), now, [*said]))
    for doubt in about_doubts(place, said):
        typer.echo(f"  {doubt}", err=True)
