"""Reads a count with its time, as people say it: "12 in 90s", "one every 55s", "3.2/min".

The only reader of counts: in a command, on a round, or in a table, where the heading says what a
plain number means. Times are in seconds.
"""

import re
from typing import NamedTuple

from ..errors import InputError
from ..text import quoted
from . import units
from .lookalikes import seeing_letters, tidied

__all__ = ["Counted", "at_rate", "counted", "spaced", "whole"]

_FORMS = "write 12 in 90s, one every 55s, none in 5m or 3.2/min"
_NUMBER = r"(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)"
_ONE = frozenset({"one", "a", "an"})
_NONE = frozenset({"none", "nothing", "no"})
_MINUTE = re.compile(r"(?:a |one |1 )?(?:m|min|minute)")
_RATE = re.compile(
    rf"({_NUMBER}|one|none|no) ?(?:bubbles? ?)?(?:(?:/|per|an?|every) ?(?:m|min|minute)|bpm)"
)
_SPACING = re.compile(r"(?:(?:one|1|an?) )?(?:bubble )?every (.+)")
_SPELL = re.compile(r"(.+?)(?: bubbles?)? (?:in|over|per) (.+)")
_WHOLE = re.compile(r"([0-9]+)[.,]0*")  # as in tables with gaps
_MOST_BUBBLES = 1_000_000
_LONGEST_SECONDS = 86_400.0


class Counted(NamedTuple):
    """Bubbles and the seconds in which they came."""

    bubbles: int
    seconds: float


def counted(text: str, *, over_s: float | None = None) -> Counted:
    """Read the bubbles and time that a person means; a number alone is for one minute.

    Parameters
    ----------
    text : str
        Such as "12", "12 in 90s", "one every 55s", "none in 5m", "one in 20 min" or "3.2/min". A
        rate that does not say how long was counted is taken as about a minute, or as one bubble if
        that takes longer, so that it never weighs more than it should.
    over_s : float, optional
        How long was counted [s], if given apart from the text.

    Returns
    -------
    Counted

    Raises
    ------
    InputError
        If it cannot be read, or has another time than `over_s`.

    Examples
    --------
    >>> counted("12 in 90s"), counted("3.2/min")
    (Counted(bubbles=12, seconds=90.0), Counted(bubbles=3, seconds=56.25))
    >>> counted("none", over_s=300.0)
    Counted(bubbles=0, seconds=300.0)
    """
    tidy = tidied(text)
    if match := _RATE.fullmatch(tidy):
        rate = {"none": "0", "no": "0", "one": "1"}.get(match[1], match[1])
        return at_rate(rate, over_s=over_s)
    if match := _SPACING.fullmatch(tidy):
        found = Counted(1, 60.0) if _MINUTE.fullmatch(match[1]) else spaced(match[1])
    elif match := _SPELL.fullmatch(tidy):
        whole_minute = _MINUTE.fullmatch(match[2])
        seconds = 60.0 if whole_minute else units.seconds(match[2])
        found = Counted(_bubbles(match[1], text), seconds)
    else:
        return Counted(_bubbles(tidy.removesuffix(" bubbles"), text), over_s or 60.0)
    if over_s not in (None, found.seconds):
        raise InputError(f"{quoted(text)} already says how long; leave out the other time")
    return found


@seeing_letters
def whole(text: str) -> int:
    """Read bubbles counted, as a whole number without a time.

    Parameters
    ----------
    text : str
        Such as "12", "0", "none" or "nothing".

    Returns
    -------
    int
        From 0 to 1 000 000.

    Raises
    ------
    InputError
        If it is not a whole number, or more bubbles than anyone counts.
    """
    tidy = tidied(text)
    if tidy in {"none", "nothing"}:
        return 0
    if tidy.isascii() and tidy.isdigit():
        if float(tidy) <= _MOST_BUBBLES:
            return int(float(tidy))
        raise InputError(f"{quoted(text)} is more bubbles than anyone can count; check the number")
    raise InputError(f"cannot read {quoted(text)} as a count; write a whole number, or none")


def at_rate(text: str, *, per_s: float = 60.0, over_s: float | None = None) -> Counted:
    """Turn a rate, in bubbles per `per_s` seconds, into a whole count and its time.

    Parameters
    ----------
    text : str
        A number such as "3.2".
    per_s : float
        [s].
    over_s : float, optional
        How long was counted [s]; as long as `per_s` unless given.

    Returns
    -------
    Counted

    Raises
    ------
    InputError
        If it is not a number, or no airlock bubbles that fast or slowly.

    Notes
    -----
    If no whole count in that time gives the rate exactly, the nearest count is written with the
    time that gives the rate, so that it weighs what it is worth.
    """
    rate = units.number(text, "the rate")
    spell_s = over_s or per_s
    if rate == 0.0:
        return Counted(0, spell_s)
    told = rate * spell_s / per_s
    bubbles = max(1, round(told)) if 0.0 < rate <= _MOST_BUBBLES else 0
    decimals = len(re.sub(r".*[.,]|^[^.,]*$", "", text.strip()))
    rounding = 0.5 * 10.0**-decimals * spell_s / per_s
    if abs(told - bubbles) > rounding * (1.0 + 1e-9):
        spell_s = round(per_s * bubbles / rate, 2)
    if not 0 < bubbles <= _MOST_BUBBLES or spell_s > _LONGEST_SECONDS:
        raise InputError(f"{quoted(text)} is not a possible bubble rate; {_FORMS}")
    return Counted(bubbles, spell_s)


def spaced(text: str) -> Counted:
    """Read a gap between bubbles as one bubble; if under a second, as the bubbles of a minute.

    Parameters
    ----------
    text : str
        Such as "55s", "2 min" or "0.5" (seconds).

    Returns
    -------
    Counted

    Raises
    ------
    InputError
        If it is not a length of time, or zero.
    """
    tidy = tidied(text)
    match = re.fullmatch(rf"({_NUMBER}) ?(?:s|secs?|seconds?)?", tidy)
    if match and 0.01 <= (spacing_s := units.number(match[1], "spacing")) < 1.0:
        return Counted(round(60.0 / spacing_s), 60.0)
    if tidy == "0":
        raise InputError(
            f"{quoted(text)} is not a possible time between bubbles; if there were none, write none"
        )
    return Counted(1, units.seconds(text))


def _bubbles(words: str, text: str) -> int:
    if words in _ONE:
        return 1
    if words in _NONE:
        return 0
    if match := _WHOLE.fullmatch(words):
        words = match[1]
    if re.fullmatch(r"[0-9oil]+", words):
        return whole(words)
    if re.fullmatch(_NUMBER, words):
        raise InputError(
            f"{quoted(text)} is not a whole count; count for longer, or write 32 in 10m, or 3.2/min"
        )
    raise InputError(f"cannot read {quoted(text)} as a count; {_FORMS}")
