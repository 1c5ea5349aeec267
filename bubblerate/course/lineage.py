"""Wines that went into a wine: the rows of their jars, for what they hold besides wine."""

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
_DEEPEST: Final = 12  # jars behind jars


def poured_in(
    jar: Opened, *, at: datetime, of: Callable[[str], Opened | None], depth: int = 0
) -> Iterator[Visit]:
    """Rows of the wines of other jars, each up to the moment at which it was poured in.

    Parameters
    ----------
    jar : Opened
    at : datetime
        Aware; later rows are not used.
    of : callable
        Diary of another jar, by its name; None where there is none.
    depth : int
        Of jars behind this one.

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
