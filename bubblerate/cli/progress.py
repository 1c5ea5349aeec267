"""A bar that shows how far long work has come, on stderr, where a person is watching."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from typing import TypeVar

__all__ = ["progress"]

_FEWEST = 20  # items worth a bar
_T = TypeVar("_T")


def progress(done: Iterable[_T], *, total: int | None, label: str) -> Iterator[_T]:
    """Hand on what is done, one by one, and show how far it has come.

    Parameters
    ----------
    done : iterable
    total : int or None
        How many there will be; None where that is not known.
    label : str
        What is being done.

    Yields
    ------
    object
        What `done` gave. Nothing is shown where stderr is no terminal, or of fewer than 20.
    """
    few = total is not None and total < _FEWEST
    if few or sys.stderr is None or not sys.stderr.isatty():
        yield from done
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn
    from rich.progress import TimeRemainingColumn as TimeLeft

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeLeft())
    # drawn by hand: a thread of its own could be caught half-way when worker processes are begun
    with Progress(
        *columns, console=Console(stderr=True), transient=True, auto_refresh=False
    ) as bar:
        task = bar.add_task(label, total=total)
        for item in done:
            yield item
            bar.update(task, advance=1, refresh=True)
