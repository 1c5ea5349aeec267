"""Finds notes that mention sugar: what the sums do not read, but the maker is asked about."""

import re
from collections.abc import Iterable, Sequence
from datetime import date

from .events import ADDED, NEW_SUGAR, Event
from .visit import Visit

__all__ = ["open_note", "speaks_of_sugar"]

_SUGAR = r"(?:sugar|honey|syrup|juice|must|dextrose)"
_SPEAKS_OF_SUGAR = re.compile(
    rf"\b(?:fed|feed|primed)\b|\badd\w*\b.*\b{_SUGAR}\b|\b{_SUGAR}\b.*\badd\w*\b"
    rf"|\d\s*(?:g|grams?|kg|lb|oz|ounces?|ml|cups?|\w*spoons?|tsp|tbsp)\b.*\b{_SUGAR}\b"
)
_POURED_SWEET = re.compile(  # beside topping up, which says that it was added
    rf"\bwith\b.*\b{_SUGAR}\b|\b(?:sugar|honey|syrup|juice|concentrate|unfermented)\b"
)


def speaks_of_sugar(visit: Visit) -> bool:
    """Whether a note mentions sugar but the event does not; no sum uses a note."""
    if visit.event in ADDED | NEW_SUGAR | {Event.NOT_FED}:
        return False
    note = visit.note.casefold()
    poured = visit.event is Event.TOPPED_UP and _POURED_SWEET.search(note)
    return bool(poured or _SPEAKS_OF_SUGAR.search(note))


def open_note(rows: Sequence[Visit]) -> Visit | None:
    """Find the newest row of one wine whose note mentions sugar, unless a later row answers it.

    An act that adds sugar, that day or later, means yes. `not-fed` means no to the newest note
    before it. A gravity read on a later day shows the result.
    """
    fed_on = max((v.when.date() for v in rows if v.event in ADDED | NEW_SUGAR), default=date.min)
    read_on = max((v.when.date() for v in rows if v.sg is not None), default=date.min)
    since = (v for v in reversed(_not_denied(rows)) if fed_on < v.when.date() >= read_on)
    return next(since, None)


def _not_denied(rows: Iterable[Visit]) -> list[Visit]:
    """Rows whose note mentions sugar, oldest first, without those marked as no sugar."""
    notes: list[Visit] = []
    for v in sorted(rows, key=lambda v: v.when):
        if speaks_of_sugar(v):
            notes.append(v)
        elif v.event is Event.NOT_FED and notes:
            notes.pop()
    return notes
