"""Words what a pouring from jar to jar did, and what it means for both."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from .diary_text import visit_text

if TYPE_CHECKING:
    from ..diary.mingling import Poured
    from ..shelf.pouring import Spare

__all__ = ["joined_lines", "parted_lines", "row_lines", "topped_up_lines"]

_SPARE: Final = {
    "unread": "{spare} was never read, so it counts as finished wine. Read {name} on your next "
    "visit.",
    "wine": "",
    "working": "{spare} is still fermenting: it feeds {name}, which must finish again.",
    "sweet": "{spare} is sweeter than {name}: that counts as sugar, and {name} must finish again.",
}


def row_lines(done: Poured) -> tuple[str, ...]:
    """Write each new row, with its jar."""
    return tuple(f"{jar}: {visit_text(row)}." for jar, row in done.rows.items())


def parted_lines(done: Poured, name: str, into: str, *, spare: bool) -> tuple[str, ...]:
    """Say what a split means."""
    lines = [f"{into} has a copy of the rows of {name}; from now on each goes its own way."]
    if spare:
        lines.append(f"It is the spare for {name} and needs no verdict. Keep its airlock filled.")
    if done.settings:
        lines.append(f"The settings of {name} were copied to {into}, except its litres.")
    return tuple(lines)


def joined_lines(into: str, lesser: str) -> tuple[str, ...]:
    """Say what a joined wine follows, and what starts again."""
    which = lesser if into == lesser else f"{lesser}, which is not as far on"
    return (
        f"{into} carries on from {which}. It must clear and be proven again. Its gravity is worked "
        "out, so take a reading.",
    )


def topped_up_lines(what: Spare, name: str, spare: str) -> tuple[str, ...]:
    """Say what the spare was taken as."""
    text = _SPARE[what].format(name=name, spare=spare)
    return (text,) if text else ()
