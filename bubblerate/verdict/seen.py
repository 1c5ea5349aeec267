"""What the maker has seen and noted: clear or cloudy, still or prickling, malolactic over.

Days are evenings, as ordinals of the calendar (`acts`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from .acts import last_day

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from ..diary.settings import VesselSettings
    from .acts import Row

__all__ = ["Seen", "seen"]

OFF_FININGS_DAYS: Final = 14  # clear this long, racked off them (common practice, no source)
SULPHITE_WORKS_DAYS: Final = 14  # after sugar: one in the must is used up by the end (ours)

_UNCLEAR: Final = frozenset({"cloudy", "lees", "fined", "stirred", "joined", "pitched"})
_UNSTILL: Final = frozenset({"prickle", "gushed", "joined", "pitched"})
_ANOTHER: Final = frozenset({"joined", "pitched"})
_OFF_LEES: Final = frozenset({"racked", "filtered"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What was seen, each with its first or last evening; None if it was not seen.

    Attributes
    ----------
    clear : int or None
        Clear since, with nothing after it that undoes it.
    clear_days : int
        Days it must have been clear before bottling.
    cloudy : int or None
        Cloudy at the last look.
    lees : int or None
        New lees seen, and not racked off yet.
    on_finings : int or None
        Fined, and not racked off the finings yet.
    still : int or None
        Neither puff nor prickle when shaken, with nothing after it that undoes it.
    prickle : int or None
        Gas in it at the last look.
    malolactic_settled : int or None
        The malolactic change is over, or sulphite keeps it from coming.
    """

    clear: int | None = None
    clear_days: int = 30
    cloudy: int | None = None
    lees: int | None = None
    on_finings: int | None = None
    still: int | None = None
    prickle: int | None = None
    malolactic_settled: int | None = None


def seen(
    rows: Sequence[Row],
    said: VesselSettings,
    *,
    sugar: int | None,
    back: int | None,
    deposit_days: float,
) -> Seen:
    """Find in the rows what the maker saw.

    Parameters
    ----------
    rows : sequence of Row
        Of one wine, oldest first.
    said : VesselSettings
        Days named in the settings count like rows.
    sugar : int or None
        Evening on which sugar last came in.
    back : int or None
        Newest evening when bubbles came back.
    deposit_days : float
        How long it must be clear and without new lees before bottling [days].

    Returns
    -------
    Seen
    """
    clear = _clear_since(rows, sugar, said)
    still = _standing(rows, "still", _UNSTILL, sugar, said.degassed_on)
    return Seen(
        clear=clear,
        clear_days=_clear_days(rows, clear, round(deposit_days)),
        cloudy=_unless(last_day(rows, {"cloudy"}), clear),
        lees=_unless(last_day(rows, {"lees"}), last_day(rows, _OFF_LEES)),
        on_finings=_unless(last_day(rows, {"fined"}), _after(rows, "fined")),
        still=None if still is not None and back is not None and back > still else still,
        prickle=_unless(last_day(rows, {"prickle", "gushed"}), still),
        malolactic_settled=_malolactic_settled(rows, said, sugar),
    )


def _standing(
    rows: Sequence[Row], word: str, undone_by: frozenset[str], sugar: int | None, said: date | None
) -> int | None:
    """First evening of an event that nothing has undone since or on the same evening."""
    undone = max((d for d in (last_day(rows, undone_by), sugar) if d is not None), default=None)
    days = [r.day for r in rows if r.event == word]
    if said is not None:
        days.append(said.toordinal())
    return min((day for day in days if undone is None or day > undone), default=None)


def _clear_since(rows: Sequence[Row], sugar: int | None, said: VesselSettings) -> int | None:
    """Evening since when it is clear; filtering makes it clear."""
    by_eye = _standing(rows, "clear", _UNCLEAR, sugar, said.clear_since)
    filtered = _standing(rows, "filtered", _UNCLEAR, sugar, None)
    return min((day for day in (by_eye, filtered) if day is not None), default=None)


def _clear_days(rows: Sequence[Row], clear: int | None, deposit_days: int) -> int:
    """Days it must have been clear: none after filtering, fewer after finings."""
    filtered = last_day(rows, {"filtered"})
    if clear is not None and filtered is not None and filtered >= clear:
        return filtered - clear
    fined, off = last_day(rows, {"fined"}), last_day(rows, _OFF_LEES)
    if fined is None:
        return deposit_days
    waited = 0 if clear is None or off is None else max(off - clear, 0)
    return min(OFF_FININGS_DAYS, deposit_days) + waited


def _after(rows: Sequence[Row], event: str) -> int | None:
    """Newest racking or filtering, if it came on a later evening than the last such event."""
    day, off = last_day(rows, {event}), last_day(rows, _OFF_LEES)
    return off if day is not None and off is not None and off > day else None


def _unless(day: int | None, settled: int | None) -> int | None:
    """Evening of an event, unless something has settled it then or since."""
    return None if day is None or (settled is not None and settled >= day) else day


def _malolactic_settled(rows: Sequence[Row], said: VesselSettings, sugar: int | None) -> int | None:
    """Newest evening when the malolactic change was noted as over, or sulphite stopped it."""
    first = _standing(rows, "malolactic-over", _ANOTHER, sugar, said.malolactic_settled_on)
    last = max((r.day for r in rows if r.event == "malolactic-over"), default=first)
    tablet = last_day(rows, {"sulphited", "stabilised"})
    late = tablet is not None and (sugar is None or tablet >= sugar + SULPHITE_WORKS_DAYS)
    days = [last if first is not None else None, tablet if late else None]
    return max((day for day in days if day is not None), default=None)
