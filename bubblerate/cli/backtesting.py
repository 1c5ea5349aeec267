"""The command that looks back: backtest. Heavy libraries are loaded inside."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ..diary.folder import Unread
from ..diary.places import diary_path, shelf_folder
from ..diary.settings import Settings
from ..diary.shelf import shelf_at
from ..errors import BubbleRateError, InputError
from .asking import Below, Scheduler, Workers, known_threshold
from .common import Folder, opened, terminal_width, vessel_names
from .shelf import no_diaries, progress

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ..diary.visit import Diary
    from ..shelf.backtest import LeftOut, Replay, Task
    from ..shelf.coverage import Backtest

__all__ = ["backtest"]


def backtest(
    vessels: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[FILE]...",
            help="Names on the shelf, or paths ending in .csv (default: the whole shelf).",
            show_default=False,
            autocompletion=vessel_names,
        ),
    ] = None,
    below: Below = None,
    output: Annotated[
        Path | None,
        typer.Option(
            "--output", "-o", help=("Also draw it: .png, .svg or .pdf."), show_default=False
        ),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    as_csv: Annotated[
        bool, typer.Option("--csv", help="Print every evening as a table for other programs.")
    ] = False,
    workers: Workers = None,
    scheduler: Scheduler = "",
    shelf: Folder = None,
) -> None:
    """Check past forecasts on finished jars.

    It asks again as on each evening, and compares that with what happened.

    A jar that never fell below the threshold, or was racked or fed first, is left out by name.

    Examples: bubblerate backtest; bubblerate backtest quince medlar -o trust.png

    Raises
    ------
    BubbleRateError
        If there is no such shelf, no forecast could be checked, or the picture cannot be saved.
    """
    from ..shelf.coverage import in_hindsight
    from ..show.pictures.page import picture_path

    if as_json and as_csv:
        raise InputError("choose --json or --csv")
    if output is not None:
        picture_path(output)  # before the work, not after it
    tasks = _tasks(vessels, shelf, known_threshold(below))
    total = len({*vessels}) if vessels else len(shelf_at(shelf_folder(shelf)).names())
    found = in_hindsight(_replayed(tasks, total=total, workers=workers, scheduler=scheduler))
    _print(found, as_json=as_json, as_csv=as_csv)
    if not found.replays:
        raise InputError(
            "no forecast could be checked; it needs a jar that was counted from its peak until "
            "some evenings after it fell below the threshold"
        )
    if output is not None:
        from ..show.pictures.backtest import save_backtest

        path = save_backtest(found, output)
        typer.echo(f"Picture saved as {path}", err=as_json or as_csv)


def _tasks(
    vessels: list[str] | None, shelf: Path | None, threshold_per_min: float | None
) -> Iterator[Task]:
    """What to replay, jar by jar; what cannot be read is reported on the way."""
    from ..shelf.backtest import Task

    for one, known in _opened(vessels, shelf):
        if isinstance(one, Unread):
            typer.echo(f"bubblerate: {one.error}", err=True)
        else:
            yield Task(diary=one, settings=known, threshold_per_min=threshold_per_min)


def _replayed(
    tasks: Iterator[Task], *, total: int, workers: int | None, scheduler: str
) -> list[Replay | LeftOut]:
    from ..shelf.backtest import lost, replayed
    from ..shelf.executors import executor_for, in_order

    with executor_for(workers=workers, scheduler=scheduler) as executor:
        done = in_order(replayed, tasks, executor=executor, lost=lost)
        return [*progress(done, total=total, label="looking back")]


def _print(found: Backtest, *, as_json: bool, as_csv: bool) -> None:
    from ..show.backtest_text import backtest_csv, backtest_object, backtest_text, left_out_text

    if as_json:
        typer.echo(json.dumps(backtest_object(found), indent=2, ensure_ascii=False))
    elif as_csv:
        typer.echo(backtest_csv(found.evenings), nl=False)
    elif found.replays:
        typer.echo(backtest_text(found, width=terminal_width()))
    if as_csv or not (as_json or found.replays):
        for out in found.left_out:
            typer.echo(f"bubblerate: left out {left_out_text(out)}", err=True)


def _opened(
    vessels: list[str] | None, shelf: Path | None
) -> Iterator[tuple[Diary | Unread, Settings]]:
    """Read each diary asked for once, with the settings beside it, or say why not."""
    if not vessels:
        where = shelf_at(shelf_folder(shelf))
        if not where.names():
            raise InputError(no_diaries(where.folder))
        yield from ((one, where.settings) for one in where.diaries())
        return
    # a name given twice counts once; a link that leads back to itself is reported when it is opened
    asked = {os.path.realpath(diary_path(name, shelf)): name for name in vessels}
    for path, name in asked.items():
        try:
            found = opened(name, shelf)
        except BubbleRateError as err:
            yield Unread(vessel=Path(path).stem, error=str(err)), Settings()
        else:
            yield found.diary, found.settings
