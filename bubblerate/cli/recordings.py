"""All recordings of a folder at once: listened to, shown, and written down where asked."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import typer

from ..diary.shelf import placed
from ..diary.typed import writable
from ..diary.visit import Visit
from ..errors import FaultsError, InputError
from ..show.sound_text import heard_object, heard_text
from ..text import plural
from .common import say

if TYPE_CHECKING:
    from ..diary.sound.folder import Recording

__all__ = ["Told", "listen_all"]


class Told(NamedTuple):
    """What the maker typed beside the folder: the jar, and what each row holds."""

    into: str | None
    temp_c: float | None
    note: str
    anyway: bool
    shelf: Path | None


def listen_all(folder: Path, told: Told, *, as_json: bool, onsets: bool) -> None:
    """Count the bubbles in each sound file of a folder; write all rows or none.

    Raises
    ------
    BubbleRateError
        If a file cannot be heard, or the rows cannot be written; files that can are shown first.
    """
    from ..diary.sound.folder import recordings

    some = recordings(folder)
    typer.echo(_as_json(some) if as_json else _as_text(some, onsets=onsets))
    faults = [one.fault for one in some if one.fault]
    if faults:
        raise FaultsError([*faults, *(["nothing was written"] if told.into else [])])
    if told.into is not None:
        _write(told.into, some, told)


def _as_text(some: "Sequence[Recording]", *, onsets: bool) -> str:
    return "\n".join(
        heard_text(one.heard, one.path.name, onsets=onsets) for one in some if one.heard
    )


def _as_json(some: "Sequence[Recording]") -> str:
    told = [
        {"file": one.path.name} | (heard_object(one.heard) if one.heard else {"fault": one.fault})
        for one in some
    ]
    return json.dumps({"recordings": told}, indent=2, allow_nan=False)


def _write(into: str, some: tuple["Recording", ...], told: Told) -> None:
    where, name = placed(into, told.shelf)
    where.check_there(name)
    unsure = [one.path.name for one in some if one.heard and not one.heard.trusted]
    if unsure and not told.anyway:
        raise InputError(
            f"not written into {into}: the counts of {', '.join(unsure)} cannot be trusted; to "
            "write them all the same, add --anyway"
        )
    visits = _visits(some, told)
    held = where.open(name).diary.visits
    there = {(visit.when, visit.bubbles) for visit in held}
    new = [visit for visit in visits if (visit.when, visit.bubbles) not in there]
    vessel, double = where.path(name).stem, len(visits) - len(new)
    known = f"; {plural(double, 'row')} already there" if double else ""
    if not new:
        typer.echo(f"{vessel}: nothing to write{known}.")
        return
    written = where.extend(name, new, held=held)
    say(written.warnings)
    typer.echo(
        f"{vessel}: {plural(len(new), 'row')} written, from line {written.line} on, each at the "
        f"time its file was saved{known}."
    )


def _visits(some: tuple["Recording", ...], told: Told) -> list[Visit]:
    """Rows in order of time."""
    from ..diary.sound.folder import began

    starts = began(some)
    with writable():
        return [
            Visit(
                when=starts[one.path],
                bubbles=one.heard.bubbles,
                seconds=round(one.heard.seconds, 1),
                temp_c=told.temp_c,
                note=told.note,
            )
            for one in sorted(some, key=lambda one: one.saved)
            if one.heard
        ]
