"""Commands for what follows the go: after, label. The libraries of the sums are loaded inside."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from .common import At, Shelf, Vessel, asked_moment, now, open_diary, terminal_width


def after(
    vessel: Vessel,
    ics: Annotated[
        Path | None, typer.Option(help="Write the steps to a calendar file, .ics.")
    ] = None,
    at: At = None,
    shelf: Shelf = None,
) -> None:
    """Say where a wine stands and what comes next, from the racking to the glass.

    Examples: bubblerate after quince; bubblerate after quince --ics quince.ics
    """
    from ..course.plan import outlook
    from ..show.calendar import as_ics, save_ics
    from ..show.plan_text import outlook_text

    diary, known = open_diary(vessel, shelf)
    asked_at = asked_moment(at, diary, known)
    seen = outlook(diary, at=asked_at, settings=known)
    typer.echo(outlook_text(seen, width=terminal_width()))
    if ics is not None:
        stands = seen.stands
        text = as_ics(
            seen.steps, vessel=stands.vessel, pitched_on=stands.pitched_on, written_at=asked_at
        )
        typer.echo(f"\n{stands.vessel}: calendar in {save_ics(text, ics)}")


def label(
    vessel: Vessel,
    output: Annotated[
        Path | None,
        typer.Option("--output", "-o", help="Draw it too: .svg, .pdf or .png.", show_default=False),
    ] = None,
    shelf: Shelf = None,
) -> None:
    """Print a label for the bottles, and draw it.

    Example: bubblerate label quince -o label.svg
    """
    from ..course.label import label as made
    from ..course.standing import standing
    from ..show.label_text import as_lines

    diary, known = open_diary(vessel, shelf)
    own = known.vessel(diary.vessel)
    stands = standing(diary, on=now().date(), known=own)
    shown = made(stands, known=own, hydrometer=known.hydrometer)
    typer.echo("\n".join([shown.name, *as_lines(shown, width=terminal_width())]))
    if output is not None:
        from ..show.pictures.label import save_label

        path, lacking = save_label(shown, output)
        typer.echo(f"{shown.name}: drawn in {path}")
        if lacking:
            typer.echo(
                f"bubblerate: no font here has {lacking}; the picture shows ? for each. Install "
                "a font that has them and draw it again",
                err=True,
            )
