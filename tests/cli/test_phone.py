import os
import re
import signal
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest

from bubblerate.page import network
from bubblerate.page.running import where_running

from phones import COUNTS, shelf_in

ROOT = Path(__file__).parent.parent.parent
# Told by Python itself of each address that anything binds or reaches out for.
WATCH = """
import signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)  # a run in the background ignores it
def hook(event, arguments):
    if event in ("socket.bind", "socket.connect", "socket.sendto"):
        print(event, arguments[1], file=sys.stderr)
    elif event == "socket.getaddrinfo" and not arguments[0].replace(".", "").isdigit():
        print(event, arguments[0], file=sys.stderr)  # numbers need nobody's help
    elif event.startswith(("subprocess.", "os.exec", "os.system", "urllib.", "webbrowser.")):
        print(event, file=sys.stderr)
sys.addaudithook(hook)
"""
RUN = "from bubblerate.cli import main; main(sys.argv[1:])\n"


class Running:
    """The command, running beside the test."""

    def __init__(self, folder, *words):
        self.process = subprocess.Popen(
            [
                sys.executable,
                "-c",
                WATCH + RUN,
                "phone",
                "--only-here",
                "--port",
                "0",
                "--shelf",
                str(folder),
                *words,
            ],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            cwd=ROOT,
            env=os.environ | {"PYTHONIOENCODING": "utf-8"},
        )
        self.first = self.process.stdout.readline()

    def ends(self, number):
        """Exit code once it is told to end, and what else it printed."""
        self.process.send_signal(number)
        with self.process:  # which closes what is read here
            # by the same buffer as the first line, which may hold more than that
            out, err = self.process.stdout.read(), self.process.stderr.read()
        return self.process.returncode, out, err


@pytest.mark.skipif(sys.platform == "win32", reason="ctrl-c is sent another way there")
def test_it_serves_until_ctrl_c_and_reaches_out_for_nothing(tmp_path):
    running = Running(shelf_in(tmp_path, "fig"))
    try:
        entrance = running.first.strip()
        assert re.fullmatch(r"http://127\.0\.0\.1:\d+/k/[\w-]{22}", entrance)
        opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        with opener.open(entrance, timeout=600) as answer:
            page = answer.read().decode()
        assert "fig" in page
        assert where_running(tmp_path) == entrance.partition("/k/")[0]
    finally:
        code, out, err = running.ends(signal.SIGINT)
    assert code == 0
    assert where_running(tmp_path) is None
    assert "█" in out
    assert "plain http: others on the same network could read" in " ".join(out.split())
    assert out.endswith("The page is closed.\n")
    events = {line for line in err.splitlines() if not line.startswith("socket.bind")}
    assert events == set(), err
    assert set(re.findall(r"socket\.bind \('([^']*)'", err)) == {"127.0.0.1"}


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["--port", "65536"], "65535"),
        (["--port", "web"], "port"),
        (["--shelf", __file__], "is a file"),
    ],
)
def test_what_cannot_be_served_is_one_line(run, words, why):
    said = run("phone", "--only-here", *words)
    assert (said.code, said.out) == (2, "")
    assert why in said.err
    assert said.err.count("\n") == 1


@pytest.mark.parametrize(
    ("words", "library"),
    [
        (["phone", "--only-here"], "flask"),
        (["phone", "--only-here"], "waitress"),
        (["phone", "--only-here"], "segno"),
        (["shelf", "--html", "shelf.html"], "jinja2"),
    ],
)
def test_without_its_libraries_it_says_what_to_install(tmp_path, words, library):
    if words[0] == "shelf":
        shelf_in(tmp_path / "shelf", "fig")
    code = f"import sys; sys.modules[{library!r}] = None\n{RUN}"
    done = subprocess.run(
        [sys.executable, "-c", code, *words],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        timeout=600,
    )
    assert done.returncode == 2
    assert 'python3 -m pip install "bubblerate[phone]"' in done.stderr
    assert done.stderr.count("\n") == 1


@pytest.fixture
def known(monkeypatch):
    """Sets the addresses of this machine; what is then served is told in place of serving it."""
    chosen = []

    class Server:
        def run(self):
            pass

    def served(folder, *, key, address, port, clock):
        from bubblerate.page.door import Door

        chosen.append(address)
        return Door(key=key, names=(address,), port=port), Server()

    monkeypatch.setattr("bubblerate.page.serving.served", served)

    def set_to(*addresses):
        monkeypatch.setattr(network, "home_addresses", lambda: addresses)
        return chosen

    return set_to


def test_the_one_address_of_the_home_network_is_served(run, known):
    chosen = known("192.168.1.5")
    said = run("phone")
    assert chosen == ["192.168.1.5"]
    assert said.out.startswith("http://192.168.1.5:8530/k/")


def test_several_addresses_are_asked_about(run, known, monkeypatch):
    chosen = known("192.168.1.5", "10.0.0.7")
    said = run("phone")
    assert (said.code, chosen) == (2, [])
    assert "choose --address 192.168.1.5, 10.0.0.7" in said.err
    assert run("phone", "--address", "10.0.0.7").out.startswith("http://10.0.0.7:8530/")
    monkeypatch.setattr("bubblerate.cli.phone.is_terminal", lambda: True)
    for answer, served in (("2\n", "10.0.0.7"), ("192.168.1.5\n", "192.168.1.5")):
        monkeypatch.setattr("sys.stdin.readline", lambda answer=answer: answer, raising=False)
        said = run("phone")
        assert said.out.startswith(f"http://{served}:")  # questions go elsewhere: this line is read
    monkeypatch.setattr("sys.stdin.readline", lambda: "3\n", raising=False)
    assert run("phone").code == 2


@pytest.mark.parametrize(
    ("address", "why"),
    [
        ("192.0.2.9", "192.0.2.9:8530 is not free"),  # of no machine
        ("0.0.0.0", "means every network"),
        ("cellar", "as an address"),
        ("::1", "as an address"),
    ],
)
def test_an_address_that_is_not_ours_is_refused(run, address, why):
    said = run("phone", "--address", address)
    assert (said.code, said.out) == (2, "")
    assert why in said.err


def test_without_a_network_it_says_so(run, known):
    known()
    assert "--only-here" in run("phone").err


def test_a_new_key_is_made_when_asked_for(run, known):
    known("192.168.1.5")
    first, same, new = (run("phone", *words).out.split()[0] for words in ([], [], ["--new-key"]))
    assert first == same != new


def test_the_shelf_is_written_to_one_page(run, tmp_path):
    shelf_in(tmp_path / "shelf", "fig")
    page = tmp_path / "shelf.html"
    said = run("shelf", "--at", "2026-10-20", "--html", str(page))
    assert said.out.endswith(f"Page saved as {page}\n")
    assert "fig: Rack it? Not yet." in page.read_text()
    assert len(COUNTS) + 1 == page.read_text().count("<li>Line ")
    refused = run("shelf", "--html", "shelf.pdf")
    assert (refused.code, "must end in .html" in refused.err) == (2, True)
