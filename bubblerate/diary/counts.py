"""A count with its time, as people say it in one breath: "12 in 90s", "one every 55s"."""

import re
from typing import NamedTuple

from ..errors import InputError
from ..text import quoted
from . import units

__all__ = ["Counted", "counted"]

_FORMS = "write 12 in 90s, one every 55s, none in 5m or 3.2/min"
_NUMBER = r"(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)"
_ONE = frozenset({"one", "a", "an"})
_MINUTE = re.compile(r"(?:a |one |1 )?(?:m|min|minute)")
_RATE = re.compile(rf"({_NUMBER}|one|none) ?(?:bubbles? )?(?:/|per|an?|every) ?(?:m|min|minute)")
_SPACING = re.compile(r"(?:(?:one|1|an?) )?(?:bubble )?every (.+)")
_SPELL = re.compile(r"(.+?)(?: bubbles?)? (?:in|over) (.+)")


class Counted(NamedTuple):
    """Bubbles and the seconds in which they came."""

    bubbles: int
    seconds: float


def counted(text: str) -> Counted:
    """Bubbles and time that a person means; a number alone is a minute's count.

    Parameters
    ----------
    text : str
        Such as "12", "12 in 90s", "one every 55s", "none in 5m", "one in 20 min" or "3.2/min". A
        rate does not say how long was counted: it is taken as about a minute, or as one bubble
        where that takes longer, so that it never weighs more than it should.

    Returns
    -------
    Counted

    Raises
    ------
    InputError
        If it cannot be read.

    Examples
    --------
    >>> counted("12 in 90s"), counted("3.2/min")
    (Counted(bubbles=12, seconds=90.0), Counted(bubbles=3, seconds=56.25))
    """
    tidy = units.tidied(text)
    if match := _RATE.fullmatch(tidy):
        return _of_rate(match[1], text)
    if match := _SPACING.fullmatch(tidy):
        return Counted(1, _seconds(match[1]))
    if match := _SPELL.fullmatch(tidy):
        return Counted(_bubbles(match[1], text), _seconds(match[2]))
    return Counted(_bubbles(tidy, text), 60.0)


def _of_rate(word: str, text: str) -> Counted:
    rate = {"none": 0.0, "one": 1.0}.get(word)
    per_min = units.number(word, "the rate") if rate is None else rate
    bubbles = max(1, round(per_min))
    if per_min == 0.0:
        return Counted(0, 60.0)
    seconds = round(60.0 * bubbles / per_min, 2)
    if seconds > 86_400.0 or bubbles > 1_000_000:
        raise InputError(f"{quoted(text)} is no rate of an airlock; {_FORMS}")
    return Counted(bubbles, seconds)


def _seconds(words: str) -> float:
    return 60.0 if _MINUTE.fullmatch(words) else units.seconds(words)


def _bubbles(words: str, text: str) -> int:
    if words in _ONE:
        return 1
    if words in {"none", "nothing"} or re.fullmatch(r"[0-9oil]+", words):
        return units.count(words)
    if re.fullmatch(_NUMBER, words):
        raise InputError(f"{quoted(text)} is not a whole count; write 32 in 10m, or 3.2/min")
    raise InputError(f"cannot read {quoted(text)} as a count; {_FORMS}")
