"""Writes the shelf as one HTML file that needs no server, to read anywhere and print on A4."""

from __future__ import annotations

from base64 import b64encode
from importlib.resources import files
from typing import TYPE_CHECKING

import jinja2

from ..diary.folder import Unread
from ..show.pictures.tail import tail_picture
from ..text import format_when
from .judgements import PICTURE_CM
from .views import jar_view, shelf_view

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from ..course.judgement import Judgement
    from ..diary.settings import Settings

__all__ = ["shelf_html"]


def shelf_html(found: Iterable[Judgement | Unread], *, at: datetime, settings: Settings) -> str:
    """Make one HTML page of a shelf, with style and pictures inside.

    Parameters
    ----------
    found : iterable of Judgement or Unread
        One for each jar.
    at : datetime
        The moment asked about, aware.
    settings : Settings

    Returns
    -------
    str
        It has no script and loads nothing.
    """
    jars = {one.vessel if isinstance(one, Unread) else one.verdict.vessel: one for one in found}
    shelf = shelf_view(jars.values(), at=at)
    ordered = {line.jar: jars[line.jar] for line in shelf.lines}
    folder = files(__package__)
    pages = jinja2.Environment(
        loader=jinja2.PackageLoader(__package__),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return pages.get_template("twin.html").render(
        when=format_when(at),
        shelf=shelf,
        jars=[jar_view(jar, one, settings=settings) for jar, one in ordered.items()],
        pictures={jar: _picture(one) for jar, one in ordered.items()},
        style="".join(
            (folder / "static" / name).read_text(encoding="utf-8")
            for name in ("page.css", "twin.css")
        ),
    )


def _picture(found: Judgement | Unread) -> str:
    """Picture of a jar as a data address; empty if there is none."""
    if isinstance(found, Unread):
        return ""
    drawn = tail_picture(found, "svg", axis="log", width_cm=PICTURE_CM)
    return f"data:image/svg+xml;base64,{b64encode(drawn).decode()}"
