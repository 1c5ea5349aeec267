"""Commands that answer: verdict, plot, demo. Heavy libraries are loaded inside."""

from __future__ import annotations

import json
import shlex
import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from ..diary.places import shelf_folder
from ..diary.shelf import shelf_at
from ..errors import InputError
from .asking import Below, Width, known_threshold
from .common import (
    At,
    Folder,
    Vessel,
    ask_of_notes,
    asked_moment,
    clock_of,
    opened,
    terminal_width,
    vessel_names,
)

if TYPE_CHECKING:
    from datetime import datetime

    from ..course.judgement import Judgement
    from ..course.season import By
    from ..diary.outcomes import Opened

__all__ = ["demo", "plot", "verdict"]

On = Annotated[
    Literal["racking", "bottling"] | None,
    typer.Option(help="Ask about this (default: whichever is open).", show_default=False),
]


def verdict(
    ctx: typer.Context,
    vessel: Vessel,
    on: On = None,
    at: At = None,
    by: Annotated[
        str | None,
        typer.Option(help="Add the chance that it will be quiet by this day.", show_default=False),
    ] = None,
    below: Below = None,
    more: Annotated[
        bool, typer.Option("--more", help="Show every reason and the numbers behind it.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    check: Annotated[bool, typer.Option(help="Exit with 0 for go and 1 for wait.")] = False,
    shelf: Folder = None,
) -> None:
    """Say go or wait, and why, when, and what to do next.

    Examples: bubblerate verdict quince; bubblerate verdict quince --by 2026-11-28 --more

    Raises
    ------
    BubbleRateError
        If a word cannot be understood, or the diary or the settings cannot be read.
    """
    from ..course.judgement import quiet_by

    judged, found = _judged(vessel, shelf, on=on, at=at, below=below, now=clock_of(ctx)())
    day = (
        None
        if by is None
        else asked_moment(by, found, now=clock_of(ctx)(), option="--by", ahead=True)
    )
    chance = None if day is None else quiet_by(judged, day)
    if as_json:
        from ..course.as_json import as_object

        said = as_object(judged)
        if day is not None:
            said["by"] = {"on": day.isoformat(), "p_quiet": chance}
        typer.echo(json.dumps(said, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        from ..show.verdict_text import as_text, by_text

        width, per_min = terminal_width(), judged.verdict.threshold_per_min
        typer.echo(as_text(judged, width=width, more=more))
        if day is not None:
            typer.echo(by_text(chance, day, per_min=per_min, width=width))
        ask_of_notes(judged.diary)
    if check and judged.verdict.answer == "wait":
        raise typer.Exit(1)


def plot(
    ctx: typer.Context,
    vessel: Vessel,
    output: Annotated[
        Path | None,
        typer.Option(
            "--output",
            "-o",
            help=("Picture file: .png, .svg or .pdf (default: NAME.png)."),
            show_default=False,
        ),
    ] = None,
    show: Annotated[
        Literal["tail", "residuals"],
        typer.Option(help="The slowing bubbles, or how far each count is from the curve."),
    ] = "tail",
    axis: Annotated[
        Literal["log", "linear"], typer.Option(help=("Scale of the bubble rate."))
    ] = "log",
    beside: Annotated[
        list[str] | None,
        typer.Option(
            help="Draw it with this jar, such as last year's; up to three.",
            show_default=False,
            autocompletion=vessel_names,
        ),
    ] = None,
    by: Annotated[
        Literal["pitching", "year"],
        typer.Option(help="With --beside: days since pitching, or days of the year."),
    ] = "pitching",
    width: Width = 19.0,
    on: On = None,
    at: At = None,
    below: Below = None,
    shelf: Folder = None,
) -> None:
    """Draw the bubbles, the forecast and the gravity.

    Examples: bubblerate plot quince -o tail.png; bubblerate plot quince --show residuals --width 9;
    bubblerate plot plum-2026 --beside plum-2025

    Raises
    ------
    BubbleRateError
        If there is no such diary, a word cannot be understood, or the picture cannot be saved.
    """
    from ..show.pictures.residuals import save_residuals
    from ..show.pictures.tail import save_tail

    judged, found = _judged(vessel, shelf, on=on, at=at, below=below, now=clock_of(ctx)())
    if beside:
        _beside(judged, found, beside, shelf, output, by=by, width_cm=width)
        return
    path = output if output is not None else Path(f"{judged.verdict.vessel}.png")
    if show == "tail":
        save_tail(judged, path, axis=axis, width_cm=width)
    else:
        save_residuals(judged, path, width_cm=width)
    typer.echo(f"{judged.verdict.vessel}: picture saved as {path}")


def _beside(
    judged: Judgement,
    found: Opened,
    others: list[str],
    shelf: Path | None,
    output: Path | None,
    *,
    by: By,
    width_cm: float,
) -> None:
    """Draw and describe a jar beside others, each of those as of its own last row."""
    from ..course.figures import figures
    from ..course.judgement import judge
    from ..course.season import season
    from ..diary.kin import kin
    from ..show.beside_text import beside_text
    from ..show.pictures.beside import MOST_BESIDE, save_beside
    from ..text import format_rate

    if len(others) >= MOST_BESIDE:
        raise InputError(f"{len(others)} jars to draw beside it; {MOST_BESIDE - 1} are the most")
    jars = [(judged, found)]
    for name in others:
        other = opened(name, shelf)
        at = max((row.when for row in other.diary.live), default=judged.verdict.asked_at)
        jars.append((judge(other.diary, at=at, settings=other.settings), other))
    laid = []
    for one, jar in jars:
        of = kin(jar.diary.path.parent)
        laid.append(season(one, figures(one, settings=jar.settings, of=of), by=by))
    seasons = [one for one in laid if one is not None]
    per_min = judged.verdict.threshold_per_min
    rate = format_rate(per_min)
    typer.echo(beside_text(seasons, threshold=rate, width=terminal_width()))
    path = output if output is not None else Path(f"{judged.verdict.vessel}.png")
    path = save_beside(seasons, path, threshold_per_min=per_min, by=by, width_cm=width_cm)
    typer.echo(f"Picture saved as {path}")


def demo(
    shelf: Annotated[
        Path | None,
        typer.Option(help="New folder for it (default: a temporary one).", show_default=False),
    ] = None,
) -> None:
    """Try verdict and plot on the example diaries.

    Example: bubblerate demo

    Raises
    ------
    BubbleRateError
        If the folder holds something already, or cannot be written.
    """
    from ..course.judgement import judge
    from ..show.pictures.tail import save_tail
    from ..show.verdict_text import as_text

    laid = shelf_at(_laid_out(shelf))
    for name in laid.names():
        found = laid.open(name)
        # asked on the last evening written down: these jars are long empty
        judged = judge(found.diary, at=found.diary.live[-1].when, settings=found.settings)
        save_tail(judged, laid.folder / f"{name}.png", axis="log")
        typer.echo(as_text(judged, width=terminal_width()) + "\n")
    typer.echo(f"Diaries and pictures are in {laid.folder}")
    # straight after the set-up line the command is not yet on the path
    program = "bubblerate" if shutil.which("bubblerate") else ".venv/bin/bubblerate"
    where = shlex.quote(str(laid.folder))
    typer.echo(f"Try: {program} verdict medlar --at 2026-11-16 --shelf {where}")


def _laid_out(shelf: Path | None) -> Path:
    """Folder with a copy of the example diaries, and nothing else."""
    import tempfile

    if shelf is None:
        folder = Path(tempfile.mkdtemp(prefix="bubblerate-demo-"))
    else:
        folder = shelf_folder(shelf)
        if folder.is_dir() and any(folder.iterdir()):
            raise InputError(f"{folder} already has files in it; name a new folder for the demo")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for source in sorted(_examples().iterdir()):
            if source.suffix in {".csv", ".toml"}:
                shutil.copy(source, folder)
    except OSError as err:
        raise InputError(f"{folder}: cannot be written: {err.strerror or err}") from None
    return folder


def _judged(
    vessel: str,
    shelf: Path | None,
    *,
    on: Literal["racking", "bottling"] | None,
    at: str | None,
    below: str | None,
    now: datetime,
) -> tuple[Judgement, Opened]:
    """Read a diary and judge it."""
    from ..course.judgement import judge

    found = opened(vessel, shelf)
    threshold = known_threshold(below)
    asked_at = asked_moment(at, found, now=now)
    judged = judge(
        found.diary,
        at=asked_at,
        question=on,
        threshold_per_min=threshold,
        settings=found.settings,
    )
    return judged, found


def _examples() -> Path:
    """Folder of the example diaries: in the installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "examples", package.parent / "examples"):
        if (folder / "quince.csv").exists():
            return folder
    raise InputError("the example diaries are missing from this installation; install it again")
