import re
import stat
import sys

import pytest

from bubblerate.errors import InputError
from bubblerate.page.door import Door, door_key

DOOR = Door(key="k" * 22, names=("192.168.1.5", "cellar", "cellar.local"), port=8530)
HOST = "192.168.1.5:8530"


def refused(**asked):
    usual = {"host": HOST, "cookie": DOOR.pass_, "origin": f"http://{HOST}", "writes": True}
    return DOOR.refusal(**usual | asked)


def test_the_address_holds_the_key_once():
    assert DOOR.entrance == f"http://192.168.1.5:8530/k/{'k' * 22}"
    assert DOOR.key not in DOOR.pass_ + DOOR.calendar_key + DOOR.address
    assert DOOR.pass_ != DOOR.calendar_key


@pytest.mark.parametrize("host", [HOST, "cellar:8530", "CELLAR.local:8530"])
def test_it_opens_under_each_of_its_names(host):
    assert refused(host=host, origin=f"http://{host}") is None


@pytest.mark.parametrize(
    "host",
    [None, "", "evil.example", "evil.example:8530", "192.168.1.5", "192.168.1.5:8531", "cellar"],
)
def test_a_foreign_name_is_refused(host):
    assert refused(host=host, origin=f"http://{host}").status == 400


@pytest.mark.parametrize(
    "cookie", [None, "", "x", DOOR.pass_[:-1], DOOR.key, DOOR.calendar_key, "é"]
)
@pytest.mark.parametrize("writes", [True, False])
def test_who_has_no_cookie_or_a_wrong_one_is_refused(cookie, writes):
    assert refused(cookie=cookie, writes=writes).status == 403


@pytest.mark.parametrize(
    "origin",
    [None, "", "null", "http://evil.example", "https://192.168.1.5:8530", "http://192.168.1.5"],
)
def test_an_entry_from_elsewhere_is_refused(origin):
    assert refused(origin=origin).status == 403
    assert refused(origin=origin, writes=False) is None


def test_a_calendar_comes_in_by_its_own_key_and_writes_nothing_by_it():
    assert refused(cookie=None, calendar_key=DOOR.calendar_key, writes=False) is None
    assert refused(cookie=None, calendar_key=DOOR.calendar_key[:-1], writes=False).status == 403


def test_at_the_port_of_http_a_host_has_no_port():
    door = Door(key="k" * 22, names=("192.168.1.5",), port=80)
    assert door.address == "http://192.168.1.5"
    assert door.foreign("192.168.1.5") is None
    assert door.foreign("192.168.1.5:80").status == 400


def test_two_shelves_on_one_machine_have_cookies_of_their_own():
    assert DOOR.cookie != Door(key=DOOR.key, names=DOOR.names, port=8531).cookie


# --- the key -------------------------------------------------------------------------------------


def test_the_key_has_128_bits_and_stays(tmp_path):
    key = door_key(tmp_path / "shelf")
    assert re.fullmatch(r"[\w-]{22}", key, re.ASCII)  # of 64 letters each: 16 bytes
    assert door_key(tmp_path / "shelf") == key
    assert door_key(tmp_path / "other") != key


def test_a_new_key_shuts_out_who_knew_the_old_one(tmp_path):
    old = door_key(tmp_path)
    new = door_key(tmp_path, new=True)
    assert new != old
    assert door_key(tmp_path) == new
    assert (
        Door(key=new, names=DOOR.names, port=8530).pass_
        != Door(key=old, names=DOOR.names, port=8530).pass_
    )


@pytest.mark.parametrize("torn", [b"", b"short\n", b"\xff" * 22, b"x" * 23])
def test_a_torn_key_is_made_anew(tmp_path, torn):
    (tmp_path / ".bubblerate.phone-key").write_bytes(torn)
    assert len(door_key(tmp_path)) == 22


@pytest.mark.skipif(sys.platform == "win32", reason="has no such modes")
def test_only_its_owner_reads_the_key(tmp_path):
    door_key(tmp_path)
    assert stat.S_IMODE((tmp_path / ".bubblerate.phone-key").stat().st_mode) == 0o600


def test_where_no_key_can_be_kept_it_says_so(tmp_path):
    (tmp_path / ".bubblerate.phone-key").mkdir()
    with pytest.raises(InputError, match=r"phone-key: cannot be kept: Is a directory"):
        door_key(tmp_path)
