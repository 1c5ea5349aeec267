"""Files that the shelf is written to: a calendar, a page, a picture."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..diary.folder import Unread
from ..errors import InputError
from .common import lacking

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime
    from pathlib import Path

    from ..course.judgement import Judgement
    from ..diary.shelf import Shelf
    from ..shelf.overview import Line

__all__ = ["calendar_of", "page_of", "picture_of"]


def calendar_of(shelf: Shelf, path: Path, *, at: datetime) -> Path:
    """Write the next steps of every jar that can be read, and those after them."""
    from ..course.judgement import judge
    from ..show.calendar import as_ics, save_ics
    from ..show.calendar_again import renewed

    read = [one for one in shelf.diaries() if not isinstance(one, Unread)]
    every = len(read) == len(shelf.names())  # of a jar that cannot be read nothing is cancelled
    judged = (judge(one, at=at, settings=shelf.settings) for one in read)
    return save_ics(as_ics(renewed(judged, path, every=every), written_at=at), path)


def page_of(shelf: Shelf, path: Path, *, at: datetime) -> None:
    """Write every jar on one page, with its picture."""
    from ..course.judgement import judge
    from ..diary.safe_write import save_output

    try:
        from ..page.twin import shelf_html
    except ModuleNotFoundError as err:
        raise lacking(err) from None
    found = (
        one if isinstance(one, Unread) else judge(one, at=at, settings=shelf.settings)
        for one in shelf.diaries()
    )
    save_output(path, shelf_html(found, at=at, settings=shelf.settings).encode())


def picture_of(
    shelf: Shelf,
    lines: list[Line],
    output: Path,
    *,
    judged: dict[str, Judgement],
    width_cm: float,
) -> Path:
    """Draw the vessels that are due first; those of a large shelf are judged once more for it."""
    from ..course.judgement import judge
    from ..show.pictures.shelf import MOST_PANELS, save_shelf

    asked = {one.vessel: one.verdict.asked_at for one in lines if not isinstance(one, Unread)}
    chosen = [*asked][:MOST_PANELS]
    if not chosen:
        raise InputError(f"{output}: not drawn, as there is no diary in {shelf.folder} yet")

    def found() -> Iterator[Judgement]:
        for name in chosen:
            if name in judged:
                yield judged.pop(name)
            else:
                one = shelf.open(f"{name}.csv")
                yield judge(one.diary, at=asked[name], settings=one.settings)

    return save_shelf(
        found(),
        output,
        vessels=len(chosen),
        at=asked[chosen[0]],
        left_out=[one.vessel for one in lines if one.vessel not in chosen],
        width_cm=width_cm,
    )
