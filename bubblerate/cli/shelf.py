"""The shelf at a glance. The libraries of the sums are loaded inside."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import Annotated

import typer

from ..config import settings
from ..diary import Diary
from ..errors import InputError
from ..jars import diaries
from .common import Shelf, now, shelf_folder, terminal_width

__all__ = ["no_diaries", "shelf", "show"]


def shelf(
    as_json: Annotated[
        bool, typer.Option("--json", help="Print a list of the objects of verdict --json.")
    ] = False,
    as_csv: Annotated[bool, typer.Option("--csv", help="Print a table for programs.")] = False,
    shelf: Shelf = None,
) -> None:
    """Show every vessel on a line: last count, when it falls quiet, go or wait, what next.

    What is due first stands first; a diary that cannot be read says why; bottled wine is last.

    Examples: bubblerate shelf; bubblerate shelf --csv
    """
    if as_json and as_csv:
        raise InputError("choose --json or --csv")
    folder = shelf_folder(shelf)
    show(folder, as_json=as_json, as_csv=as_csv)


def show(folder: Path, *, as_json: bool = False, as_csv: bool = False) -> None:
    """Judge every vessel of a folder and print what was found."""
    from ..common_move import common_move
    from ..jars import Unread, in_bottle
    from ..overview import due_first, line
    from ..report import as_object
    from ..shelf import judge
    from ..shelf_report import shelf_csv, shelf_text

    known, at = settings(folder), now()
    found = diaries(folder, known)
    judged = due_first(
        [judge(d, at=at, settings=known) if isinstance(d, Diary) else d for d in found]
    )
    lines = [line(one) for one in judged]
    if as_json:
        # the list holds what verdict prints and nothing else, so the rest goes to stderr
        objects = [as_object(one) for one in judged if not isinstance(one, Unread)]
        typer.echo(json.dumps(objects, indent=2, ensure_ascii=False, allow_nan=False))
        for one in judged:
            if isinstance(one, Unread):
                typer.echo(f"bubblerate: {one.error}", err=True)
    elif as_csv:
        typer.echo(shelf_csv(lines), nl=False)
    elif lines:
        live = [d for d in found if isinstance(d, Diary) and not in_bottle(d)]
        move = common_move(live, at=at)
        typer.echo(shelf_text(lines, move, width=terminal_width(), colour=_in_colour()))
    if not found:
        typer.echo(no_diaries(folder), err=as_json or as_csv)
    elif all(isinstance(one, Unread) for one in judged):
        raise typer.Exit(2)  # no question was answered


def no_diaries(folder: Path) -> str:
    """Say that the shelf is empty, and how to fill it."""
    return f"No diary in {folder} yet; begin one: bubblerate start quince --litres 4.5"


def _in_colour() -> bool:
    return (
        sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    )
