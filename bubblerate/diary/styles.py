"""Finds what kind of wine a maker's free words mean; the only reader of `style`."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from ..physics.alcohol import Style

__all__ = ["Kind", "kind_of", "near_kind"]


@dataclass(frozen=True, slots=True)
class Kind:
    """What a maker's words tell about the end of a wine; `style` is None for most fruit."""

    style: Style | None
    malolactic: bool = False  # much malic acid, so ask about the malolactic change


MOST_FRUIT: Final = Kind(None)
# Words of the trade; the first one found in a style decides. Malolactic change is usual in cider,
# perry and grape wine, and rare in others (common practice, no source).
_KINDS: Final = (
    (r"mead|honey|melomel|metheglin|cyser|pyment|hydromel", Kind("mead")),
    (r"perry|pear cider", Kind("perry", malolactic=True)),
    (r"cider|cyder", Kind("cider", malolactic=True)),
    (r"grapes?|(red|white|ros[eé]) wine", Kind("dry wine", malolactic=True)),
    (r"dry wine|table wine", Kind("dry wine")),
)


# Words in which a typing mistake would lose the kind of wine.
_TELLING: Final = ("mead", "honey", "perry", "cider", "grape")


def near_kind(style: str) -> str | None:
    """Find a known word that was probably meant, in a style of no known kind.

    Examples
    --------
    >>> near_kind("farm cidre"), near_kind("beetroot")
    ('cider', None)
    """
    from difflib import get_close_matches  # only needed to say what was meant

    if kind_of(style) is not MOST_FRUIT:
        return None
    near = (get_close_matches(word, _TELLING, 1, 0.75) for word in style.casefold().split())
    return next((found[0] for found in near if found), None)


def kind_of(style: str | None) -> Kind:
    """Find the kind of wine that a maker's free words mean; most fruit if unknown.

    Examples
    --------
    >>> kind_of("Farm cider").style, kind_of("quince wine").style
    ('cider', None)
    """
    for words, kind in _KINDS:
        if re.search(rf"\b({words})\b", (style or "").casefold()):
            return kind
    return MOST_FRUIT
