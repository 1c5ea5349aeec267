"""Commands that answer: verdict, plot, demo. The libraries of the sums are loaded inside."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from ..errors import InputError
from .common import (
    At,
    Below,
    Shelf,
    Vessel,
    Width,
    asked_moment,
    known_threshold,
    open_diary,
    terminal_width,
)

if TYPE_CHECKING:
    from ..verdict.judgement import Judgement

On = Annotated[Literal["racking", "bottling"], typer.Option(help="What is to be decided.")]


def verdict(
    vessel: Vessel,
    on: On = "racking",
    at: At = None,
    below: Below = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    check: Annotated[bool, typer.Option(help="Exit with 0 for go and 1 for wait.")] = False,
    shelf: Shelf = None,
) -> None:
    """Say go or wait, why, when, and what to do next.

    Examples: bubblerate verdict quince; bubblerate verdict quince --on bottling --at 2026-11-20
    """
    from ..show.verdict_text import as_text
    from ..verdict.as_json import as_object

    judged = _judged(vessel, shelf, on=on, at=at, below=below)
    if as_json:
        typer.echo(json.dumps(as_object(judged), indent=2, ensure_ascii=False, allow_nan=False))
    else:
        typer.echo(as_text(judged, width=terminal_width()))
    if check and judged.verdict.answer == "wait":
        raise typer.Exit(1)


def plot(
    vessel: Vessel,
    output: Annotated[
        Path | None,
        typer.Option(
            "--output", "-o", help="Picture: .png, .svg or .pdf; else NAME.png.", show_default=False
        ),
    ] = None,
    show: Annotated[
        Literal["tail", "residuals"],
        typer.Option(help="The tail, or how far each count lies from its curve."),
    ] = "tail",
    axis: Annotated[Literal["log", "linear"], typer.Option(help="Scale of the rate.")] = "log",
    width: Width = 19.0,
    on: On = "racking",
    at: At = None,
    below: Below = None,
    shelf: Shelf = None,
) -> None:
    """Draw the tail, the forecast and the gravity.

    Examples: bubblerate plot quince -o tail.png; bubblerate plot quince --show residuals --width 9
    """
    from ..show.pictures.residuals import save_residuals
    from ..show.pictures.tail import save_tail

    judged = _judged(vessel, shelf, on=on, at=at, below=below)
    path = output if output is not None else Path(f"{judged.verdict.vessel}.png")
    if show == "tail":
        path = save_tail(judged, path, axis=axis, width_cm=width)
    else:
        path = save_residuals(judged, path, width_cm=width)
    typer.echo(f"{judged.verdict.vessel}: drawn in {path}")


def demo() -> None:
    """Run verdict and plot on the example diaries, in a folder of their own.

    Example: bubblerate demo
    """
    import shutil
    import tempfile

    from ..show.pictures.tail import save_tail
    from ..show.verdict_text import as_text

    folder = Path(tempfile.mkdtemp(prefix="bubblerate-demo-"))
    for source in sorted(_examples().iterdir()):
        if source.suffix in {".csv", ".toml"}:
            shutil.copy(source, folder)
    for path in sorted(folder.glob("*.csv")):
        diary, _ = open_diary(str(path), None)
        # asked on the last evening written down: these jars are long empty
        last = diary.live[-1].when.isoformat()
        judged = _judged(str(path), None, on="racking", at=last, below=None)
        save_tail(judged, path.with_suffix(".png"), axis="log")
        typer.echo(as_text(judged, width=terminal_width()) + "\n")
    typer.echo(f"Diaries and pictures are in {folder}")
    # straight after the set-up line the command is not yet on the path
    program = "bubblerate" if shutil.which("bubblerate") else ".venv/bin/bubblerate"
    typer.echo(f"Try: {program} verdict medlar --on bottling --at 2026-11-16 --shelf {folder}")


def _judged(
    vessel: str,
    shelf: Path | None,
    *,
    on: Literal["racking", "bottling"],
    at: str | None,
    below: str | None,
) -> Judgement:
    """Read a diary and judge it."""
    from ..verdict.judgement import judge

    diary, known = open_diary(vessel, shelf)
    threshold = known_threshold(below)
    asked_at = asked_moment(at, diary, known)
    return judge(diary, at=asked_at, question=on, threshold_per_min=threshold, settings=known)


def _examples() -> Path:
    """Folder of the example diaries: in the installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "examples", package.parent / "examples"):
        if (folder / "quince.csv").exists():
            return folder
    raise InputError("the example diaries are missing from this installation; install it again")
