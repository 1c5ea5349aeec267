"""Moves wine between jars: split, join, top up, with both diaries written in one act.

Every diary names the other jar in its column `other`, so that no history is lost. Volumes are
litres. The settings of a jar in `bubblerate.toml` are copied to the new one, except its litres.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ..errors import InputError
from ..text import plain
from .events import Event
from .names import why_no_name
from .together import Rows, turn_of, write_rows
from .visit import Visit, bottled

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from .shelf import Shelf
    from .visit import Diary

__all__ = ["Poured", "join", "split", "top_up"]

_OF_BOTTLES = frozenset({Event.BOTTLED, Event.OPENED, Event.GUSHED})


@dataclass(frozen=True, slots=True)
class Poured:
    """Rows that were written, by jar, and whether settings were copied."""

    rows: dict[str, Visit]
    settings: bool = False


def split(
    shelf: Shelf,
    name: str,
    *,
    into: str,
    litres: float,
    at: datetime,
    left: float | None = None,
    spare: bool = False,
    note: str = "",
) -> Poured:
    """Split a wine: some of it goes into a new jar, with its history.

    Parameters
    ----------
    shelf : Shelf
    name, into : str
        The jar, and the new one.
    litres : float
        Wine that goes into the new one [L].
    at : datetime
        Aware.
    left : float, optional
        Wine left in the old one [L]; by default what it held minus `litres`.
    spare : bool
        Whether the new one is kept to top up the old; then it needs no steps of its own.
    note : str

    Returns
    -------
    Poured

    Raises
    ------
    InputError
        If there is no such jar, if `into` exists, or if it holds too little.
    DiaryError
        If a diary cannot be read or written; then both are as they were.
    """
    with turn_of(shelf, name) as handle:
        diary = _there(shelf, name, at)
        _check_new(shelf, into)
        held = _litres_of(shelf, diary)
        _check_held(name, held, litres)
        if left is None and held is not None:
            left = _rounded(held - litres)
        row = Visit(when=at, event=Event.SPLIT, litres=litres, other=name, note=note)
        old = replace(row, litres=left, other=into)
        rows = (
            Rows(name=into, rows=(*_history(diary), row), begun=True),
            Rows(name=name, rows=(old,)),
        )
        more = {"spare_for": shelf.path(name).stem} if spare else {}
        kept = write_rows(shelf, rows, handle, settings=(name, into), more=more)
    return Poured({name: old, into: row}, kept)


def join(
    shelf: Shelf,
    lesser: str,
    other: str,
    *,
    into: str,
    at: datetime,
    litres: float | None = None,
    notes: tuple[str, str] = ("", ""),
) -> Poured:
    """Pour two wines together; the history of the less advanced one is continued.

    Parameters
    ----------
    shelf : Shelf
    lesser, other : str
        The jars; `lesser` is the one whose course the joined wine continues.
    into : str
        A new jar, or `lesser`.
    at : datetime
        Aware.
    litres : float, optional
        Wine of both together [L]; by default the sum.
    notes : (str, str)
        For the joined wine, and for the emptied jar.

    Returns
    -------
    Poured

    Raises
    ------
    InputError
        If there is no such jar, or `into` will not do.
    DiaryError
        If a diary cannot be read or written; then all are as they were.
    """
    if lesser == other:
        raise InputError(f"{lesser} is one jar; name two to join")
    with turn_of(shelf, lesser, other) as handle:
        ours, theirs = _there(shelf, lesser, at), _there(shelf, other, at)
        held = _litres_of(shelf, ours), _litres_of(shelf, theirs)
        if litres is None and held[0] is not None and held[1] is not None:
            litres = _rounded(held[0] + held[1])
        row = Visit(
            when=at, event=Event.JOINED, litres=litres, added_l=held[1], other=other, note=notes[0]
        )
        gone = Visit(when=at, event=Event.JOINED, litres=0.0, other=into, note=notes[1])
        if into == lesser:
            both = (Rows(name=lesser, rows=(row,)), Rows(name=other, rows=(gone,)))
            return Poured({into: row, other: gone}, write_rows(shelf, both, handle))
        _check_new(shelf, into)
        taken_up = replace(row, litres=held[0], added_l=None, other=lesser, note="")
        rows = (
            Rows(name=into, rows=(*_history(ours), taken_up, row), begun=True),
            Rows(name=lesser, rows=(gone,)),
            Rows(name=other, rows=(gone,)),
        )
        kept = write_rows(shelf, rows, handle, settings=(lesser, into))
    return Poured({into: row, lesser: gone, other: gone}, kept)


def top_up(
    shelf: Shelf, name: str, *, spare: str, litres: float, working: bool, at: datetime, note: str
) -> Poured:
    """Top a jar up from another.

    Parameters
    ----------
    shelf : Shelf
    name, spare : str
        The jar, and the one that it is topped up from.
    litres : float
        Wine poured over [L].
    working : bool
        Whether the spare has sugar that yeast can use; then the jar counts as fed.
    at : datetime
        Aware.
    note : str
        For the jar.

    Returns
    -------
    Poured

    Raises
    ------
    InputError
        If there is no such jar, or the spare holds less.
    DiaryError
        If a diary cannot be read or written; then both are as they were.
    """
    if name == spare:
        raise InputError(f"{name} cannot be topped up from itself")
    with turn_of(shelf, name, spare) as handle:
        ours, theirs = _there(shelf, name, at), _there(shelf, spare, at)
        held, kept = _litres_of(shelf, ours), _litres_of(shelf, theirs)
        _check_held(spare, kept, litres)
        row = Visit(
            when=at,
            event=Event.FED if working else Event.TOPPED_UP,
            added_l=litres,
            litres=None if held is None else _rounded(held + litres),
            other=spare,
            note=note,
        )
        left = None if kept is None else _rounded(kept - litres)
        # taking wine out does not change the rest; only an emptied jar has come to its end
        gone = Visit(
            when=at,
            event=Event.SPLIT if left == 0.0 else None,
            litres=left,
            other=name,
            note=f"{plain(litres)} L went into {name}",
        )
        rows = (Rows(name=name, rows=(row,)), Rows(name=spare, rows=(gone,)))
        write_rows(shelf, rows, handle)
    return Poured({name: row, spare: gone})


def _history(diary: Diary) -> Iterator[Visit]:
    """Rows of its wine for another jar; its bottles stay where they were filled."""
    for row in diary.batch:
        if row.event is None or row.event.base not in _OF_BOTTLES:
            yield row
        elif any(told is not None for told in (row.litres, row.sg, row.bubbles, row.temp_c)):
            yield replace(row, event=None, bottles="", closure=None, sugar_g=None)


def _there(shelf: Shelf, name: str, at: datetime) -> Diary:
    """Diary of a jar with wine in it, as of then."""
    diary = shelf.open(name).diary.until(at)
    if not diary.batch:
        raise InputError(
            f"{name} has no row before {at:%Y-%m-%d %H:%M}; start it first, or choose a later time"
        )
    if bottled(diary.batch) and not bottled(diary.batch)[-1].litres:
        raise InputError(f"{name} is in bottles; you cannot pour from it or into it")
    if any(v.litres == 0.0 for v in diary.batch[-1:]):
        raise InputError(
            f"{name} has been empty since {diary.batch[-1].when:%Y-%m-%d}; name another jar"
        )
    return diary


def _check_new(shelf: Shelf, into: str) -> None:
    if why := why_no_name(into):
        raise InputError(why)
    shelf.check_new(into)
    if shelf.has(into):
        raise InputError(f"there is already a diary {into}; name a new jar")


def _check_held(name: str, held: float | None, litres: float) -> None:
    if held is not None and litres > held + 1e-9:
        raise InputError(f"{name} holds {plain(held)} litres; {plain(litres)} is more than that")


def _litres_of(shelf: Shelf, diary: Diary) -> float | None:
    return diary.litres or shelf.settings.vessel(diary.vessel).litres


def _rounded(litres: float) -> float:
    """Round to the mL, so that 9 - 4.5 - 4.4 is no long number."""
    return round(max(litres, 0.0), 3)
