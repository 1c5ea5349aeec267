"""What the journal of an act holds, as bytes: loaded only where an act over two files is under way.

Each file is told by its name, by a mark of what was in it, and by all that it is to hold.
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
        Mark of what it held before; None if there was none.
    new : bytes
        All that it is to hold.
    below : bytes or None
        What stands in that below the old rows, should another program have saved meanwhile; None
        where the old rows do not stand in it unchanged.
    """

    name: str
    was: str | None
    new: bytes
    below: bytes | None


def mark(data: bytes) -> str:
    """Tell some bytes from any others."""
    return sha256(data).hexdigest()


def promise(name: str, was: bytes | None, new: bytes) -> Promise:
    """Say of a file what it held and what it is to hold."""
    if was is None:
        return Promise(name=name, was=None, new=new, below=None)
    below = new[len(was) :] if new.startswith(was) else None
    return Promise(name=name, was=mark(was), new=new, below=below)


def packed(promises: Iterable[Promise]) -> bytes:
    """As the journal holds them."""
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
