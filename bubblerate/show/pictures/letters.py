"""Letters in pictures: which fonts have them, how wide they are, where lines break.

Sizes are in points (1/72 inch).
"""

from __future__ import annotations

import unicodedata
from functools import cache, lru_cache
from itertools import chain

from matplotlib.font_manager import FontProperties, findfont, fontManager
from matplotlib.ft2font import FT2Font
from matplotlib.textpath import TextToPath

from .page import FIRST_FONT

__all__ = ["drawable", "fonts_for", "wide", "wrapped"]


def fonts_for(text: str, *, first: str = FIRST_FONT) -> tuple[list[str], str]:
    """Find font families to draw a text, and letters that no installed font has.

    Parameters
    ----------
    text : str
    first : str
        Family to try first.

    Returns
    -------
    families : list of str
        In the order to try them.
    lacking : str
        Missing letters, each once.
    """
    families = [first]
    lacking = _not_in(findfont(FontProperties(family=first)), text)
    if lacking:
        for family, path in _installed():
            left = _not_in(path, lacking)
            if left != lacking:
                families.append(family)
                lacking = left
            if not lacking:
                break
    return families, lacking


def drawable(text: str, lacking: str) -> str:
    """Put a ? for each missing letter, and a space for what is never drawn."""
    return "".join("?" if c in lacking else " " if _unseen(c) else c for c in text)


def wrapped(text: str, size: float, room: float, *, bold: bool = False) -> list[str]:
    """Break a text into lines.

    Parameters
    ----------
    text : str
    size : float
        Size of the letters [points].
    room : float
        Width of a line [points].
    bold : bool

    Returns
    -------
    list of str
        At least one; a word too long for a line is broken too.
    """
    lines = [""]
    parts = (_parted(word, size, room, bold=bold) for word in text.split())
    for word in chain.from_iterable(parts):
        joined = f"{lines[-1]} {word}".strip()
        if wide(joined, size, bold=bold) <= room or not lines[-1]:
            lines[-1] = joined
        else:
            lines.append(word)
    return lines


@lru_cache(maxsize=4096)
def wide(text: str, size: float, *, bold: bool = False) -> float:
    """Width of a line in the first font [points]; other letters count as wide."""
    text = "".join(char if char.isascii() else "W" for char in text)
    font = FontProperties(family=FIRST_FONT, size=size, weight="bold" if bold else "normal")
    width, _, _ = TextToPath().get_text_width_height_descent(text, font, ismath=False)
    return float(width)


def _parted(word: str, size: float, room: float, *, bold: bool) -> list[str]:
    """Break a word into parts that fit in a line, since a name may be long."""
    if wide(word, size, bold=bold) <= room:
        return [word]
    parts = [""]
    for char in word:
        if parts[-1] and wide(parts[-1] + char, size, bold=bold) > room:
            parts.append("")
        parts[-1] += char
    return parts


def _not_in(path: str, text: str) -> str:
    """Letters of a text that a font file does not have, each once."""
    have = _charmap(path)
    return "".join(c for c in dict.fromkeys(text) if not _unseen(c) and ord(c) not in have)


@lru_cache(maxsize=64)
def _charmap(path: str) -> frozenset[int]:
    """Letters that a font file has; none if the library cannot read it."""
    try:
        return frozenset(FT2Font(path).get_charmap())
    except (OSError, RuntimeError):
        return frozenset()


def _unseen(char: str) -> bool:
    """Whether it draws nothing: spaces, joiners, direction marks."""
    return char.isspace() or unicodedata.category(char) in {"Cf", "Cc"}


@cache
def _installed() -> list[tuple[str, str]]:
    """Upright text families found here, by name; fonts that draw boxes for everything left out."""
    found = {
        font.name: font.fname
        for font in fontManager.ttflist
        if font.style == "normal" and "last resort" not in font.name.lower()
    }
    return sorted(found.items())
