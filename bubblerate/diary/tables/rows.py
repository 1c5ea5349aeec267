"""Turns one row of a table into a visit; an error names the place of the cell.

Spells are in seconds, temperatures in Celsius, volumes in litres, sugar in grams.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Any, TypeVar

from ...errors import FaultsError, InputError
from ...text import quoted
from .. import bottles, dosed, event_names, units
from ..counts import Counted
from ..csv_rows import unguarded
from ..events import Event
from ..gravity_scales import SCALES, Reading, reading
from ..lookalikes import tidied
from ..refractometer import brix_read, must_sg
from ..visit import Visit
from . import cells
from .headings import Column, Kind
from .sheet import Sheet

__all__ = ["Line", "visit", "where"]

_T = TypeVar("_T")
BLANK = {"-", "--", "\N{EN DASH}", "\N{EM DASH}", "n/a", "na"}
_BARE_NUMBER = re.compile(r"[+-]?(?:[0-9]+[.,]?[0-9]*|[.,][0-9]+)")


class Line:
    """The filled cells of one row by kind; an error names the place of the cell."""

    def __init__(
        self,
        sheet: Sheet,
        line: int,
        row: Sequence[str],
        known: Mapping[Kind, tuple[Column, ...]],
    ) -> None:
        self.sheet, self.line, self.dashes = sheet, line, 0
        self.faults: list[str] = []
        self.texts: dict[Kind, str] = {}
        self.columns: dict[Kind, Column] = {}
        for kind, some in known.items():
            texts = (unguarded(row[column.index].strip()) for column in some)
            text = "; ".join(filter(None, texts))
            if text.lower() in BLANK:
                self.dashes += kind != "note"
            elif text:
                self.texts[kind], self.columns[kind] = text, some[0]

    def first(self, kinds: Sequence[Kind]) -> Kind | None:
        """The first of these kinds that the row has."""
        return next((kind for kind in kinds if kind in self.texts), None)

    def number(self, kind: Kind, reader: Callable[[str], float], digits: int) -> float | None:
        """Read a number, None if blank; `unit` is added to a plain number."""
        if kind not in self.texts:
            return None
        text, unit = self.texts[kind], self.columns[kind].unit
        if unit and _BARE_NUMBER.fullmatch(tidied(text)):
            text = f"{text} {unit}"
        value = self.reading(kind, lambda: reader(text))
        return None if value is None else round(value, digits)

    def read(self, kind: Kind, reader: Callable[[str], _T]) -> _T | None:
        """Read a cell of words, None if blank."""
        return self.reading(kind, lambda: reader(self.texts[kind])) if kind in self.texts else None

    def reading(self, kind: Kind, act: Callable[[], _T]) -> _T | None:
        """Read a cell; an error is kept with its place, and gives None."""
        try:
            return act()
        except (InputError, ValueError) as err:
            self.faults.append(f"{where(self.sheet, self.line, self.columns[kind])}: {err}")
            return None

    def count(self, kinds: Sequence[Kind]) -> Counted | None:
        """Read bubbles and their time from the first of these kinds that is filled."""
        length_s = self.number("length", cells.length_s, 3)
        kind = self.first(kinds)
        if kind is None:
            return None
        text, column = self.texts[kind], self.columns[kind]
        return self.reading(kind, lambda: cells.counted(text, column, length_s))

    def gravity(self) -> Reading | None:
        """Read gravity from the first scale that is filled, and the temperature of its sample."""
        scale = next((scale for scale in SCALES if scale in self.texts), None)
        if scale is None:
            return None
        found = self.reading(scale, lambda: reading(self.texts[scale], scale=scale))
        return None if found is None else found._replace(sg=round(found.sg, 4))


def visit(line: Line, when: datetime, counts: Sequence[Kind]) -> tuple[Visit, bool]:
    """Make a visit of one row, and tell whether its event words are no event.

    Parameters
    ----------
    line : Line
    when : datetime
        Aware.
    counts : sequence of Kind
        Columns about bubbling; the first that is filled is used.

    Returns
    -------
    visit : Visit
    loose : bool

    Raises
    ------
    FaultsError
        If any cells cannot be understood; lists all of them.
    """
    count, gravity = line.count(counts), line.gravity()
    event, left = line.read("event", event_names.done) or (None, "")
    sample_c = line.number("sample", cells.temp_c, 1)
    found: dict[str, Any] = {
        "bubbles": None if count is None else count.bubbles,
        "seconds": None if count is None else count.seconds,
        "temp_c": line.number("temp", cells.temp_c, 1),
        "pressure_hpa": line.number("pressure", lambda text: units.number(text, "it"), 1),
        "sg": None if gravity is None else gravity.sg,
        "sample_c": gravity.sample_c if gravity and sample_c is None else sample_c,
        "litres": line.number("litres", units.litres, 5),
        "note": "; ".join(filter(None, (left, line.texts.get("note", "")))),
        "added_l": line.number("added", units.added_l, 5),
        "sugar_g": line.number("sugar", units.grams, 3),
        "bottles": line.read("bottles", bottles.filling) or "",
        "closure": line.read("closure", bottles.closure),
        "sulphite_g": line.number("sulphite", dosed.sulphite_g, 4),
        "sorbate_g": line.number("sorbate", dosed.sorbate_g, 4),
        "finings_amount": line.read("finings", dosed.finings) or "",
        "refractometer_brix": line.number("refractometer", brix_read, 1),
        "struck": line.texts.get("struck", ""),
        "other": line.texts.get("other", ""),
    }
    if line.faults:
        raise FaultsError(line.faults)
    if event is Event.PITCHED and gravity is None and found["refractometer_brix"] is not None:
        found["sg"] = must_sg(found["refractometer_brix"])
    return _visit(line, {"when": when, "event": event, **found}), bool(left) and event is None


def _visit(line: Line, found: Mapping[str, Any]) -> Visit:
    try:
        return Visit(line=line.line, **found)
    except ValueError as err:
        raise FaultsError([f"{line.sheet.name}:{line.line}: {err}"]) from None


def where(sheet: Sheet, line: int, column: Column) -> str:
    """Name the place of a cell, for a message."""
    return f"{sheet.name}:{line}, column {quoted(column.heading)}"
