"""The shelf at a glance. Heavy libraries are loaded inside."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterable, Iterator
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal, TypeVar

import typer

from ..diary.folder import Unread, at_hand
from ..diary.places import shelf_folder, typed_again
from ..diary.shelf import shelf_at
from ..errors import InputError
from .asking import Scheduler, Width, Workers
from .common import At, Folder, clock_of, moment_asked, say, terminal_width

if TYPE_CHECKING:
    from datetime import datetime

    from ..course.judgement import Judgement
    from ..diary.shelf import Shelf
    from ..shelf.overview import Glance, Line

__all__ = ["no_diaries", "progress", "shelf", "show"]

_WORTH_MORE_CORES = 40  # jars: from here on starting processes takes less time than it saves
_FEWEST = 20  # items worth a bar
_HELD = 24  # judgements to be drawn: of more, draws would fill the memory
Form = Literal["words", "json", "csv"]
_T = TypeVar("_T")


def shelf(
    ctx: typer.Context,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print the objects of verdict --json as a list.")
    ] = False,
    as_csv: Annotated[
        bool, typer.Option("--csv", help=("Print a table for other programs."))
    ] = False,
    output: Annotated[
        Path | None,
        typer.Option(
            "--output", "-o", help=("Also draw it: .png, .svg or .pdf."), show_default=False
        ),
    ] = None,
    width: Width = 19.0,
    ics: Annotated[
        Path | None,
        typer.Option(help="Write the steps to a calendar file, .ics.", show_default=False),
    ] = None,
    html: Annotated[
        Path | None,
        typer.Option(
            help=("Write everything to one page to read or print, .html."), show_default=False
        ),
    ] = None,
    at: At = None,
    workers: Workers = None,
    scheduler: Scheduler = "",
    shelf: Folder = None,
) -> None:
    """Show every jar on a line: go or wait, when, and what.

    What is due first comes first. A diary that cannot be read says why.

    Examples: bubblerate shelf; bubblerate shelf --at 2026-11-20; bubblerate shelf --ics shelf.ics

    Raises
    ------
    BubbleRateError
        If there is no such shelf, its settings cannot be read, or the picture cannot be saved.
    """
    if as_json and as_csv:
        raise InputError("choose --json or --csv")
    where = shelf_at(shelf_folder(shelf))
    if output is not None:
        from ..show.pictures.page import picture_path

        picture_path(output)  # before the work, not after it
    if html is not None and html.suffix.lower() != ".html":
        raise InputError(f"{html.name}: the name of this page must end in .html")
    form: Form = "json" if as_json else "csv" if as_csv else "words"
    asked_at = moment_asked(at, now=clock_of(ctx)())
    judged: dict[str, Judgement] = {}
    lines = show(
        where,
        asked_at,
        form=form,
        workers=workers,
        scheduler=scheduler,
        judged=None if output is None else judged,
    )
    if ics is not None or html is not None or output is not None:
        from .shelf_files import calendar_of, page_of, picture_of
    if ics is not None:
        path = calendar_of(where, ics, at=asked_at)
        typer.echo(f"Calendar saved as {path}", err=form != "words")
    if html is not None:
        page_of(where, html, at=asked_at)
        typer.echo(f"Page saved as {html}", err=form != "words")
    if output is not None:
        path = picture_of(where, lines, output, judged=judged, width_cm=width)
        typer.echo(f"Picture saved as {path}", err=form != "words")


def show(
    shelf: Shelf,
    at: datetime,
    *,
    form: Form = "words",
    workers: int | None = None,
    scheduler: str = "",
    judged: dict[str, Judgement] | None = None,
) -> list[Line]:
    """Judge every vessel of a shelf, print what was found, and give it in that order.

    Parameters
    ----------
    shelf : Shelf
    at : datetime
        The moment asked about, aware.
    form : {"words", "json", "csv"}
        For a person, or for a program.
    workers : int, optional
        Processes to work with; by default one, or all cores for a large shelf.
    scheduler : str
        Address of a Dask scheduler, or "".
    judged : dict, optional
        Filled with the judgements by vessel, where the jars are few and judged here.

    Returns
    -------
    list of Line
        What is due first stands first.

    Raises
    ------
    ConfigError
        If the settings cannot be read.
    Exit
        With 2, where no diary could be read.
    """
    glances = _glances(shelf, at, workers=workers, scheduler=scheduler, judged=judged)
    lines = [one.line for one in glances]
    if form == "json":
        _print_json(glances)
    elif form == "csv":
        from ..show.shelf_text import shelf_csv

        typer.echo(shelf_csv(lines), nl=False)
    elif lines:
        _print_table(glances, at)
    say(shelf.told())
    if not lines:
        typer.echo(no_diaries(shelf.folder), err=form != "words")
    elif all(isinstance(one, Unread) for one in lines):
        raise typer.Exit(2)  # no question was answered
    return lines


def _glances(
    shelf: Shelf,
    at: datetime,
    *,
    workers: int | None,
    scheduler: str,
    judged: dict[str, Judgement] | None,
) -> list[Glance]:
    """Judge every vessel; what is due first comes first."""
    from ..shelf.executors import executor_for, in_order
    from ..shelf.overview import due_first, glance, unread

    jars = len(shelf.names())
    if workers is None and not scheduler and jars < _WORTH_MORE_CORES:
        workers = 1
    work = partial(glance, at=at, settings=shelf.settings)
    if judged is not None and workers == 1 and jars <= _HELD:
        work = partial(work, keep=lambda one: judged.update({one.verdict.vessel: one}))
    with executor_for(workers=workers, scheduler=scheduler) as executor:
        found = in_order(
            work,
            at_hand(shelf.diaries(), at),
            executor=executor,
            lost=lambda one, error: unread(
                Unread(vessel=one.vessel, error=f"{one.vessel}: {error}")
            ),
        )
        return due_first(progress(found, total=jars, label="judging"))


def _print_json(glances: list[Glance]) -> None:
    """Print the objects of verdict --json; what cannot be read is reported on stderr too."""
    objects = [one.as_json for one in glances]
    typer.echo(json.dumps(objects, indent=2, ensure_ascii=False, allow_nan=False))
    for one in glances:
        if isinstance(one.line, Unread):
            typer.echo(f"bubblerate: {one.line.error}", err=True)


def _print_table(glances: list[Glance], at: datetime) -> None:
    from ..shelf.common_move import common_move
    from ..show.shelf_text import shelf_text

    move = common_move((one.departure for one in glances if one.departure), at=at)
    lines = [one.line for one in glances]
    typer.echo(shelf_text(lines, move, width=terminal_width(), colour=_in_colour()))


def no_diaries(folder: Path) -> str:
    """Say that the shelf is empty, and how to fill it."""
    start = typed_again(folder / "quince.csv", "start", "--litres", "4.5")
    return f"No diary in {folder} yet; start one: {start}"


def _in_colour() -> bool:
    return (
        sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    )


def progress(done: Iterable[_T], *, total: int | None, label: str) -> Iterator[_T]:
    """Pass on what is done, one by one, and show the progress.

    Parameters
    ----------
    done : iterable
    total : int or None
        How many there will be; None if that is not known.
    label : str
        What is being done.

    Yields
    ------
    object
        What `done` gave. Nothing is shown where stderr is not a terminal, or of fewer than 20.
    """
    few = total is not None and total < _FEWEST
    if few or sys.stderr is None or not sys.stderr.isatty():
        yield from done
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn
    from rich.progress import TimeRemainingColumn as TimeLeft

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeLeft())
    # drawn by hand: a thread of its own could be caught halfway when worker processes are begun
    with Progress(
        *columns, console=Console(stderr=True), transient=True, auto_refresh=False
    ) as bar:
        task = bar.add_task(label, total=total)
        for item in done:
            yield item
            bar.update(task, advance=1, refresh=True)
