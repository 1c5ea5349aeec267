"""Draws sheets on A4 pages: several in a PDF, or one as a picture."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Final

from matplotlib.backends.backend_pdf import PdfPages

from ...diary.safe_write import save_output
from ...errors import InputError
from ..blocks import Banner, Boxes, Grid, Heading, Line, Pairs
from .letters import fonts_for
from .page import picture_path, save_picture
from .pen import Pen

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matplotlib.figure import Figure

    from ..blocks import Paper

__all__ = ["draw_paper", "save_paper"]

_SCALES: Final = (1.0, 0.94, 0.88, 0.82)  # a page that nearly fits is drawn a little smaller


def save_paper(papers: Sequence[Paper], path: Path | str) -> tuple[Path, str]:
    """Draw sheets and save them.

    Parameters
    ----------
    papers : sequence of Paper
        Each starts a new page.
    path : Path or str
        A .pdf; or a .png or .svg if it fits on one page.

    Returns
    -------
    path : Path
        Where they were saved.
    lacking : str
        Letters that no font here has, for each of which a ? is drawn.

    Raises
    ------
    InputError
        If the suffix is another, more than one page is asked for as a picture, or the file cannot
        be written.
    """
    path = picture_path(path)
    pages: list[Figure] = []
    lacking = ""
    for paper in papers:
        drawn, without = draw_paper(paper)
        pages += drawn
        lacking += without
    if path.suffix.lower() != ".pdf":
        if len(pages) > 1:
            raise InputError(f"{path.name}: {len(pages)} pages; a file ending in .pdf holds them")
        return save_picture(pages[0], path, dpi=120), lacking
    held = io.BytesIO()
    with PdfPages(held, metadata={"CreationDate": None}) as pdf:
        for page in pages:
            pdf.savefig(page)
    save_output(path, held.getvalue())
    return path, lacking


def draw_paper(paper: Paper) -> tuple[list[Figure], str]:
    """Draw a sheet on as many pages as it needs.

    Parameters
    ----------
    paper : Paper

    Returns
    -------
    pages : list of Figure
    lacking : str
        Letters that no font here has.
    """
    fonts, lacking = fonts_for(_all_text(paper))
    drawn = (_drawn(paper, Pen(fonts, lacking, scale)) for scale in _SCALES)
    fitting = next((pen for pen in drawn if len(pen.pages) == 1), None)
    pen = fitting or _drawn(paper, Pen(fonts, lacking, 1.0))
    pen.number()
    return pen.pages, lacking


def _drawn(paper: Paper, pen: Pen) -> Pen:
    """Write a sheet with a pen."""
    pen.title(paper.title, paper.link)
    for block in paper.blocks:
        pen.block(block)
    return pen


def _all_text(paper: Paper) -> str:
    parts = [paper.title]
    for block in paper.blocks:
        match block:
            case Heading(text) | Line(text) | Banner(text):
                parts.append(text)
            case Boxes(items):
                parts += items
            case Pairs(rows):
                parts += [part for row in rows for part in row]
            case Grid(head, cells):
                parts += [part for row in (head, *cells) for part in row]
    return "".join(parts)
