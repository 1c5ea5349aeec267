"""Reads what is typed about a jar besides its rows: style, pH, finish, full litres.

The command and the page both use it, so that they take the same words.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ..errors import InputError
from . import units
from .gravity_scales import reading
from .styles import near_kind

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from .shelf import Shelf

__all__ = ["about_doubts", "about_of"]

# option -> key of the settings, and how its text is read
_KEYS: Final[Mapping[str, tuple[str, Callable[[str], float | str]]]] = {
    "style": ("style", str.strip),
    "finish": ("finish", lambda text: reading(text).sg),
    "ph": ("ph", lambda text: units.number(text, "--ph")),
    "litres": ("litres", units.litres),
    "full": ("full_litres", units.litres),
    "spare-for": ("spare_for", str.strip),
    "drink-from": ("drink_from_months", lambda text: units.number(text, "--drink-from")),
    "best-by": ("best_by_months", lambda text: units.number(text, "--best-by")),
}


def about_of(
    jar: str, typed: Mapping[str, str | None], *, forget: Sequence[str] = ()
) -> dict[str, float | str | None]:
    """Give the new values of settings by key; None to remove one.

    Parameters
    ----------
    jar : str
    typed : mapping of str to str or None
        By the name of the option; None if not given.
    forget : sequence of str
        Options to clear.

    Returns
    -------
    dict

    Raises
    ------
    InputError
        If a word cannot be read, or an option is both set and cleared.
    """
    said: dict[str, float | str | None] = {}
    for option in forget:
        if option.removeprefix("--") not in _KEYS:
            raise InputError(f"--forget is {option}; write one of {', '.join(_KEYS)}")
        said[_KEYS[option.removeprefix("--")][0]] = None
    for option, text in typed.items():
        if text is None:
            continue
        key, read = _KEYS[option]
        if key in said:
            raise InputError(f"--{option} is both set and forgotten; leave one out")
        if not text.strip():
            raise InputError(f"--{option} is empty; to clear it write --forget {option}")
        said[key] = read(text)
    if said.get("spare_for") == jar:
        raise InputError(f"--spare-for is {jar} itself; name the jar that it tops up")
    return said


def about_doubts(shelf: Shelf, said: dict[str, float | str | None]) -> Iterator[str]:
    """Find what looks like a mistake in what was written."""
    spare, style = said.get("spare_for"), said.get("style")
    if isinstance(spare, str) and not shelf.has(spare):
        yield f"There is no diary {spare} on this shelf yet."
    near = near_kind(style) if isinstance(style, str) else None
    if near is not None:
        yield f"Did you mean {near}? A style that is not known counts as fruit wine."
