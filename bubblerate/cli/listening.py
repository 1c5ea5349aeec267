"""The command that listens: bubbles counted in a sound file of an airlock."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ..diary.visit import Visit
from ..errors import InputError
from ..text import format_rate, format_rates, format_seconds
from .common import Folder, Note, Temp, When, clock_of, vessel_names
from .rows import entry, typed_temp, writable, write_down

if TYPE_CHECKING:
    from ..diary.sound.bubbles import Heard


__all__ = ["listen"]


def listen(
    ctx: typer.Context,
    sound_file: Annotated[
        Path,
        typer.Argument(
            metavar="FILE", help="WAV of the airlock, 5 minutes or so.", show_default=False
        ),
    ],
    onsets: Annotated[bool, typer.Option("--onsets", help="List when each bubble began.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    plot: Annotated[
        Path | None,
        typer.Option(
            metavar="PICTURE", help="Draw what was heard: .png, .svg or .pdf.", show_default=False
        ),
    ] = None,
    into: Annotated[
        str | None,
        typer.Option(
            metavar="VESSEL",
            help="Write the count into this vessel's diary.",
            show_default=False,
            autocompletion=vessel_names,
        ),
    ] = None,
    anyway: Annotated[
        bool, typer.Option("--anyway", help="Write it even if it is not to be trusted.")
    ] = False,
    temp: Temp = None,
    when: When = None,
    note: Note = "",
    shelf: Folder = None,
) -> None:
    """Count the bubbles in a sound file: lay the phone by the airlock, save as WAV.

    A sound file is taken to end now; --when says when it began instead.

    Examples: bubblerate listen quince.wav; bubblerate listen quince.wav --into quince --temp 18

    Raises
    ------
    BubbleRateError
        If the file cannot be heard, a word cannot be understood, or the row cannot be written.
    """
    if into is None and (anyway or note or temp is not None or when is not None):
        raise InputError("--anyway, --temp, --when and --note go with --into VESSEL")
    if into is not None and as_json:
        raise InputError("--json prints one object and nothing else; leave it out, or --into")
    temp_c = typed_temp(temp)
    from ..diary.sound.bubbles import listen as heard_in

    heard, ended = heard_in(sound_file), clock_of(ctx)()
    typer.echo(_as_json(heard) if as_json else _as_text(heard, sound_file.name, onsets=onsets))
    if plot is not None:
        _draw(heard, sound_file, plot, silent=as_json)
    if into is None:
        return
    if not heard.trusted and not anyway:
        raise InputError(f"not written into {into}: the count is not to be trusted; --anyway would")
    began = ended - timedelta(seconds=round(heard.seconds))
    place = entry(into, shelf, began.isoformat() if when is None else when, now=ended)
    with writable():
        visit = Visit(
            when=place.moment.when,
            bubbles=heard.bubbles,
            seconds=round(heard.seconds, 1),
            temp_c=temp_c,
            note=note,
        )
    write_down(place, visit)


def _draw(heard: Heard, sound_file: Path, output: Path, *, silent: bool) -> None:
    from ..show.pictures.sound import save_sound

    picture = save_sound(heard, sound_file, output)
    if not silent:
        typer.echo(f"  Drawn in {picture}")


def _as_text(heard: Heard, name: str, *, onsets: bool) -> str:
    spell = format_seconds(round(heard.seconds, 1))
    lines = [
        f"{name}: {heard.bubbles} in {spell} = {format_rate(heard.per_min)} "
        f"({format_rates(heard.low80, heard.high80)})",
        "  The bubbles stand out; the count can be written down."
        if heard.trusted
        else f"  Cannot tell. {heard.why}",
    ]
    if onsets:
        lines += [f"  {i:>4}  {at_s:9.2f} s" for i, at_s in enumerate(heard.onsets_s, 1)]
    return "\n".join(lines)


def _as_json(heard: Heard) -> str:
    names = ("bubbles", "seconds", "per_min", "low80", "high80", "onsets_s", "trusted")
    found = {name: getattr(heard, name) for name in names}
    return json.dumps(found, indent=2, allow_nan=False)
