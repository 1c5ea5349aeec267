"""One evening at one vessel is a `Visit`; all visits together are a `Diary`.

Moments have a UTC offset. Times are in seconds, temperatures in Celsius, pressures in hPa, volumes
in litres, sugar in grams; a gravity is SG as read. `number.NUMBERS` has the limits.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from ..errors import DiaryError
from .bottles import FILLING, FILLING_FORM, Closure
from .csv_rows import LONGEST_CELL, guarded
from .dosed import FININGS, FININGS_FORM
from .events import Event
from .number import NUMBERS
from .shown import Filled, Shown

if TYPE_CHECKING:
    import pandas as pd

__all__ = [
    "BASE_COLUMNS",
    "COLUMNS",
    "Diary",
    "Visit",
]

_Word = TypeVar("_Word", bound=StrEnum)

# fmt: off
COLUMNS: tuple[str, ...] = (
    "when", "bubbles", "seconds", "temp_c", "pressure_hpa", "sg", "sample_c", "event", "litres",
    "note", "struck", "added_l", "sugar_g", "bottles", "closure", "other", "refractometer_brix",
    "sulphite_g", "sorbate_g", "finings_amount",
)
# fmt: on
BASE_COLUMNS = COLUMNS[:11]  # in every new diary; each other one is added when needed


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Visit(Filled):
    """What was seen and done on one visit to one vessel; None or "" if nothing was noted.

    Attributes
    ----------
    when : datetime
        Aware.
    bubbles : int or None
        Bubbles counted in the airlock.
    seconds : float or None
        How long they were counted [s]; 60 if a count does not say, None without a count.
    temp_c : float or None
        Temperature of the vessel or its room [C].
    pressure_hpa : float or None
        Pressure of the air [hPa].
    sg, sample_c : float or None
        Gravity as read [SG], and the temperature of the sample [C].
    event : Event or None
        What was done or seen; the same word as a plain string will do.
    litres : float or None
        Wine in the vessel after it [L].
    note, struck : str
        A few words; and, for a mistake, when it was struck out.
    added_l, sugar_g : float or None
        Liquid put in [L], and sugar [g].
    bottles : str
        Bottles filled: "6x75" is six of 75 cl.
    closure : Closure or None
        What closes them; a plain string will do.
    other : str
        The jar it was split from or to, joined with, or topped up from.
    refractometer_brix : float or None
        As a refractometer shows it [g per 100 g]; for a wine this is no gravity, and no sum uses
        it.
    sulphite_g, sorbate_g : float or None
        Potassium metabisulphite and potassium sorbate put in [g].
    finings_amount : str
        Finings put in, of each part if there are two: "2.5ml" or "5g".
    line : int
        Line of the file on which the row starts (the header is 1); 0 if not from a file.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> Visit(when=datetime(2026, 11, 24, 21, 30, tzinfo=UTC), bubbles=12, seconds=90).per_min
    8.0
    """

    when: datetime
    bubbles: int | None = None
    seconds: float | None = None
    temp_c: float | None = None
    pressure_hpa: float | None = None
    sg: float | None = None
    sample_c: float | None = None
    event: Event | None = None
    litres: float | None = None
    note: str = ""
    struck: str = ""
    added_l: float | None = None
    sugar_g: float | None = None
    bottles: str = ""
    closure: Closure | None = None
    other: str = ""
    refractometer_brix: float | None = None
    sulphite_g: float | None = None
    sorbate_g: float | None = None
    finings_amount: str = ""
    line: int = 0

    def __post_init__(self) -> None:
        if self.when.utcoffset() is None:
            raise ValueError(f"a row needs a time with its UTC offset, got {self.when}")
        self._settle("seconds", 60.0 if self.seconds is None and self.bubbles is not None else None)
        self._settle("event", None if self.event is None else _word(Event, "event", self.event))
        closure = None if self.closure is None else _word(Closure, "closure", self.closure)
        self._settle("closure", closure)
        self._refuse_numbers()
        self._refuse_texts()

    def _settle(self, name: str, value: float | StrEnum | None) -> None:
        """Replace a value that was given by its stored form."""
        if value is not None:
            object.__setattr__(self, name, value)

    def _refuse_numbers(self) -> None:
        for name, column in NUMBERS.items():
            value = getattr(self, name)
            if value is not None and not column.holds(value):
                raise ValueError(f"{name} is {value}; a row needs {column.wanted}")
        if self.bubbles is not None and self.bubbles % 1:
            raise ValueError(f"bubbles is {self.bubbles}; a row needs a whole number")

    def _refuse_texts(self) -> None:
        if self.bottles and not re.fullmatch(FILLING, self.bottles):
            raise ValueError(f"bottles is {self.bottles!r}; a row needs {FILLING_FORM}")
        if self.finings_amount and not re.fullmatch(FININGS, self.finings_amount):
            raise ValueError(
                f"finings_amount is {self.finings_amount!r}; a row needs {FININGS_FORM}"
            )
        for text in (self.note, self.struck, self.other):
            if "\0" in text or len(guarded(text)) > LONGEST_CELL:
                raise ValueError("a note holds no NUL and no more than 131072 characters")
            text.encode()  # half a surrogate pair cannot be written: UnicodeEncodeError

    @property
    def per_min(self) -> float | None:
        """Bubbles a minute, or None without a count."""
        if self.bubbles is None or self.seconds is None:
            return None
        return 60.0 * self.bubbles / self.seconds


@dataclass(frozen=True, kw_only=True, repr=False)  # no slots: cached properties need a dict
class Diary(Shown):
    """All visits to one vessel in order of time, with struck ones.

    Examples
    --------
    >>> import bubblerate
    >>> bubblerate.read("examples/quince.csv").litres
    4.5
    """

    path: Path
    vessel: str
    visits: tuple[Visit, ...]
    day_0: datetime | None = None  # for a diary with day numbers

    @cached_property
    def live(self) -> tuple[Visit, ...]:
        """The visits that were not struck."""
        return tuple(visit for visit in self.visits if not visit.struck)

    @property
    def pitched(self) -> datetime | None:
        """When the yeast went in: day 0, else the last live row that says so, else the first."""
        if self.day_0 is not None:
            return self.day_0
        live = self.live
        said = [visit.when for visit in live if visit.event == "pitched"]
        return said[-1] if said else live[0].when if live else None

    @property
    def litres(self) -> float | None:
        """Wine in the vessel as last noted, or before it was emptied."""
        known = [visit.litres for visit in self.batch if visit.litres]
        return known[-1] if known else None

    @cached_property
    def batch(self) -> tuple[Visit, ...]:
        """Live visits since this must was pitched; an earlier wine in the vessel is left out."""
        live = self.live
        began, counted, in_bottles = 0, False, False
        for i, visit in enumerate(live):
            if visit.event is Event.PITCHED and (counted or in_bottles):
                began, counted, in_bottles = i, False, False
            counted = counted or visit.bubbles is not None
            if visit.event is not None:
                opened = visit.event is Event.POURED_BACK
                in_bottles = not opened and (in_bottles or visit.event.base is Event.BOTTLED)
        return live[began:]

    def to_frame(self) -> "pd.DataFrame":
        """Make a table of all visits, with struck ones, as in the diary; the index is `line`.

        `when` is datetime64 in UTC, `bubbles` Int64, words category, texts string, others float64.
        """
        from .frames import framed

        columns = {name: [getattr(visit, name) for visit in self.visits] for name in COLUMNS}
        words = {"event": [*Event], "closure": [*Closure]}
        return framed(columns, words, [visit.line for visit in self.visits])

    @classmethod
    def from_frame(cls, frame: "pd.DataFrame", vessel: str) -> "Diary":
        """Make a diary from a pandas table, in order of time.

        Parameters
        ----------
        frame : DataFrame
            With `when` and any other column of `to_frame`; anything else is ignored. A time without
            an offset is local.
        vessel : str

        Returns
        -------
        Diary
            Not from a file: every line is 0.

        Raises
        ------
        DiaryError
            If a column or a value does not fit a visit.

        Examples
        --------
        >>> import pandas as pd
        >>> when = pd.to_datetime(["2026-11-24 21:00", "2026-11-25 21:00"], utc=True)
        >>> diary = Diary.from_frame(pd.DataFrame({"when": when, "bubbles": [9, 8]}), vessel="fig")
        >>> diary
        <Diary fig: 2 visits, 24 Nov 2026 to 25 Nov 2026>
        >>> int(diary.to_frame()["bubbles"].sum()), diary.to_frame()["event"].dtype.name
        (17, 'category')
        """
        from .frames import unframed

        visits = []
        for where, values in unframed(frame, vessel, COLUMNS):
            try:
                visits.append(Visit(**values))
            except ValueError as err:
                raise DiaryError(f"{where}: {err}") from None
        visits.sort(key=lambda visit: visit.when)
        return cls(path=Path(f"{vessel}.csv"), vessel=vessel, visits=tuple(visits))

    def until(self, at: datetime) -> "Diary":
        """The diary as it was at a moment."""
        visits = tuple(visit for visit in self.visits if visit.when <= at)
        return self if len(visits) == len(self.visits) else replace(self, visits=visits)


def bottled(visits: Sequence[Visit]) -> tuple[Visit, ...]:
    """Find the rows in which a wine was bottled, since bottles were last poured back.

    Parameters
    ----------
    visits : sequence of Visit
        Live rows of one wine, oldest first.

    Returns
    -------
    tuple of Visit
        Empty if the wine is not in bottles.
    """
    back = max((i for i, v in enumerate(visits) if v.event is Event.POURED_BACK), default=-1)
    return tuple(v for v in visits[back + 1 :] if v.event and v.event.base is Event.BOTTLED)


def _word(words: type[_Word], name: str, word: str) -> _Word:
    try:
        return words(word)
    except ValueError:
        raise ValueError(f"{name} is {word!r}; a row needs one of {', '.join(words)}") from None
