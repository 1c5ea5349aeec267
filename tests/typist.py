"""A person at a real terminal: a pseudo-terminal with the program on its other side."""

import os
import select
import subprocess
import sys
import time
from pathlib import Path

import pytest

termios = pytest.importorskip("termios", reason="pseudo-terminals are of POSIX")
fcntl = pytest.importorskip("fcntl")

ROOT = Path(__file__).parent.parent
PATIENCE_S = 30.0
PRELUDE = (
    "import fcntl, signal, sys, termios; fcntl.ioctl(0, termios.TIOCSCTTY, 0)\n"
    # tests that were begun in the background ignore both, and hand that on
    "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
    "signal.signal(signal.SIGHUP, signal.SIG_DFL)\n"
)
RUN = "from bubblerate.cli import main; main(sys.argv[1:])\n"


class Typist:
    """Types into a program and reads its screen; `code` runs before the command."""

    def __init__(self, *words: str, code: str = "", columns: int = 80, stderr: object = None):
        self.keys, self.screen_end = os.openpty()
        termios.tcsetwinsize(self.screen_end, (24, columns))
        self.mode = termios.tcgetattr(self.screen_end)
        self.screen, self.read_to = "", 0
        env = {k: v for k, v in os.environ.items() if k not in {"COLUMNS", "LINES", "NO_COLOR"}}
        self.process = subprocess.Popen(
            [sys.executable, "-c", PRELUDE + code + RUN, *words],
            stdin=self.screen_end,
            stdout=self.screen_end,
            stderr=self.screen_end if stderr is None else stderr,
            start_new_session=True,
            cwd=ROOT,
            env=env | {"TERM": "xterm"},
        )

    def __enter__(self) -> "Typist":
        return self

    def __exit__(self, *_: object) -> None:
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait()
        for handle in (self.keys, self.screen_end):
            if handle >= 0:
                os.close(handle)

    def sees(self, text: str) -> None:
        """Wait until this text has come, after what was waited for before."""
        end = time.monotonic() + PATIENCE_S
        while (found := self.screen.find(text, self.read_to)) < 0:
            assert time.monotonic() < end, f"{text!r} never came: {self.screen[self.read_to :]!r}"
            self._look()
        self.read_to = found + len(text)

    def types(self, text: str) -> None:
        os.write(self.keys, text.encode())

    def hangs_up(self) -> None:
        """Close the window."""
        os.close(self.keys)
        self.keys = -1

    def ends(self) -> int:
        """Exit code, once it has ended by itself; the screen is read to its end."""
        end = time.monotonic() + PATIENCE_S
        while self.process.poll() is None:
            assert time.monotonic() < end, f"still running: {self.screen!r}"
            if self.keys >= 0:
                self._look()
        while self.keys >= 0 and select.select([self.keys], [], [], 0.05)[0]:
            self._look()
        return self.process.returncode

    @property
    def restored(self) -> bool:
        """Whether the terminal is as the person left it."""
        return termios.tcgetattr(self.screen_end) == self.mode

    def _look(self) -> None:
        if select.select([self.keys], [], [], 0.05)[0]:
            self.screen += os.read(self.keys, 65536).decode()
