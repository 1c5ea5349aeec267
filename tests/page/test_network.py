import socket
from ipaddress import ip_address

import pytest

from bubblerate.page.network import HERE, home_addresses, own_names


def test_addresses_are_private_and_told_once():
    found = home_addresses()
    assert len({*found}) == len(found)
    assert all(ip_address(one).is_private and not ip_address(one).is_loopback for one in found)


def test_nothing_is_sent_to_find_them(monkeypatch):
    class Sock:
        """Knows a way to two networks; to send would be an error, for it cannot."""

        def __init__(self, family, kind):
            assert (family, kind) == (socket.AF_INET, socket.SOCK_DGRAM)

        def __enter__(self):
            return self

        def __exit__(self, *_):
            pass

        def connect(self, to):
            if to[0].startswith("172."):
                raise OSError
            ways = {
                "192.0.2.1": "192.168.1.5",
                "10.0.0.1": "10.0.0.7",
                "192.168.0.1": "203.0.114.9",
            }
            self.own = ways.get(to[0], "192.168.1.5")

        def getsockname(self):
            return self.own, 40_000

    monkeypatch.setattr("socket.socket", Sock)
    assert home_addresses() == ("192.168.1.5", "10.0.0.7")  # what anybody can reach is no home


@pytest.mark.parametrize("host", ["Cellar", "cellar.local", "cellar"])
def test_a_machine_goes_by_its_address_and_its_name(monkeypatch, host):
    monkeypatch.setattr("socket.gethostname", lambda: host)
    assert own_names("192.168.1.5") == ("192.168.1.5", "cellar", "cellar.local")


def test_served_here_alone_it_has_no_name_on_the_network():
    assert own_names(HERE) == ("127.0.0.1", "localhost")
