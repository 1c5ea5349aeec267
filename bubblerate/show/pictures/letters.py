"""Letters of the pictures: which fonts have them, how wide they are, where a line is parted.

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
    """Families to draw a text with, and the letters that none of those installed here has.

    Parameters
    ----------
    text : str
    first : str
        Family that is tried before all others.

    Returns
    -------
    families : list of str
        In the order in which a letter is looked for.
    lacking : str
        Each letter once.
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
    """Text with a ? for each letter that is lacking, and a space for what is never drawn."""
    return "".join("?" if c in lacking else " " if _unseen(c) else c for c in text)


def wrapped(text: str, size: float, room: float, *, bold: bool = False) -> list[str]:
    """Part a text into lines.

    Parameters
    ----------
    text : str
    size : float
        Of its letters [points].
    room : float
        Width of a line [points].
    bold : bool

    Returns
    -------
    list of str
        At least one; a word that is too long for a line is parted too.
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
    """Width of a line in the first font [points]; other letters are taken for wide ones."""
    text = "".join(char if char.isascii() else "W" for char in text)
    font = FontProperties(family=FIRST_FONT, size=size, weight="bold" if bold else "normal")
    width, _, _ = TextToPath().get_text_width_height_descent(text, font, ismath=False)
    return float(width)


def _parted(word: str, size: float, room: float, *, bold: bool) -> list[str]:
    """A word in parts that fit a line: a name may be long."""
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
    """Letters that a font file has; none, where it is no font that the library can read."""
    try:
        return frozenset(FT2Font(path).get_charmap())
    except (OSError, RuntimeError):
        return frozenset()


def _unseen(char: str) -> bool:
    """Whether nothing is drawn for it: spaces, joiners, marks of direction."""
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
