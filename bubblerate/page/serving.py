"""Serves the page at one address of this machine, and draws the code for phones."""

from __future__ import annotations

import io
import logging
import socket
from ipaddress import IPv4Address
from threading import Thread
from typing import TYPE_CHECKING, Any, Final

import segno
from waitress.server import create_server

from ..errors import InputError
from .app import make_app
from .door import Door
from .network import own_names
from .pages import LARGEST_SOUND, Pages

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

__all__ = ["code_text", "served"]

_THREADS: Final = 8  # enough for a house full of phones; each entry takes milliseconds
_LARGEST_BODY: Final = LARGEST_SOUND + (1 << 20)
_WHITE_ON_BLACK, _PLAIN = "\x1b[97;40m", "\x1b[0m"


def served(
    folder: Path, *, key: str, address: str, port: int, clock: Callable[[], datetime]
) -> tuple[Door, Any]:
    """Bind the page of a shelf to an address; it answers once its server runs.

    Parameters
    ----------
    folder : Path
        The shelf.
    key : str
        From `door_key`.
    address : str
        Address of this machine; no other is bound.
    port : int
        0 takes a free one.
    clock : callable
        Gives the present moment, aware.

    Returns
    -------
    door, server
        The server's `run` returns after ctrl-c.

    Raises
    ------
    InputError
        If the address or the port cannot be used.
    """
    bound = _bound(address, port)
    door = Door(key=key, names=own_names(address), port=bound.getsockname()[1])
    pages = Pages.of(folder, door=door, clock=clock)
    server = create_server(
        make_app(pages),
        sockets=[bound],
        threads=_THREADS,
        max_request_body_size=_LARGEST_BODY,
        ident=None,  # do not tell which server it is
    )
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # nobody can act on its depth
    Thread(target=pages.prepare, daemon=True).start()  # while the code is being scanned
    return door, server


def code_text(text: str, *, colours: bool) -> str:
    """Draw a text as a QR code in block letters, to be scanned from a terminal.

    Parameters
    ----------
    text : str
    colours : bool
        Whether the terminal has colours; then the code is always dark on light.

    Returns
    -------
    str
    """
    out = io.StringIO()
    segno.make(text, micro=False).terminal(out, border=2, compact=True)
    lines = out.getvalue().rstrip("\n").splitlines()
    return "\n".join(f"{_WHITE_ON_BLACK}{line}{_PLAIN}" if colours else line for line in lines)


def _bound(address: str, port: int) -> socket.socket:
    try:
        every = IPv4Address(address).is_unspecified
    except ValueError:
        raise InputError(
            f"cannot read {address[:40]!r} as an address; write 192.168.1.20"
        ) from None
    if every:
        raise InputError(f"{address} means every network; give one address")
    bound = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if hasattr(socket, "SO_EXCLUSIVEADDRUSE"):  # Windows, where two could share one otherwise
            bound.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        else:  # so that it can be started again at once
            bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        bound.bind((address, port))
    except OSError as err:
        bound.close()
        raise InputError(
            f"{address}:{port} is not free: {err.strerror or err}; is the page already running? "
            f"Try another port: --port {port + 1 if port < 65_535 else 8530}"
        ) from None
    return bound
