"""Commands for paper and the cellar: bottling-day, cellar, sheet. The sums are loaded inside."""

from __future__ import annotations

from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal
from urllib.parse import quote

import typer

from ..diary.places import shelf_folder
from ..diary.shelf import placed, shelf_at
from ..errors import InputError
from .common import At, Folder, asked_moment, clock_of, moment_asked, terminal_width, vessel_names

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from ..course.figures import Figures
    from ..course.judgement import Judgement
    from ..show.blocks import Paper

__all__ = ["bottling_day", "cellar", "sheet"]

Output = Annotated[
    Path | None,
    typer.Option(
        "--output", "-o", help="Also draw it on A4: .pdf, .png or .svg.", show_default=False
    ),
]


def bottling_day(
    ctx: typer.Context,
    vessels: Annotated[
        list[str],
        typer.Argument(
            metavar="JAR...",
            help="Jars to bottle that evening.",
            show_default=False,
            autocompletion=vessel_names,
        ),
    ],
    size: Annotated[int, typer.Option(help="Bottle size in cl.", min=5, max=3000)] = 75,
    closure: Annotated[
        Literal["cork", "tapered", "cap", "crown"], typer.Option(help="How you close them.")
    ] = "cork",
    filtered: Annotated[bool, typer.Option("--filter", help="You filter it on the way.")] = False,
    output: Output = None,
    at: At = None,
    shelf: Folder = None,
) -> None:
    """Plan a bottling evening, with a checklist.

    Example: bubblerate bottling-day plum damson -o bottling.pdf

    Raises
    ------
    BubbleRateError
        If a jar has no diary, a word cannot be understood, or the sheet cannot be saved.
    """
    from ..course.bottling_day import bottling_day as planned
    from ..show.bottling_text import bottling_sheet
    from ..text import format_day

    if len({*vessels}) < len(vessels):
        raise InputError("a jar is named twice; name each jar once")
    jars = [_judged(ctx, name, at, shelf) for name in vessels]
    day = planned(
        [(judged, figures) for judged, figures, _ in jars], size_cl=size, filtered=filtered
    )
    on = format_day(max(asked_at for _, _, asked_at in jars))
    names = " and ".join(jar.name for jar in day.jars)
    paper = bottling_sheet(day, closure=closure, title=f"Bottling {names}, {on}")
    _out([paper], output)


def cellar(
    ctx: typer.Context,
    as_csv: Annotated[
        bool, typer.Option("--csv", help=("Print a table for other programs."))
    ] = False,
    output: Output = None,
    at: At = None,
    shelf: Folder = None,
) -> None:
    """Show every bottled wine: how many, where, best before.

    Examples: bubblerate cellar; bubblerate cellar --csv; bubblerate cellar -o cellar.pdf

    Raises
    ------
    BubbleRateError
        If there is no such shelf, its settings cannot be read, or the sheet cannot be saved.
    """
    from ..diary.kin import kin
    from ..shelf.cellar import lots
    from ..show.cellar_text import cellar_csv, cellar_paper

    where = shelf_at(shelf_folder(shelf))
    asked_at = moment_asked(at, now=clock_of(ctx)())
    found = lots(where.diaries(), at=asked_at, settings=where.settings, of=kin(where.folder))
    if as_csv:
        typer.echo(cellar_csv(found), nl=False)
    if not found:
        typer.echo(f"No wine in {where.folder} has been bottled yet.", err=as_csv)
        return
    paper = cellar_paper(found, asked_at.date())
    _out([paper], output, quiet=as_csv)


