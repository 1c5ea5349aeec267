"""Checks that a caller has given a diary, and says in one sentence if not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..errors import InputError
from .visit import Diary

if TYPE_CHECKING:
    from datetime import datetime

__all__ = ["a_diary", "last_moment"]

_INSTEAD = {
    "DataFrame": 'make one of it: Diary.from_frame(frame, vessel="fig")',
    "str": "read it: bubblerate.read(path)",
    "PosixPath": "read it: bubblerate.read(path)",
    "WindowsPath": "read it: bubblerate.read(path)",
    "Unread": "fix the fault that it names",
}


def a_diary(given: object) -> Diary:
    """Give back a diary, and refuse anything else.

    Raises
    ------
    InputError
        Says how to make a diary from what was given.
    """
    if isinstance(given, Diary):
        return given
    kind = type(given).__name__
    advice = _INSTEAD.get(kind, "give what bubblerate.read or Diary.from_frame makes")
    raise InputError(f"a diary belongs here, not a {kind}; {advice}")


def last_moment(given: object) -> datetime:
    """Give the moment of the last live row of a diary.

    Raises
    ------
    InputError
        If it is not a diary, or has no such row.
    """
    live = (diary := a_diary(given)).live
    if not live:
        raise InputError(
            f"{diary.vessel}: nothing has been written down yet; say the moment with at="
        )
    return live[-1].when
