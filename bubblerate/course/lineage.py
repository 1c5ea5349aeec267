"""Finds the rows of all wines that were poured into a wine, to know what else they contain."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Final

from ..diary.events import Event

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime

    from ..diary.outcomes import Opened
    from ..diary.visit import Visit

__all__ = ["poured_in"]

_POURED: Final = frozenset({Event.FED, Event.TOPPED_UP, Event.JOINED})
_DEEPEST: Final = 12  # how many jars back diaries are followed


def poured_in(
    jar: Opened, *, at: datetime, of: Callable[[str], Opened | None], depth: int = 0
) -> Iterator[Visit]:
    """Give the rows of other jars' wines, each up to the moment it was poured in.

    Parameters
    ----------
    jar : Opened
    at : datetime
        Aware; later rows are not used.
    of : callable
        Diary of another jar, by its name; None if there is none.
    depth : int
        How many jars back this one is.

    Yields
    ------
    Visit
    """
    if depth >= _DEEPEST:
        return
    for row in jar.diary.until(at).batch:
        other = of(row.other) if row.event in _POURED and row.other else None
        if other is not None:
            before = row.when - timedelta(seconds=1)
            yield from other.diary.until(before).batch
            yield from poured_in(other, at=before, of=of, depth=depth + 1)
