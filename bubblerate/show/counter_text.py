"""Shows what a counter's log would write to a diary, before it is written."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..text import beside, format_seconds, plural, quoted
from .diary_text import visit_text

if TYPE_CHECKING:
    from pathlib import Path

    from ..diary.tables.counter import Log
    from ..diary.tables.visits import Fresh

__all__ = ["pooled_text"]

_COLUMN = 12
_MEANINGS = {
    "date": "time",
    "time": "time of day",
    "bubbles": "bubbles counted",
    "rate": "rate",
    "length": "length of a count",
    "temp": "temperature, average over the row",
    "pressure": "air pressure, average over the row",
}


def pooled_text(name: str, found: Log, new: Fresh, path: Path, *, fresh: bool, width: int) -> str:
    """Show what of a log would be written, and what would not.

    Parameters
    ----------
    name : str
        Name of the file.
    found : Log
    new : Fresh
        Rows that the diary does not have.
    path : Path
        Of the diary.
    fresh : bool
        Whether that is new.
    width : int
        Characters a line may hold.

    Returns
    -------
    str
        Several lines, no line end after the last.
    """
    step, spell = format_seconds(found.step_s), format_seconds(found.every_s)
    parts = (
        (
            "log",
            f"{plural(found.rows, 'row')}, one every {step}, combined into one row per {spell}",
        ),
        (
            "columns",
            ", ".join(
                f"{quoted(heading)}: {_MEANINGS[kind]}" for kind, heading in found.columns.items()
            ),
        ),
        ("first", visit_text(new.visits[0]) if new.visits else ""),
        ("last", visit_text(new.visits[-1]) if new.visits else ""),
        ("left out", _left_out(found, new)),
        ("into", f"{path}{' (a new diary)' if fresh else ''}"),
    )
    head = f"{name}: {plural(len(found.visits), 'row')} for {path.stem}"
    lines = (
        line
        for label, text in parts
        if text
        for line in beside(label, text, width=width, column=_COLUMN)
    )
    return "\n".join([head, "", *lines])


def _left_out(found: Log, new: Fresh) -> str:
    parts = []
    if found.unfinished:
        rows = plural(found.unfinished, "row")
        parts.append(f"{rows} of the last, unfinished stretch: the next import takes them")
    if new.known:
        parts.append(f"{plural(new.known, 'row')} already in the diary")
    return "; ".join(parts)
