"""Which fonts of this machine have the letters of a text, and what to draw for those none has."""

from __future__ import annotations

import unicodedata
from functools import cache

from matplotlib.font_manager import FontProperties, findfont, fontManager
from matplotlib.ft2font import FT2Font

__all__ = ["drawable", "fonts_for"]

_FIRST_FONT = "DejaVu Sans"  # comes with matplotlib, everywhere the same


def fonts_for(text: str, *, first: str = _FIRST_FONT) -> tuple[list[str], str]:
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


def _not_in(path: str, text: str) -> str:
    """Letters of a text that a font file does not have, each once."""
    try:
        have = FT2Font(path).get_charmap()
    except (OSError, RuntimeError):  # a file that is no font this library can read
        return text
    return "".join(c for c in dict.fromkeys(text) if not _unseen(c) and ord(c) not in have)


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
