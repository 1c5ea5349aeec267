"""The command that writes down a gravity, from a hydrometer or a refractometer.

Nothing heavy is loaded for a hydrometer.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from typing import Annotated, Literal, TypeAlias

import typer

from ..diary.events import Event
from ..diary.gravity_scales import SCALES, Scale, reading, scale_named
from ..diary.places import typed_again
from ..diary.settings import INSTRUMENTS, Instrument, Settings
from ..diary.settings_file import FILE_NAME
from ..diary.typed import typed_temp, writable
from ..diary.visit import Visit
from ..errors import BubbleRateError, InputError
from .common import Folder, Note, Temp, Vessel, When, clock_of
from .rows import Entry, entry, write_down
from .terminal import is_terminal

__all__ = ["gravity"]

_By: TypeAlias = Instrument | Literal["unsaid"]


def gravity(
    ctx: typer.Context,
    vessel: Vessel,
    sg: Annotated[
        str | None, typer.Argument(help="Reading: 1.004, 1004 or .996.", show_default=False)
    ] = None,
    oechsle: Annotated[
        str | None, typer.Option(help="Or in degrees Oechsle.", show_default=False)
    ] = None,
    brix: Annotated[
        str | None, typer.Option(help="Or in Brix or Plato.", show_default=False)
    ] = None,
    refractometer: Annotated[
        bool | None,
        typer.Option(
            "--refractometer/--hydrometer",
            help="What you read the Brix on (it asks once for each jar).",
            show_default=False,
        ),
    ] = None,
    sample_temp: Annotated[
        str | None,
        typer.Option(help="Temperature of the sample: 18.5 or 65F.", show_default=False),
    ] = None,
    temp: Temp = None,
    when: When = None,
    note: Note = "",
    shelf: Folder = None,
) -> None:
    """Write down a gravity reading.

    Examples: bubblerate gravity quince 1.004 --sample-temp 17;
    bubblerate gravity quince --brix 8.2 --refractometer

    Raises
    ------
    BubbleRateError
        If there is no such diary, a word cannot be understood, or the row cannot be written.
    """
    if sum(value is not None for value in (sg, oechsle, brix)) != 1:
        raise InputError("give one gravity: 1.004, or --oechsle 4, or --brix 1.0")
    typed: dict[Scale, str | None] = {"sg": sg, "oechsle": oechsle, "brix": brix}
    scale = next(scale for scale in SCALES if typed[scale] is not None)
    text, in_brix = typed[scale] or "", scale_named(typed[scale] or "", scale=scale) == "brix"
    if refractometer and not in_brix:
        raise InputError("a refractometer shows Brix: write --brix 8.2 --refractometer")
    place = entry(vessel, shelf, when, now=clock_of(ctx)())
    if sample_temp is not None and refractometer is None:
        refractometer = False  # a refractometer has no sample to be warm
    by: _By = _shown_by(place, refractometer) if in_brix else "hydrometer"
    beside = Visit(when=place.moment.when, temp_c=typed_temp(temp), event=Event.SAMPLED, note=note)
    if by == "refractometer":
        if sample_temp is not None:
            raise InputError("--sample-temp is for a hydrometer; leave it out")
        _by_refractometer(place, beside, text)
        return
    found = reading(text, scale=scale, sample=sample_temp)
    with writable():
        visit = _with(beside, sg=found.sg, sample_c=found.sample_c)
    written = write_down(place, visit)
    if by == "unsaid":
        strike = typed_again(place.shelf.path(place.name), "strike", str(written.line))
        typer.echo(
            f"  Saved as a hydrometer reading. If you used a refractometer: {strike}, then enter "
            "it again with --refractometer",
            err=True,
        )


def _with(visit: Visit, **found: float | None) -> Visit:
    return replace(visit, **found)  # type: ignore[arg-type]  # numbers all, by name


def _shown_by(place: Entry, refractometer: bool | None) -> _By:
    """Instrument that showed the Brix: as typed, as set, or as a person answers once."""
    if refractometer is not None:
        return "refractometer" if refractometer else "hydrometer"
    shelf, jar = place.shelf, place.shelf.path(place.name).stem
    if not isinstance(shelf.said, Settings):
        return "unsaid"
    if (settled := shelf.said.vessel(jar).brix_by) is not None:
        return settled
    answer = _asked() if is_terminal() else None
    if answer is None:
        return "unsaid"
    from ..diary.settings_writing import say_of

    try:
        say_of(shelf.folder, jar, {"brix_by": answer})
        path = shelf.folder / FILE_NAME
        typer.echo(f'  Saved as brix_by = "{answer}" in {path}; it will not ask again.')
    except BubbleRateError as err:  # which must not cost the reading
        typer.echo(f"bubblerate: {err}", err=True)
    return answer


def _asked() -> Instrument | None:
    """Ask until one of the two is named; None if nobody answers."""
    while True:
        typer.echo("Did you read that on a hydrometer or a refractometer? [h/r] ", nl=False)
        line = sys.stdin.readline(100)
        if not line:
            typer.echo()
            return None
        typed = line.strip().lower()
        for name in INSTRUMENTS:
            if typed and name.startswith(typed):
                return name


def _by_refractometer(place: Entry, beside: Visit, text: str) -> None:
    """Write down what a refractometer shows: sugar at first, later a figure that no sum uses."""
    from ..diary.refractometer import brix_read, estimate, must_sg, still_sugar

    brix = brix_read(text)
    try:
        before = place.shelf.open(place.name).diary
    except BubbleRateError:  # a fault above, which is reported once the row is down
        before = None
    sugar = before is not None and still_sugar(before, beside.when)
    with writable():
        sg = must_sg(brix) if sugar else None
        visit = _with(beside, sg=sg, refractometer_brix=brix)
    write_down(place, visit)
    if sugar:
        return
    guess = None if before is None else estimate(before, visit)
    if guess is None:
        typer.echo(
            "  That gives no gravity: it needs the Brix of the must, and nothing added since. Use "
            "a hydrometer."
        )
    else:
        typer.echo(
            f"  The gravity is about {guess.sg:.3f} ({guess.low:.3f} to {guess.high:.3f}) by this "
            "and the Brix of the must. It is only an estimate.\n  It proves nothing for bottling "
            "and is not used in the sums. Use a hydrometer for that."
        )