def sheet(
    ctx: typer.Context,
    vessel: Annotated[
        str | None,
        typer.Argument(
            help="The jar it hangs on. Without one: a list of all jars.",
            show_default=False,
            autocompletion=vessel_names,
        ),
    ] = None,
    output: Output = None,
    link: Annotated[
        str | None,
        typer.Option(
            help="Address to draw as a code to scan (default: the phone page, while it runs).",
            show_default=False,
        ),
    ] = None,
    no_link: Annotated[bool, typer.Option("--no-link", help="Do not draw a code.")] = False,
    at: At = None,
    shelf: Folder = None,
) -> None:
    """Make a paper sheet for a jar, or a list of all jars.

    Examples: bubblerate sheet quince -o quince.pdf; bubblerate sheet -o wall.pdf

    Raises
    ------
    BubbleRateError
        If there is no such diary, a word cannot be understood, or the sheet cannot be saved.
    """
    from ..show.sheets import evening_sheet

    if link is not None and no_link:
        raise InputError("--link and --no-link do not go together; leave one out")
    if vessel is None:
        address = "" if no_link else link or _page(shelf_folder(shelf))
        _out([replace(_wall(ctx, at, shelf), link=address)], output)
        return
    judged, figures, _ = _judged(ctx, vessel, at, shelf)
    address = "" if no_link else link or _page(judged.diary.path.parent, judged.diary.vessel)
    _out([evening_sheet(judged, figures, link=address)], output)


def _page(folder: Path, jar: str = "") -> str:
    """Address of the page of a jar or the shelf while it runs for other devices; else nothing.

    Without the key: whoever sees the sheet is let in only with a phone that was let in before.
    """
    from ..page.running import where_running

    address = where_running(folder)
    if address is None or "//127." in address or find_spec("segno") is None:
        return ""
    return f"{address}/jar/{quote(jar, safe='')}" if jar else f"{address}/"


def _judged(
    ctx: typer.Context, name: str, at: str | None, folder: Path | None
) -> tuple[Judgement, Figures, datetime]:
    """A jar, judged, with its figures."""
    from ..course.figures import figures
    from ..course.judgement import judge
    from ..diary.kin import kin

    place, called = placed(name, folder)
    found = place.open(called)
    asked_at = asked_moment(at, found, now=clock_of(ctx)())
    judged = judge(found.diary, at=asked_at, settings=found.settings)
    shown = figures(judged, settings=found.settings, of=kin(place.folder))
    return judged, shown, asked_at


def _wall(ctx: typer.Context, at: str | None, folder: Path | None) -> Paper:
    """The list of all jars."""
    from ..course.judgement import judge
    from ..diary.folder import Unread
    from ..show.sheets import wall_list

    where = shelf_at(shelf_folder(folder))
    asked_at = moment_asked(at, now=clock_of(ctx)())
    every = [*where.diaries()]
    if not every:
        raise InputError(f"there is no diary in {where.folder} yet")
    judged = [
        judge(one, at=asked_at, settings=where.settings)
        for one in every
        if not isinstance(one, Unread)
    ]
    return wall_list(
        _due_first(judged),
        asked_at.date(),
        unread=[one.error for one in every if isinstance(one, Unread)],
    )


def _due_first(judged: Sequence[Judgement]) -> list[Judgement]:
    """In the order of the shelf."""
    from ..course.as_json import as_object
    from ..shelf.overview import Glance, due_first, line

    glances = [Glance(line=line(one), as_json=as_object(one)) for one in judged]
    by_name = {one.diary.vessel: one for one in judged}
    return [by_name[glance.line.vessel] for glance in due_first(glances)]


def _out(papers: Sequence[Paper], output: Path | None, *, quiet: bool = False) -> None:
    """Print a sheet, and draw it if asked."""
    from ..show.blocks import paper_text

    for paper in () if quiet else papers:
        typer.echo(paper_text(paper, width=terminal_width()))
    if output is None:
        return
    from ..show.pictures.paper import save_paper

    path, lacking = save_paper(papers, output)
    typer.echo(f"Picture saved as {path}", err=quiet)
    for address in dict.fromkeys(paper.link for paper in papers if paper.link):
        typer.echo(f"The code on it leads to {address}", err=quiet)
    if lacking:
        typer.echo(
            f"bubblerate: no font here has {lacking}; the sheet shows ? instead. Install a font "
            "that has them and draw it again",
            err=True,
        )
