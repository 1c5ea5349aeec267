"""Replaces look-alike signs and letters: a long minus, an o for a zero."""

import re
from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec, TypeVar

from ..errors import InputError
from ..text import quoted

__all__ = ["seeing_letters", "tidied"]

# What phones and spreadsheets use for a minus or a degree sign.
_LOOKALIKES = str.maketrans(
    {"\N{MINUS SIGN}": "-", "\N{MASCULINE ORDINAL INDICATOR}": "\N{DEGREE SIGN}"}
)

# A final l may be a litre, an o after a letter part of a word; next to a digit they are mistakes.
_LETTERS = re.compile(r"(?<![oil])[oil]+(?=[0-9.,])|(?<=[0-9.,])[oi]+")
_DIGITS = str.maketrans("oil", "011")
_P = ParamSpec("_P")
_T = TypeVar("_T")


def seeing_letters(
    read: Callable[Concatenate[str, _P], _T],
) -> Callable[Concatenate[str, _P], _T]:
    """Make a reader say so if only letters typed for digits keep it from reading the text."""

    @wraps(read)
    def reader(text: str, /, *args: _P.args, **kwargs: _P.kwargs) -> _T:
        try:
            return read(text, *args, **kwargs)
        except InputError as err:
            meant = _LETTERS.sub(lambda found: found[0].translate(_DIGITS), tidied(text))
            try:
                read(meant, *args, **kwargs)
            except InputError:
                raise err from None
        raise InputError(f"{quoted(text)} has a letter where a digit should be; write {meant}")

    return reader


def tidied(text: str) -> str:
    """Tidy a text: lower case, single spaces, and the usual minus and degree signs."""
    return " ".join(text.split()).lower().translate(_LOOKALIKES)
