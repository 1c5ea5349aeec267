"""The journal of an act over several files, as bytes; loaded only for such an act.

Each file has its name, a hash of its old content, and its full new content.
"""

from __future__ import annotations

import json
from base64 import b64decode, b64encode
from hashlib import sha256
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["Promise", "mark", "packed", "promise", "unpacked"]


class Promise(NamedTuple):
    """One file of an act.

    Attributes
    ----------
    name : str
    was : str or None
        Hash of the old content; None if there was no file.
    new : bytes
        The full new content.
    below : bytes or None
        The part of it after the old rows, in case another program has saved meanwhile; None if the
        old rows are not in it unchanged.
    """

    name: str
    was: str | None
    new: bytes
    below: bytes | None


def mark(data: bytes) -> str:
    """Hash some bytes."""
    return sha256(data).hexdigest()


def promise(name: str, was: bytes | None, new: bytes) -> Promise:
    """Make the promise for one file."""
    if was is None:
        return Promise(name=name, was=None, new=new, below=None)
    below = new[len(was) :] if new.startswith(was) else None
    return Promise(name=name, was=mark(was), new=new, below=below)


def packed(promises: Iterable[Promise]) -> bytes:
    """Pack promises for the journal."""
    told = [
        {
            "name": one.name,
            "was": one.was,
            "new": b64encode(one.new).decode(),
            "below": None if one.below is None else b64encode(one.below).decode(),
        }
        for one in promises
    ]
    return json.dumps(told).encode()


def unpacked(data: bytes) -> list[Promise]:
    """Read what `packed` wrote."""
    return [
        Promise(
            name=str(one["name"]),
            was=one["was"],
            new=b64decode(one["new"] or ""),
            below=None if one["below"] is None else b64decode(one["below"]),
        )
        for one in json.loads(data)
    ]
