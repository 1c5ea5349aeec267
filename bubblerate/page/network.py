"""Finds addresses and names of this machine on the home network, without sending anything."""

from __future__ import annotations

import socket
from ipaddress import IPv4Address
from typing import Final

__all__ = ["HERE", "home_addresses", "own_names"]

HERE: Final = "127.0.0.1"

# Targets: the usual way out (a documentation address of RFC 5737), and usual homes (RFC 1918).
_ASKED: Final = ("192.0.2.1", "192.168.0.1", "192.168.1.1", "10.0.0.1", "172.16.0.1")


def home_addresses() -> tuple[str, ...]:
    """Find the addresses of this machine on home networks; its usual way out first.

    Returns
    -------
    tuple of str
        Private IPv4 addresses, none twice; empty without a network.

    Notes
    -----
    Connecting a datagram socket sends nothing, but chooses the address it would send from.
    """
    found = (_address_towards(other) for other in _ASKED)
    return tuple(dict.fromkeys(one for one in found if one and _is_private(one)))


def own_names(address: str) -> tuple[str, ...]:
    """Find names under which a page at an address may be asked for, the address first."""
    name = socket.gethostname().lower().removesuffix(".local")
    if address == HERE:
        return (address, "localhost")
    return (address, name, f"{name}.local")


def _address_towards(other: str) -> str | None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sock:
        try:
            sock.connect((other, 9))
        except OSError:  # no route
            return None
        address: str = sock.getsockname()[0]
        return address


def _is_private(address: str) -> bool:
    """Whether it belongs to a network that cannot be reached from outside."""
    found = IPv4Address(address)
    return found.is_private and not (found.is_loopback or found.is_link_local)
