"""The command that listens: bubbles counted in a sound file of an airlock."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ..diary.typed import typed_temp, writable
from ..diary.visit import Visit
from ..errors import InputError
from ..show.sound_text import heard_object, heard_text
from .common import Folder, Note, Temp, When, clock_of, vessel_names
from .recordings import Told, listen_all
from .rows import entry, write_down

if TYPE_CHECKING:
    from ..diary.sound.bubbles import Heard


__all__ = ["listen"]


def listen(
    ctx: typer.Context,
    sound_file: Annotated[
        Path,
        typer.Argument(
            metavar="FILE",
            help="Recording of the airlock, about 5 minutes, or a folder of them.",
            show_default=False,
        ),
    ],
    onsets: Annotated[bool, typer.Option("--onsets", help="List the time of each bubble.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    plot: Annotated[
        Path | None,
        typer.Option(
            metavar="PICTURE", help="Draw what it heard: .png, .svg or .pdf.", show_default=False
        ),
    ] = None,
    into: Annotated[
        str | None,
        typer.Option(
            metavar="VESSEL",
            help="Write the count into this jar's diary.",
            show_default=False,
            autocompletion=vessel_names,
        ),
    ] = None,
    anyway: Annotated[
        bool, typer.Option("--anyway", help="Write it even if the count cannot be trusted.")
    ] = False,
    temp: Temp = None,
    when: When = None,
    note: Note = "",
    shelf: Folder = None,
) -> None:
    """Count the bubbles in a recording of the airlock.

    A recording is assumed to end now; --when says when it began instead. In a folder, each is
    assumed to end when its file was saved.

    Examples: bubblerate listen quince.wav; bubblerate listen quince.wav --into quince --temp 18

    Raises
    ------
    BubbleRateError
        If the file cannot be heard, a word cannot be understood, or the row cannot be written.
    """
    if into is None and (anyway or note or temp is not None or when is not None):
        raise InputError("--anyway, --temp, --when and --note go with --into VESSEL")
    if into is not None and as_json:
        raise InputError("--json and --into do not go together; leave one out")
    temp_c = typed_temp(temp)
    if sound_file.is_dir():
        if plot is not None or when is not None:
            raise InputError("--plot and --when go with one sound file, not with a folder")
        told = Told(into, temp_c, note, anyway, shelf)
        listen_all(sound_file, told, as_json=as_json, onsets=onsets)
        return
    from ..diary.sound.bubbles import listen as heard_in

    heard, ended = heard_in(sound_file), clock_of(ctx)()
    typer.echo(
        json.dumps(heard_object(heard), indent=2, allow_nan=False)
        if as_json
        else heard_text(heard, sound_file.name, onsets=onsets)
    )
    if plot is not None:
        _draw(heard, sound_file, plot, silent=as_json)
    if into is None:
        return
    if not heard.trusted and not anyway:
        raise InputError(
            f"not written into {into}: the count cannot be trusted; to write it all the same, "
            "add --anyway"
        )
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
        typer.echo(f"  Picture saved as {picture}")
