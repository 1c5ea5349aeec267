"""The command that looks back: backtest. The libraries of the sums are loaded inside."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ..diary.folder import Unread, diaries, names
from ..diary.settings import Settings
from ..diary.settings_file import settings
from ..errors import BubbleRateError, InputError
from .common import (
    Below,
    Scheduler,
    Shelf,
    Workers,
    diary_path,
    known_threshold,
    open_diary,
    shelf_folder,
    terminal_width,
    vessel_names,
)
from .progress import progress
from .shelf import no_diaries

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ..diary.visit import Diary
    from ..shelf.backtest import LeftOut, Replay

__all__ = ["backtest"]


def backtest(
    vessels: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[FILE]...",
            help="Names on the shelf, or paths ending in .csv; else the whole shelf.",
            show_default=False,
            autocompletion=vessel_names,
        ),
    ] = None,
    below: Below = None,
    output: Annotated[
        Path | None,
        typer.Option("--output", "-o", help="Draw it too: .png, .svg or .pdf.", show_default=False),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    as_csv: Annotated[
        bool, typer.Option("--csv", help="Print every evening as a table for programs.")
    ] = False,
    workers: Workers = None,
    scheduler: Scheduler = "",
    shelf: Shelf = None,
) -> None:
    """Try the forecasts on finished jars: ask again on each evening, and compare with the end.

    A jar that never fell below the threshold, or was racked or fed before, is left out and says so.

    Examples: bubblerate backtest; bubblerate backtest quince medlar -o trust.png
    """
    from ..shelf.backtest import Task, lost, replayed
    from ..shelf.coverage import in_hindsight
    from ..shelf.executors import executor_for, in_order
    from ..show.backtest_text import backtest_csv, backtest_object, backtest_text, left_out_text
    from ..show.pictures.page import picture_path

    if as_json and as_csv:
        raise InputError("choose --json or --csv")
    if output is not None:
        picture_path(output)  # before the work, not after it
    threshold = known_threshold(below)

    def tasks() -> Iterator[Task]:
        for one, known in _opened(vessels, shelf):
            if isinstance(one, Unread):
                typer.echo(f"bubblerate: {one.error}", err=True)
            else:
                yield Task(diary=one, settings=known, threshold_per_min=threshold)

    total = len(set(vessels)) if vessels else len(names(shelf_folder(shelf)))
    with executor_for(workers=workers, scheduler=scheduler) as executor:
        done = in_order(replayed, tasks(), executor=executor, lost=lost)
        results: list[Replay | LeftOut] = [*progress(done, total=total, label="looking back")]
    found = in_hindsight(results)
    if as_json:
        typer.echo(json.dumps(backtest_object(found), indent=2, ensure_ascii=False))
    elif as_csv:
        typer.echo(backtest_csv(found.evenings), nl=False)
    elif found.replays:
        typer.echo(backtest_text(found, width=terminal_width()))
    if as_csv or not (as_json or found.replays):
        for out in found.left_out:
            typer.echo(f"bubblerate: left out {left_out_text(out)}", err=True)
    if not found.replays:
        raise InputError(
            "no forecast could be checked; it takes a jar counted from its peak until some "
            "evenings after it fell below the threshold"
        )
    if output is not None:
        from ..show.pictures.backtest import save_backtest

        path = save_backtest(found, output)
        typer.echo(f"Drawn in {path}", err=as_json or as_csv)


def _opened(
    vessels: list[str] | None, shelf: Path | None
) -> Iterator[tuple[Diary | Unread, Settings]]:
    """Read every diary asked for, once, with the settings beside it; or say why it cannot be."""
    if not vessels:
        folder = shelf_folder(shelf)
        if not names(folder):
            raise InputError(no_diaries(folder))
        known = settings(folder)
        yield from ((one, known) for one in diaries(folder, known))
        return
    for path, name in {diary_path(name, shelf).resolve(): name for name in vessels}.items():
        try:
            yield open_diary(name, shelf)
        except BubbleRateError as err:
            yield Unread(vessel=path.stem, error=str(err)), Settings()
