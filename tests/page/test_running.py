"""Where the page is, for as long as it runs."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from bubblerate.page.running import told_while_running, where_running

HERE = "http://192.168.1.20:8530"
FILE = ".bubblerate.phone-page"


def test_the_address_is_told_while_the_page_runs_and_gone_after_it(tmp_path):
    assert where_running(tmp_path) is None
    with told_while_running(tmp_path, HERE):
        assert where_running(tmp_path) == HERE
        assert where_running(tmp_path) == HERE  # to look takes nothing away
    assert where_running(tmp_path) is None
    assert [*tmp_path.iterdir()] == []


def test_the_address_goes_where_the_page_breaks_off(tmp_path):
    with pytest.raises(KeyboardInterrupt), told_while_running(tmp_path, HERE):
        raise KeyboardInterrupt
    assert [*tmp_path.iterdir()] == []


def test_a_second_page_of_the_shelf_leaves_the_first_alone(tmp_path):
    with told_while_running(tmp_path, HERE):
        with told_while_running(tmp_path, "http://192.168.1.20:8531"):
            assert where_running(tmp_path) == HERE
        assert where_running(tmp_path) == HERE


KILLED = f"""
import os, sys
from pathlib import Path
from bubblerate.page.running import told_while_running
with told_while_running(Path(sys.argv[1]), {HERE!r}):
    os._exit(9)
"""


def test_a_page_that_was_killed_runs_no_more(tmp_path):
    root = Path(__file__).parents[2]
    subprocess.run([sys.executable, "-c", KILLED, str(tmp_path)], cwd=root, timeout=60, check=False)
    assert (tmp_path / FILE).read_text() == HERE
    assert where_running(tmp_path) is None
    with told_while_running(tmp_path, "http://10.0.0.2:1"):
        assert where_running(tmp_path) == "http://10.0.0.2:1"


@pytest.mark.skipif(sys.platform == "win32", reason="locks are taken otherwise there")
@pytest.mark.parametrize("held", [b"", b"\xff\xfe", b"http://evil.example/x?y", b"ftp://1.2.3.4"])
def test_what_is_no_address_is_none(tmp_path, held):
    import fcntl

    path = tmp_path / FILE
    path.write_bytes(held)
    handle = os.open(path, os.O_RDWR)
    fcntl.flock(handle, fcntl.LOCK_EX)
    try:
        assert where_running(tmp_path) is None
    finally:
        os.close(handle)


@pytest.mark.skipif(sys.platform == "win32" or os.geteuid() == 0, reason="root writes anywhere")
def test_a_folder_that_cannot_be_written_keeps_no_page_from_running(tmp_path):
    tmp_path.chmod(0o500)
    try:
        with told_while_running(tmp_path, HERE):
            assert where_running(tmp_path) is None
    finally:
        tmp_path.chmod(0o700)
