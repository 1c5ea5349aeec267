"""Reads what may be typed with a count, a reading or an event, such as a temperature.

The commands and the page both use it, so that they take the same words. Nothing heavy is loaded.
"""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final

from ..errors import InputError
from . import units
from .bottles import closure as closure_of
from .bottles import filling, one
from .dosed import finings, sorbate_g, sulphite_g
from .events import Event
from .gravity_scales import reading
from .lookalikes import tidied
from .visit import Visit

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping
    from datetime import datetime

__all__ = ["begun", "extras_of", "typed_litres", "typed_pressure", "typed_temp", "writable"]

# column, or what is typed for it -> its option, how it is read, and the events it goes with
_COLUMNS: Final[Mapping[str, tuple[str, Callable[[str], Any], frozenset[Event]]]] = {
    "added_l": (
        "added",
        units.added_l,
        frozenset({Event.TOPPED_UP, Event.FED, Event.DILUTED, Event.STARTER, Event.JOINED}),
    ),
    "sugar_g": (
        "sugar",
        units.grams,
        frozenset({Event.FED, Event.SWEETENED, Event.BOTTLED_SPARKLING}),
    ),
    "sulphite_g": ("sulphite", sulphite_g, frozenset({Event.SULPHITED, Event.STABILISED})),
    "sorbate_g": ("sorbate", sorbate_g, frozenset({Event.STABILISED})),
    "finings_amount": ("finings", finings, frozenset({Event.FINED, Event.FINED_TWO_PART})),
    "bottles": (
        "bottles",
        filling,
        frozenset({Event.BOTTLED, Event.BOTTLED_SPARKLING, Event.OPENED}),
    ),
    "size": ("size", one, frozenset({Event.OPENED})),
    "closure": ("closure", closure_of, frozenset({Event.BOTTLED, Event.BOTTLED_SPARKLING})),
}
_FILLS: Final = {"size": "bottles"}  # one bottle of that size


def typed_temp(text: str | None) -> float | None:
    """Read a temperature [C] to a tenth, if given.

    Raises
    ------
    InputError
        If it cannot be read, or is no temperature for a jar.
    """
    return None if text is None else round(units.temp_c(text), 1)


def typed_pressure(text: str | None) -> float | None:
    """Read the pressure of the air [hPa] to a tenth, if given.

    Raises
    ------
    InputError
        If it cannot be read.
    """
    if text is None:
        return None
    bare = tidied(text)
    for unit in ("hpa", "mbar", "mb"):
        bare = bare.removesuffix(unit).rstrip()
    return round(units.number(bare, "--pressure"), 1)


def typed_litres(text: str | None) -> float | None:
    """Read the wine in a vessel [L], if given.

    Raises
    ------
    InputError
        If it cannot be read, or is no volume for a jar.
    """
    return None if text is None else units.litres(text)


def extras_of(written: Event, typed: Mapping[str, str | None]) -> dict[str, Any]:
    """Give the columns that the options fill.

    Parameters
    ----------
    written : Event
    typed : mapping of str to str or None
        By the name of the column; None if not given.

    Returns
    -------
    dict

    Raises
    ------
    InputError
        If a value cannot be read, or does not go with the event.
    """
    found = {}
    for column, text in typed.items():
        if text is None:
            continue
        option, read, events = _COLUMNS[column]
        if written not in events:
            raise InputError(f"--{option} goes with {', '.join(sorted(events))}, not {written}")
        found[_FILLS.get(column, column)] = read(text)
    return found


def begun(
    when: datetime,
    *,
    litres: str | None = None,
    gravity: str | None = None,
    sugar: str | None = None,
    temp: str | None = None,
    note: str = "",
) -> Visit:
    """Make the first row of a diary from what was typed about its must.

    Parameters
    ----------
    when : datetime
        Aware.
    litres, gravity, sugar, temp : str or None
    note : str

    Returns
    -------
    Visit

    Raises
    ------
    InputError
        If a word cannot be read, or does not fit in a diary.
    """
    read = None if gravity is None else reading(gravity)
    with writable():
        return Visit(
            when=when,
            event=Event.PITCHED,
            litres=typed_litres(litres),
            sugar_g=None if sugar is None else units.grams(sugar),
            sg=None if read is None else read.sg,
            sample_c=None if read is None else read.sample_c,
            temp_c=typed_temp(temp),
            note=note,
        )


@contextmanager
def writable() -> Iterator[None]:
    """Refuse a row that does not fit in a diary as an error in what was typed.

    Raises
    ------
    InputError
        If the row raises a `ValueError`.
    """
    try:
        yield
    except ValueError as err:
        raise InputError(f"this cannot be written down: {err}") from err
