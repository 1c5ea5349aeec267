"""Writes the settings of one jar for people; no sums here."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ..diary.events import Event
from ..diary.places import typed_again
from ..text import format_day, plain, printable

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from ..diary.settings import VesselSettings

__all__ = ["about_text", "changed_text"]

# key of the settings -> its name, and the unit after its value
_CALLED: Final[Mapping[str, tuple[str, str]]] = {
    "style": ("style", ""),
    "finish": ("finish", ""),
    "ph": ("pH", ""),
    "litres": ("litres", " L"),
    "full_litres": ("full at", " L"),
    "spare_for": ("spare for", ""),
    "drink_from_months": ("drink from", " months in bottle"),
    "best_by_months": ("best by", " months in bottle"),
}
_SEEN: Final[Mapping[str, Event]] = {
    "clear_since": Event.CLEAR,
    "degassed_on": Event.STILL,
    "malolactic_settled_on": Event.MALOLACTIC_OVER,
}
_COLUMN: Final = 12
_UNSAID: Final = "not set"


def about_text(path: Path, said: VesselSettings) -> str:
    """Write all settings of a jar.

    Parameters
    ----------
    path : Path
        Diary of the jar.
    said : VesselSettings

    Returns
    -------
    str
        A line for each key; no line end after the last.
    """
    lines = [f"{path.stem}: its settings"]
    lines += [f"  {called:<{_COLUMN}}{_value(said, key)}" for key, (called, _) in _CALLED.items()]
    if said.pitched is not None:
        lines.append(f"  {'pitched':<{_COLUMN}}{format_day(said.pitched)}")
    return "\n".join([*lines, *_days(path, said)])


def _days(path: Path, said: VesselSettings) -> Iterator[str]:
    """Write days on which something was seen, with the command that notes it as an event."""
    for key, event in _SEEN.items():
        day = getattr(said, key)
        if day is not None:
            yield f"  {event:<{_COLUMN}}{format_day(day)}; write it as an event:"
            yield f"    {typed_again(path, 'event', event, '--when', day.isoformat())}"


def changed_text(
    vessel: str, before: VesselSettings, now: VesselSettings, keys: Sequence[str]
) -> str:
    """Say what was changed for a jar, and what it was before.

    Parameters
    ----------
    vessel : str
    before, now : VesselSettings
    keys : sequence of str
        Those that were written.

    Returns
    -------
    str
        One line.
    """
    parts = []
    for key in keys:
        old, new = _value(before, key), _value(now, key)
        was = "" if old in (_UNSAID, new) else f" (was {old})"
        parts.append(f"{_CALLED[key][0]} {new}{was}")
    return f"{vessel}: {', '.join(parts)}. Saved in bubblerate.toml."


def _value(said: VesselSettings, key: str) -> str:
    value = getattr(said, key)
    if value in (None, ""):
        return _UNSAID
    if isinstance(value, str):
        return printable(value)
    return f"{value:.3f}" if key == "finish" else f"{plain(value)}{_CALLED[key][1]}"
