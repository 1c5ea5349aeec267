"""What a pouring from jar to jar did, and what it means for both, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from .diary_text import visit_text

if TYPE_CHECKING:
    from ..diary.mingling import Poured
    from ..shelf.pouring import Spare

__all__ = ["joined_lines", "parted_lines", "row_lines", "topped_up_lines"]

_SPARE: Final = {
    "unread": "{spare} was never read: it is taken as finished wine. Read {name} with your next "
    "visit.",
    "wine": "",
    "working": "{spare} still works: {name} is fed by it, and must end once more.",
    "sweet": "{spare} is sweeter than {name}: that counts as sugar, and {name} must end once more.",
}


def row_lines(done: Poured) -> tuple[str, ...]:
    """Each row that was written, with its jar."""
    return tuple(f"{jar}: {visit_text(row)}." for jar, row in done.rows.items())


def parted_lines(done: Poured, name: str, into: str, *, spare: bool) -> tuple[str, ...]:
    """What a split means."""
    lines = [f"{into} has the rows of {name} up to now; from here on each has its own course."]
    if spare:
        lines.append(f"It is a spare for {name}: nothing is asked of it. Keep its airlock filled.")
    if done.settings:
        lines.append(f"What bubblerate.toml says of {name} is said of {into} too, but its litres.")
    return tuple(lines)


def joined_lines(into: str, lesser: str) -> tuple[str, ...]:
    """What a joined wine follows, and what starts again."""
    follows = "" if into == lesser else f"{into} follows the course of {lesser}, the less far. "
    return (
        f"{follows}Clear, still and what the readings had proven start again: the gravity of "
        f"{into} is a sum, so read it.",
    )


def topped_up_lines(what: Spare, name: str, spare: str) -> tuple[str, ...]:
    """What the spare was taken for."""
    text = _SPARE[what].format(name=name, spare=spare)
    return (text,) if text else ()
