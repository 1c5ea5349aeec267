"""Writes entries from phones and confirms them: each once, however often it is sent.

Rows are written one after another, with the same lock as for commands.
"""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from dataclasses import dataclass
from threading import Lock
from typing import TYPE_CHECKING, Final

from ..diary.names import why_no_name
from ..diary.outcomes import Written
from ..diary.places import SUFFIX
from ..diary.visit import COLUMNS
from ..errors import BubbleRateError, InputError
from ..show.entry_text import doubt_texts, struck_text, written_text
from .ledger import Ledger
from .pouring import (
    ABOUT,
    BEGIN,
    POURINGS,
    begun,
    begun_before,
    checked,
    goes_on,
    known,
    poured,
    poured_before,
    said_of,
)

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

    from ..diary.shelf import Shelf
    from ..diary.visit import Visit
    from .forms import Form


__all__ = ["Entries", "Said", "row_mark"]

_ANSWERS_KEPT: Final = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """An entry, confirmed.

    Attributes
    ----------
    jar : str
        The jar whose page comes next.
    text : str
        The row as read.
    beside : tuple of str
        What looks like a mistake in it, and what else to tell.
    line : int or None
        Its line, if it can be undone.
    row : str
        Mark of the row on that line.
    """

    jar: str
    text: str
    beside: tuple[str, ...] = ()
    line: int | None = None
    row: str = ""


class Entries:
    """Writes the entries of a shelf.

    Parameters
    ----------
    folder : Path
        The shelf.
    """

    def __init__(self, folder: Path) -> None:
        self._ledger = Ledger(folder)
        self._lock = Lock()
        self._answers: OrderedDict[str, Said] = OrderedDict()

    def said(self, mark: str) -> Said | None:
        """The answer to an entry, if not too long ago."""
        return self._answers.get(mark)

    def take(self, form: Form, shelf: Shelf, *, now: datetime) -> Said:
        """Write what a form holds, unless that is done already.

        Parameters
        ----------
        form : Form
        shelf : Shelf
            It has the jar.
        now : datetime
            Aware.

        Returns
        -------
        Said

        Raises
        ------
        BubbleRateError
            If a word cannot be read, or the row cannot be written; then it is not.
        """
        mark = form.mark
        with self._lock:
            said = self._answers.get(mark)
            if said is None:
                said = self._answers[mark] = self._doing(form)(form, shelf, now)
            while len(self._answers) > _ANSWERS_KEPT:
                self._answers.popitem(last=False)
            return said

    def _doing(self, form: Form) -> Callable[[Form, Shelf, datetime], Said]:
        if form.what == "strike":
            return self._struck
        if form.what == BEGIN:
            return self._begun
        if form.what == ABOUT:
            return self._known
        return self._poured if form.what in POURINGS else self._written

    def _begun(self, form: Form, shelf: Shelf, now: datetime) -> Said:
        if why := why_no_name(form.jar):
            raise InputError(why)
        moment = form.moment(shelf, f"{form.jar}{SUFFIX}", now=now)
        form.first_row(moment.when)  # refused before anything is remembered
        said_of(form)
        at, there = self._taken_up(form, moment.when, lambda at: begun_before(form, shelf, at=at))
        text, *beside = there or begun(form, shelf, at=at, now=now)
        try:
            beside += known(form, shelf)
        except BubbleRateError as err:  # the jar is started all the same
            beside.append(str(err))
        return Said(jar=form.jar, text=text, beside=tuple(beside))

    def _known(self, form: Form, shelf: Shelf, now: datetime) -> Said:  # noqa: ARG002 - as others
        text, *beside = known(form, shelf) or (f"{form.jar}: nothing to change.",)
        return Said(jar=form.jar, text=text, beside=tuple(beside))

    def _poured(self, form: Form, shelf: Shelf, now: datetime) -> Said:
        checked(form)
        moment = form.moment(shelf, f"{form.jar}{SUFFIX}", now=now)
        at, there = self._taken_up(form, moment.when, lambda at: poured_before(form, shelf, at=at))
        text, *beside = there or poured(form, shelf, at=at)
        return Said(jar=goes_on(form, shelf), text=text, beside=tuple(beside))

    def _taken_up(
        self, form: Form, when: datetime, before: Callable[[datetime], tuple[str, ...]]
    ) -> tuple[datetime, tuple[str, ...]]:
        """The moment of an entry, and what of it is on the disk already if it comes again."""
        first = self._ledger.first(form.mark)
        if first is None:
            self._ledger.add(form.mark, when)
            return when, ()
        return first, before(first)

    def _written(self, form: Form, shelf: Shelf, now: datetime) -> Said:
        file = f"{form.jar}{SUFFIX}"
        moment = form.moment(shelf, file, now=now)
        first = self._ledger.first(form.mark)
        visit = form.visit(moment.when if first is None else first)
        if first is None:
            self._ledger.add(form.mark, visit.when)
        elif there := _held(shelf, file, visit):
            return _said(form.jar, Written(there.line, there, (), ()))
        return _said(form.jar, shelf.write(file, visit, now=now, day_0=moment.day_0))

    def _struck(self, form: Form, shelf: Shelf, now: datetime) -> Said:
        file, line = f"{form.jar}{SUFFIX}", form.fields.get("line", "")
        visit = next((v for v in shelf.open(file).diary.visits if str(v.line) == line), None)
        if visit is None or row_mark(visit) != form.fields.get("row"):
            raise InputError(f"line {line[:9]} has changed since; open the page again")
        told: tuple[str, ...] = ()
        if not visit.struck:
            done = shelf.strike(file, [visit.line], at=now)
            told = tuple(notice.text for notice in done.warnings)
        return Said(jar=form.jar, text=struck_text(form.jar, visit), beside=told)


def row_mark(visit: Visit) -> str:
    """A mark that tells rows apart; it does not depend on line or striking."""
    cells = [str(getattr(visit, name)) for name in COLUMNS if name not in ("when", "struck")]
    second = round(visit.when.timestamp())  # with day numbers it comes back slightly off
    text = "\n".join([str(second), *cells])
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:16]


def _said(jar: str, written: Written) -> Said:
    notices = (notice.text for notice in written.warnings)
    return Said(
        jar=jar,
        text=written_text(jar, written),
        beside=(*doubt_texts(written), *notices),
        line=written.line,
        row=row_mark(written.visit),
    )


def _held(shelf: Shelf, file: str, wanted: Visit) -> Visit | None:
    """The row of a diary with the same values, struck or not."""
    mark = row_mark(wanted)
    visits = shelf.open(file).diary.visits
    return next((visit for visit in visits if row_mark(visit) == mark), None)
