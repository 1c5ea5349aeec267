"""The shelf at a glance. The libraries of the sums are loaded inside."""

from __future__ import annotations

import json
import os
import sys
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ..diary.folder import Unread, diaries, names
from ..diary.reading import read
from ..diary.settings_file import settings
from ..errors import InputError
from .common import Scheduler, Shelf, Width, Workers, now, say_copies, shelf_folder, terminal_width

if TYPE_CHECKING:
    from ..shelf.overview import Line

__all__ = ["no_diaries", "shelf", "show"]

_WORTH_MORE_CORES = 40  # jars: from here on starting processes takes less time than it saves


def shelf(
    as_json: Annotated[
        bool, typer.Option("--json", help="Print a list of the objects of verdict --json.")
    ] = False,
    as_csv: Annotated[bool, typer.Option("--csv", help="Print a table for programs.")] = False,
    output: Annotated[
        Path | None,
        typer.Option("--output", "-o", help="Draw it too: .png, .svg or .pdf.", show_default=False),
    ] = None,
    width: Width = 19.0,
    workers: Workers = None,
    scheduler: Scheduler = "",
    shelf: Shelf = None,
) -> None:
    """Show every vessel on a line: last count, when it falls quiet, go or wait, what next.

    What is due first stands first; a diary that cannot be read says why; bottled wine is last.

    Examples: bubblerate shelf; bubblerate shelf -o shelf.png; bubblerate shelf --csv
    """
    if as_json and as_csv:
        raise InputError("choose --json or --csv")
    folder = shelf_folder(shelf)
    if output is not None:
        from ..show.pictures.page import picture_path

        picture_path(output)  # before the work, not after it
    lines = show(folder, as_json=as_json, as_csv=as_csv, workers=workers, scheduler=scheduler)
    if output is not None:
        path = _drawn(folder, lines, output, width_cm=width)
        typer.echo(f"Drawn in {path}", err=as_json or as_csv)


def show(
    folder: Path,
    *,
    as_json: bool = False,
    as_csv: bool = False,
    workers: int | None = None,
    scheduler: str = "",
) -> list[Line]:
    """Judge every vessel of a folder, print what was found, and give it in that order."""
    from ..shelf.common_move import common_move
    from ..shelf.executors import executor_for, in_order
    from ..shelf.overview import Glance, due_first, glance
    from ..show.shelf_text import shelf_csv, shelf_text
    from .progress import progress

    known, at, jars = settings(folder), now(), len(names(folder))
    if workers is None and not scheduler and jars < _WORTH_MORE_CORES:
        workers = 1
    with executor_for(workers=workers, scheduler=scheduler) as executor:
        found = in_order(
            partial(glance, at=at, settings=known),
            diaries(folder, known),
            executor=executor,
            lost=lambda one, error: Glance(
                line=Unread(vessel=one.vessel, error=f"{one.vessel}: {error}")
            ),
        )
        glances = due_first(progress(found, total=jars, label="judging"))
    lines = [one.line for one in glances]
    if as_json:
        # the list holds what verdict prints and nothing else, so the rest goes to stderr
        objects = [one.as_json for one in glances if one.as_json is not None]
        typer.echo(json.dumps(objects, indent=2, ensure_ascii=False, allow_nan=False))
        for one in lines:
            if isinstance(one, Unread):
                typer.echo(f"bubblerate: {one.error}", err=True)
    elif as_csv:
        typer.echo(shelf_csv(lines), nl=False)
    elif lines:
        move = common_move((one.departure for one in glances if one.departure), at=at)
        typer.echo(shelf_text(lines, move, width=terminal_width(), colour=_in_colour()))
    say_copies(folder)
    if not lines:
        typer.echo(no_diaries(folder), err=as_json or as_csv)
    elif all(isinstance(one, Unread) for one in lines):
        raise typer.Exit(2)  # no question was answered
    return lines


def _drawn(folder: Path, lines: list[Line], output: Path, *, width_cm: float) -> Path:
    """Draw the vessels that are due first, judged once more one by one: draws fill the memory."""
    from ..show.pictures.shelf import MOST_PANELS, save_shelf
    from ..verdict.judgement import judge

    asked = {one.vessel: one.verdict.asked_at for one in lines if not isinstance(one, Unread)}
    chosen, known = [*asked][:MOST_PANELS], settings(folder)
    if not chosen:
        raise InputError(f"{output}: not drawn, for there is no diary in {folder} yet")
    opened = (read(folder / f"{name}.csv", pitched=known.vessel(name).pitched) for name in chosen)
    return save_shelf(
        (judge(one, at=asked[one.vessel], settings=known) for one in opened),
        output,
        vessels=len(chosen),
        at=asked[chosen[0]],
        left_out=[one.vessel for one in lines if one.vessel not in chosen],
        width_cm=width_cm,
    )


def no_diaries(folder: Path) -> str:
    """Say that the shelf is empty, and how to fill it."""
    return f"No diary in {folder} yet; begin one: bubblerate start quince --litres 4.5"


def _in_colour() -> bool:
    return (
        sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    )
