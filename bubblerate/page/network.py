"""Addresses and names of this machine on the home network; nothing is sent to find them."""

from __future__ import annotations

import socket
from ipaddress import IPv4Address
from typing import Final

__all__ = ["HERE", "home_addresses", "own_names"]

HERE: Final = "127.0.0.1"

# Whither: the usual way out (a documentation address of RFC 5737), and usual homes (RFC 1918).
_ASKED: Final = ("192.0.2.1", "192.168.0.1", "192.168.1.1", "10.0.0.1", "172.16.0.1")


def home_addresses() -> tuple[str, ...]:
    """Addresses that this machine has on home networks; the one of its usual way out first.

    Returns
    -------
    tuple of str
        Private IPv4 addresses, none twice; empty if there is no network.

    Notes
    -----
    A datagram socket that is connected sends nothing, but has chosen the address it would send
    from.
    """
    found = (_address_towards(other) for other in _ASKED)
    return tuple(dict.fromkeys(one for one in found if one and _is_private(one)))


def own_names(address: str) -> tuple[str, ...]:
    """Names under which a page bound to an address may be asked for, the address first."""
    name = socket.gethostname().lower().removesuffix(".local")
    if address == HERE:
        return (address, "localhost")
    return (address, name, f"{name}.local")


def _address_towards(other: str) -> str | None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sock:
        try:
            sock.connect((other, 9))
        except OSError:  # no way there
            return None
        address: str = sock.getsockname()[0]
        return address


def _is_private(address: str) -> bool:
    """Whether it is of a network that nobody reaches from outside."""
    found = IPv4Address(address)
    return found.is_private and not (found.is_loopback or found.is_link_local)
