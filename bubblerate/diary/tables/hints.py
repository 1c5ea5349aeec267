"""Finds notes in a table that start with the word of an event, to offer them to the maker."""

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from ...errors import InputError
from ..event_names import done
from ..events import Event
from ..visit import Visit

__all__ = ["Hint", "hints", "with_events"]

_PARTS = re.compile(r"[;.\n]+\s*")  # a note may have several remarks


class Hint(NamedTuple):
    """A note that may be an event: its line in the table, its words, the event."""

    line: int
    note: str
    event: Event


def hints(visits: Sequence[Visit]) -> tuple[Hint, ...]:
    """Find notes that may be events, in rows without one.

    Parameters
    ----------
    visits : sequence of Visit
        Of a table.

    Returns
    -------
    tuple of Hint

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> row = Visit(when=datetime(2026, 11, 1, tzinfo=UTC), note="cold. Racked, a lot of lees")
    >>> [hint.event for hint in hints([row])] == ["racked"]
    True
    """
    found = ((visit, _event(visit.note)) for visit in visits if visit.note and visit.event is None)
    return tuple(Hint(visit.line, visit.note, event) for visit, event in found if event)


def with_events(visits: Sequence[Visit], told: Sequence[Hint]) -> tuple[Visit, ...]:
    """Add the events found in notes to the visits; each note stays as it is."""
    events = {(hint.line, hint.note): hint.event for hint in told}
    return tuple(
        replace(visit, event=events[visit.line, visit.note])
        if visit.event is None and (visit.line, visit.note) in events
        else visit
        for visit in visits
    )


def _event(note: str) -> Event | None:
    for part in _PARTS.split(note):
        try:
            event, _ = done(part)
        except InputError:  # a word that is nearly an event
            continue
        if event is not None:
            return event
    return None
