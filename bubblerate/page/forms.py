"""Turns a form into a row of a diary, with the same words as the commands."""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any, Final

from ..diary.counts import counted
from ..diary.event_names import named
from ..diary.events import Event
from ..diary.gravity_scales import reading, scale_named
from ..diary.outcomes import Moment
from ..diary.typed import begun, extras_of, typed_litres, typed_temp, writable
from ..diary.visit import Visit
from ..errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from ..diary.shelf import Shelf

__all__ = ["Form"]

_KEY: Final = re.compile(r"[A-Za-z0-9_-]{16,64}")
_NOT_SAID: Final = frozenset({"key", "ago"})  # these differ when the same entry is sent again
_LONGEST_AGO_S: Final = 30 * 86_400
_EXTRAS: Final = {
    "added_l": "added",
    "sugar_g": "sugar",
    "bottles": "bottles",
    "closure": "closure",
    "sulphite_g": "sulphite",
    "sorbate_g": "sorbate",
    "finings_amount": "finings",
    "size": "size",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """A form as it came in.

    Attributes
    ----------
    jar : str
        Name of the jar.
    what : {"tally", "gravity", "event", "strike", "split", "join", "top-up", "about",
        "begin"}
        Name of the address it was sent to.
    fields : mapping of str to str
        Trimmed, without empty ones.
    """

    jar: str
    what: str
    fields: Mapping[str, str]

    @property
    def mark(self) -> str:
        """A mark for this entry, the same if the form is sent twice.

        Raises
        ------
        InputError
            If the form has no key.
        """
        key = self.fields.get("key", "")
        if not _KEY.fullmatch(key):
            raise InputError("this form is out of date; open the page again and enter it there")
        said = sorted((k, v) for k, v in self.fields.items() if k not in _NOT_SAID)
        text = json.dumps([key, self.jar, self.what, said])
        return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:32]

    def moment(self, shelf: Shelf, file: str, *, now: datetime) -> Moment:
        """The moment of the row: as typed, or some seconds ago, or now.

        Raises
        ------
        InputError
            If the text is no moment.
        """
        ago = self.fields.get("ago")
        if ago is None or "when" in self.fields:
            return shelf.moment(file, self.fields.get("when"), now=now)
        if not (ago.isascii() and ago.isdigit() and len(ago) < 9):
            raise InputError(f"cannot read {ago[:20]!r} as seconds since the count; write a number")
        return Moment(now - timedelta(seconds=min(int(ago), _LONGEST_AGO_S)))

    def visit(self, when: datetime) -> Visit:
        """The row that the form means.

        Raises
        ------
        InputError
            If a word cannot be read, the form is empty, or it does not fit in a diary.
        """
        told = self._told()
        typed = {column: self.fields.get(name) for column, name in _EXTRAS.items()}
        if any(typed.values()):
            if told.get("event") is None:
                raise InputError(
                    "choose what you did: sugar, doses, bottles and litres added need an event"
                )
            told |= extras_of(told["event"], typed)
        with writable():
            return Visit(
                when=when,
                temp_c=typed_temp(self.fields.get("temp")),
                litres=typed_litres(self.fields.get("litres")),
                note=self.fields.get("note", ""),
                **told,
            )

    def first_row(self, when: datetime) -> Visit:
        """First row of the jar that the form starts.

        Raises
        ------
        InputError
            If a word cannot be read, or it does not fit in a diary.
        """
        said = self.fields
        return begun(
            when,
            **{name: said.get(name) for name in ("litres", "gravity", "sugar", "temp")},
            note=said.get("note", ""),
        )

    def _told(self) -> dict[str, Any]:
        """Count, gravity and event; at least the one that the address is for."""
        fields = dict(self.fields)
        if not {"count", "gravity", "event"} & fields.keys():
            fields[{"tally": "count"}.get(self.what, self.what)] = (
                ""  # its reader says what is needed
            )
        told: dict[str, Any] = {}
        if "count" in fields:
            told |= counted(fields["count"])._asdict()
        if "gravity" in fields:
            if scale_named(fields["gravity"]) == "brix":  # a refractometer shows no gravity of wine
                raise InputError(
                    "Is that Brix from a hydrometer or a refractometer? Enter an SG here, or type "
                    "at the computer: bubblerate gravity NAME --brix 8.2 --refractometer"
                )
            told |= reading(fields["gravity"])._asdict() | {"event": Event.SAMPLED}
        if "event" in fields:
            told["event"] = named(fields["event"])
        return told
