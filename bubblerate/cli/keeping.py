"""Commands for what follows the go: after, label. Heavy libraries are loaded inside."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from ..diary import units
from ..errors import InputError
from .common import At, Folder, Vessel, asked_moment, clock_of, opened, terminal_width

__all__ = ["after", "label"]


def after(
    ctx: typer.Context,
    vessel: Vessel,
    everything: Annotated[
        bool, typer.Option("--all", help="Show every step, and litres, sulphite and pressure.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    ics: Annotated[
        Path | None, typer.Option(help="Write the steps to a calendar file, .ics.")
    ] = None,
    at: At = None,
    shelf: Folder = None,
) -> None:
    """Say what comes next, from racking to the glass.

    Examples: bubblerate after quince; bubblerate after quince --all --ics quince.ics

    Raises
    ------
    BubbleRateError
        If there is no such diary, a word cannot be understood, or the calendar cannot be saved.
    """
    from ..course.as_json import course_object
    from ..course.figures import figures
    from ..course.judgement import judge
    from ..diary.kin import kin
    from ..show.after_text import after_text, all_text
    from ..show.calendar import as_ics, save_ics
    from ..show.calendar_again import renewed

    found = opened(vessel, shelf)
    asked_at = asked_moment(at, found, now=clock_of(ctx)())
    judged = judge(found.diary, at=asked_at, settings=found.settings)
    if as_json:
        typer.echo(json.dumps(course_object(judged), indent=2, ensure_ascii=False))
    else:
        write = all_text if everything else after_text
        of = kin(found.diary.path.parent)
        shown = figures(judged, settings=found.settings, of=of)
        typer.echo(write(judged, shown, width=terminal_width()))
    if ics is not None:
        text = as_ics(renewed([judged], ics, every=False), written_at=asked_at)
        path = save_ics(text, ics)
        typer.echo(f"\n{found.diary.vessel}: calendar saved as {path}", err=as_json)


def label(
    ctx: typer.Context,
    vessel: Vessel,
    output: Annotated[
        Path | None,
        typer.Option(
            "--output", "-o", help=("Also draw it: .svg, .pdf or .png."), show_default=False
        ),
    ] = None,
    title: Annotated[
        str, typer.Option(help="Name on the label (default: the jar's).", show_default=False)
    ] = "",
    bottle: Annotated[
        str | None,
        typer.Option(
            help=("Show what one bottle holds, such as 75cl, instead of the batch."),
            show_default=False,
        ),
    ] = None,
    per_page: Annotated[
        int | None,
        typer.Option(help="Draw an A4 page with this many labels to cut out.", show_default=False),
    ] = None,
    at: At = None,
    shelf: Folder = None,
) -> None:
    """Print labels for the bottles, or draw them.

    Examples: bubblerate label quince -o label.svg; bubblerate label quince --per-page 12 -o q.pdf

    Raises
    ------
    BubbleRateError
        If there is no such diary, a word cannot be understood, or the label cannot be drawn.
    """
    from ..course.label import label_of
    from ..diary.kin import kin
    from ..show.label_text import as_lines

    found = opened(vessel, shelf)
    asked_at = asked_moment(at, found, now=clock_of(ctx)())
    shown = label_of(found, at=asked_at, of=kin(found.diary.path.parent), title=title)
    if bottle is not None:
        shown = replace(shown, bottle_cl=100.0 * units.added_l(bottle))
    if per_page is not None and output is None:
        raise InputError("name the file of the page: -o labels.pdf")
    typer.echo("\n".join([shown.name, *as_lines(shown, width=terminal_width())]))
    if output is not None:
        from ..show.pictures.label import save_label, save_labels

        if per_page is None:
            path, lacking = save_label(shown, output)
        else:
            path, lacking = save_labels(shown, output, per_page=per_page)
        typer.echo(f"{shown.name}: picture saved as {path}")
        if lacking:
            typer.echo(
                f"bubblerate: no font here has {lacking}; the picture shows ? instead. Install a "
                "font that has them and draw it again",
                err=True,
            )
