"""The command about: the settings of one jar, shown or written into the settings beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Final

import typer

from ..diary import units
from ..diary.gravity_scales import reading
from ..diary.shelf import placed
from ..diary.styles import near_kind
from ..errors import InputError
from ..show.about_text import about_text, changed_text
from .common import Folder, Vessel, say

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from ..diary.shelf import Shelf

__all__ = ["about"]

# option -> key of the settings, and how its text is read
_KEYS: Final[Mapping[str, tuple[str, Callable[[str], float | str]]]] = {
    "style": ("style", str.strip),
    "finish": ("finish", lambda text: reading(text).sg),
    "ph": ("ph", lambda text: units.number(text, "--ph")),
    "litres": ("litres", units.litres),
    "full": ("full_litres", units.litres),
    "spare-for": ("spare_for", str.strip),
    "drink-from": ("drink_from_months", lambda text: units.number(text, "--drink-from")),
    "best-by": ("best_by_months", lambda text: units.number(text, "--best-by")),
}


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
    said = _read(typed, forget or [])
    if said.get("spare_for") == jar:
        raise InputError(f"--spare-for is {jar} itself; name the jar that it tops up")
    before = place.settings
    if not said:
        say(place.open(name).warnings)
        typer.echo(about_text(jar, before.vessel(jar)))
        return
    from ..diary.settings_writing import say_of

    now = say_of(place.folder, jar, said)
    typer.echo(changed_text(jar, before.vessel(jar), now, [*said]))
    for doubt in _doubts(place, said):
        typer.echo(f"  {doubt}", err=True)


def _doubts(shelf: Shelf, said: dict[str, float | str | None]) -> Iterator[str]:
    """What looks like a mistake in what was written."""
    spare, style = said.get("spare_for"), said.get("style")
    if isinstance(spare, str) and not shelf.has(spare):
        yield f"There is no diary {spare} on this shelf yet."
    near = near_kind(style) if isinstance(style, str) else None
    if near is not None:
        yield f"Did you mean {near}? A style that is not known counts as fruit wine."


def _read(typed: dict[str, str | None], forget: list[str]) -> dict[str, float | str | None]:
    """Keys of the settings with what is to stand there; None where one is to go."""
    said: dict[str, float | str | None] = {}
    for option in forget:
        if option.removeprefix("--") not in _KEYS:
            raise InputError(f"--forget is {option}; write one of {', '.join(_KEYS)}")
        said[_KEYS[option.removeprefix("--")][0]] = None
    for option, text in typed.items():
        if text is None:
            continue
        key, read = _KEYS[option]
        if key in said:
            raise InputError(f"--{option} is both set and forgotten; leave one out")
        if not text.strip():
            raise InputError(f"--{option} is empty; to clear it write --forget {option}")
        said[key] = read(text)
    return said
