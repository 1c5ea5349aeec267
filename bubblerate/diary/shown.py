"""How a visit and a diary look at a prompt and in a notebook: short, on one line."""

from __future__ import annotations

from dataclasses import MISSING, fields
from datetime import datetime
from enum import Enum
from typing import TYPE_CHECKING

from ..text import format_day, format_when, html_table, plain, plural, printable

if TYPE_CHECKING:
    from .visit import Visit

__all__ = ["Filled", "Shown"]

_MOST_ROWS = 20  # rows in a notebook; of more, the middle is left out


class Filled:
    """A frozen value that shows only the fields that say something."""

    __slots__ = ()

    def __repr__(self) -> str:
        told = (f"{name}={_typed(value)}" for name, value in told_by(self).items())
        return f"{type(self).__name__}({', '.join(told)})"


class Shown:
    """Visits that show their number, and as a table in a notebook."""

    __slots__ = ()
    vessel: str
    visits: tuple[Visit, ...]

    def __repr__(self) -> str:
        name, number = printable(self.vessel), plural(len(self.visits), "visit")
        if not self.visits:
            return f"<Diary {name}: {number}>"
        first, last = (self.visits[i].when for i in (0, -1))
        return f"<Diary {name}: {number}, {format_day(first)} to {format_day(last)}>"

    def _repr_html_(self) -> str:
        half, rows = _MOST_ROWS // 2, [told_by(visit) for visit in self.visits]
        head = [one for row in rows[:1] for one in row]
        head += dict.fromkeys(name for row in rows for name in row if name not in head)
        texts = [[_seen(row.get(name)) for name in head] for row in rows]
        if len(texts) > _MOST_ROWS:
            texts[half:-half] = [["..."] * len(head)]
        return html_table(head, texts)


def told_by(value: Filled) -> dict[str, object]:
    """Fields of a value that say something, by name."""
    told = {one: getattr(value, one.name) for one in fields(value)}  # type: ignore[arg-type]
    return {
        one.name: said
        for one, said in told.items()
        if said != one.default or one.default is MISSING
    }


def _typed(value: object) -> str:
    if isinstance(value, datetime):
        return value.isoformat()
    return repr(value.value) if isinstance(value, Enum) else repr(value)


def _seen(value: object) -> str:
    match value:
        case None:
            return ""
        case datetime():
            return format_when(value)
        case float():
            return plain(value)
    return str(value)
