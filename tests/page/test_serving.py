import re
import socket
import threading
import urllib.request

import pytest

from bubblerate.errors import InputError
from bubblerate.page.serving import code_text, served

from phones import NOW, closed, shelf_in


@pytest.fixture
def bound(tmp_path):
    """A page bound to a free port of this machine alone, and running."""
    folder = shelf_in(tmp_path, "fig")
    door, server = served(folder, key="k" * 22, address="127.0.0.1", port=0, clock=lambda: NOW)
    running = threading.Thread(target=server.run, daemon=True)
    running.start()
    yield door
    closed(server, running)


def test_it_answers_at_the_address_it_tells(bound):
    assert re.fullmatch(rf"http://127\.0\.0\.1:\d+/k/{'k' * 22}", bound.entrance)
    opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
    with opener.open(bound.entrance, timeout=600) as answer:
        assert answer.url == f"{bound.address}/"
        assert "Server" not in answer.headers
        assert "fig" in answer.read().decode()


def test_no_other_address_is_bound(bound):
    with socket.socket() as other, pytest.raises(OSError, match=r"refused"):
        other.connect(("127.0.0.2", bound.port))  # this machine too, by another address


def test_a_port_that_is_taken_is_told_with_another(bound, tmp_path):
    with pytest.raises(InputError, match=rf"is not free: .* --port {bound.port + 1}"):
        served(tmp_path, key="k" * 22, address="127.0.0.1", port=bound.port, clock=lambda: NOW)


# --- the code ------------------------------------------------------------------------------------


def test_the_code_is_light_where_no_module_is_dark():
    lines = code_text("http://192.168.1.5:8530/k/" + "k" * 22, colours=False).splitlines()
    assert {*lines[0]} == {"█"}  # a margin, without which no phone finds it
    assert len({len(line) for line in lines}) == 1
    assert {c for line in lines for c in line} == {*" █▀▄"}


def test_on_a_terminal_it_is_black_on_white_whatever_its_own_colours():
    lines = code_text("http://192.168.1.5:8530/", colours=True).splitlines()
    assert all(line.startswith("\x1b[97;40m") and line.endswith("\x1b[0m") for line in lines)
