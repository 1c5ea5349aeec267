"""How a visit and a diary show themselves at a prompt and in a notebook: short, and one line."""

from __future__ import annotations

from dataclasses import MISSING, fields
from datetime import datetime
from enum import Enum
from typing import TYPE_CHECKING

from ..text import format_day, plural, printable

if TYPE_CHECKING:
    import pandas as pd

    from .visit import Visit

__all__ = ["Filled", "Shown"]

_MOST_ROWS = 20  # in a notebook; of more the middle is left out


class Filled:
    """A frozen value that shows only those of its fields that say something."""

    __slots__ = ()

    def __repr__(self) -> str:
        told = [
            f"{one.name}={_plain(value)}"
            for one in fields(self)  # type: ignore[arg-type]  # whoever is one is a dataclass
            if (value := getattr(self, one.name)) != one.default or one.default is MISSING
        ]
        return f"{type(self).__name__}({', '.join(told)})"


class Shown:
    """Many visits that show how many they are, and as a table in a notebook."""

    __slots__ = ()
    vessel: str
    visits: tuple[Visit, ...]

    def to_frame(self) -> pd.DataFrame:
        """Table of all visits."""
        raise NotImplementedError

    def __repr__(self) -> str:
        name, number = printable(self.vessel), plural(len(self.visits), "visit")
        if not self.visits:
            return f"<Diary {name}: {number}>"
        first, last = (self.visits[i].when for i in (0, -1))
        return f"<Diary {name}: {number}, {format_day(first)} to {format_day(last)}>"

    def _repr_html_(self) -> str:
        table = self.to_frame().astype(object)
        texts = table.map(lambda value: "" if _missing(value) else printable(str(value)))
        told = [name for name in texts if (texts[name] != "").any()]
        return texts[told].to_html(max_rows=_MOST_ROWS)  # which escapes what a page would obey


def _missing(value: object) -> bool:
    """Whether a cell of pandas holds nothing: None, nan or NA, none of which equals itself."""
    return value is None or (value == value) is not True


def _plain(value: object) -> str:
    if isinstance(value, datetime):
        return value.isoformat()
    return repr(value.value) if isinstance(value, Enum) else repr(value)
