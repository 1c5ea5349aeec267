"""Handles forms that write more than one row or start a diary, by the rules of the commands."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ..diary import units
from ..diary.about_jar import about_doubts, about_of
from ..diary.events import Event
from ..diary.mingling import split
from ..diary.places import SUFFIX
from ..diary.settings_writing import say_of
from ..errors import InputError
from ..show.about_text import changed_text
from ..show.diary_text import visit_text
from ..show.entry_text import doubt_texts
from ..show.pouring_text import joined_lines, parted_lines, row_lines, topped_up_lines

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from ..diary.shelf import Shelf
    from ..diary.visit import Visit
    from .forms import Form

__all__ = [
    "ABOUT",
    "BEGIN",
    "POURINGS",
    "begun",
    "begun_before",
    "checked",
    "goes_on",
    "known",
    "poured",
    "poured_before",
    "said_of",
]

BEGIN: Final = "begin"
ABOUT: Final = "about"
POURINGS: Final = ("split", "join", "top-up")
_WANTED: Final[Mapping[str, tuple[tuple[str, str], ...]]] = {
    "split": (("into", "name the new jar"), ("litres", "say how much goes into it, such as 4.5")),
    "join": (("other", "choose the other jar"),),
    "top-up": (
        ("from", "choose the jar you topped it up from"),
        ("litres", "say how much you poured, such as 0.3"),
    ),
}


def checked(form: Form) -> None:
    """Refuse a pouring with something missing or unreadable.

    Raises
    ------
    InputError
        Says what is needed.
    """
    for name, wanted in _WANTED[form.what]:
        if name not in form.fields:
            raise InputError(wanted)
    for name in ("litres", "left"):
        if name in form.fields:
            units.added_l(form.fields[name])


def poured(form: Form, shelf: Shelf, *, at: datetime) -> tuple[str, ...]:
    """Pour, and tell each row and what it means.

    Raises
    ------
    BubbleRateError
        If the wines cannot be poured, or a diary cannot be written; then all are as they were.
    """
    from ..shelf.pouring import join, top_up  # heavy libraries

    said, jar = form.fields, form.jar
    note = said.get("note", "")
    if form.what == "split":
        into, spare = said["into"], "spare" in said
        left = None if "left" not in said else units.litres(said["left"])
        done = split(
            shelf, jar, into=into, litres=units.litres(said["litres"]), left=left, at=at,
            spare=spare, note=note,
        )  # fmt: skip
        return (*row_lines(done), *parted_lines(done, jar, into, spare=spare))
    if form.what == "join":
        litres = None if "litres" not in said else units.litres(said["litres"])
        into = said.get("into", "")
        done, lesser = join(shelf, jar, said["other"], into=into, litres=litres, at=at)
        return (*row_lines(done), *joined_lines(into or lesser, lesser))
    added = units.added_l(said["litres"])
    done, what = top_up(shelf, jar, spare=said["from"], litres=added, at=at, note=note)
    return (*row_lines(done), *topped_up_lines(what, jar, said["from"]))


def poured_before(form: Form, shelf: Shelf, *, at: datetime) -> tuple[str, ...]:
    """The row of a pouring that is already written; None if there is none."""
    visits = shelf.open(f"{form.jar}{SUFFIX}").diary.visits
    there = [v for v in visits if v.other and _same(v, at)]
    return tuple(f"{form.jar}: {visit_text(visit)}." for visit in there[-1:])


def goes_on(form: Form, shelf: Shelf) -> str:
    """The jar in which the wine of a form ends up."""
    if form.what != "join":
        return form.jar
    rows = shelf.open(f"{form.jar}{SUFFIX}").diary.batch
    emptied = bool(rows) and rows[-1].litres == 0.0
    return rows[-1].other if emptied and shelf.has(rows[-1].other) else form.jar


def begun(form: Form, shelf: Shelf, *, at: datetime, now: datetime) -> tuple[str, ...]:
    """Start the diary of a jar, and confirm it.

    Raises
    ------
    BubbleRateError
        If the name is bad, a word cannot be read, or it cannot be written.
    """
    written = shelf.begin(form.jar, form.first_row(at), now=now)
    return (f"{form.jar}: {visit_text(written.visit)}. A new diary.", *doubt_texts(written))


def said_of(form: Form) -> dict[str, float | str | None]:
    """What a form says about a jar besides its rows, by the keys of the settings.

    Raises
    ------
    InputError
        If a word cannot be read.
    """
    return about_of(form.jar, {name: form.fields.get(name) for name in ("style", "ph", "full")})


def known(form: Form, shelf: Shelf) -> tuple[str, ...]:
    """Store what a form says about a jar, and confirm it; nothing if it says nothing.

    Raises
    ------
    BubbleRateError
        If a word cannot be read, or the settings cannot be read or written.
    """
    said = said_of(form)
    if not said:
        return ()
    before = shelf.settings
    now = say_of(shelf.folder, form.jar, said)
    text = changed_text(form.jar, before.vessel(form.jar), now, [*said])
    return (text, *about_doubts(shelf, said))


def begun_before(form: Form, shelf: Shelf, *, at: datetime) -> tuple[str, ...]:
    """The first row of a diary that this form has already started; None if it has not."""
    if not shelf.has(form.jar):
        return ()
    rows = shelf.open(f"{form.jar}{SUFFIX}").diary.visits
    there = [v for v in rows[:1] if v.event is Event.PITCHED and _same(v, at)]
    return tuple(f"{form.jar}: {visit_text(visit)}. A new diary." for visit in there)


def _same(visit: Visit, at: datetime) -> bool:
    """Whether two moments are the same second, as a diary stores them."""
    return abs((visit.when - at).total_seconds()) < 1.0
