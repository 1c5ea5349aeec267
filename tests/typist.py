"""A person at a real terminal: a pseudo-terminal with the program on its other side."""

import io
import os
import signal
import sys
from pathlib import Path
from typing import IO

import pytest

pexpect = pytest.importorskip("pexpect", reason="pseudo-terminals are of POSIX")
termios = pytest.importorskip("termios")

ROOT = Path(__file__).parent.parent
PATIENCE_S = 600.0  # what hangs fails in the end; a busy machine never does
PRELUDE = (
    "import os, signal, sys\n"
    # tests that were begun in the background ignore both, and hand that on
    "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
    "signal.signal(signal.SIGHUP, signal.SIG_DFL)\n"
)
RUN = "from bubblerate.cli import main; main(sys.argv[1:])\n"


def _fresh_mode() -> list[object]:
    """How a terminal is set that no program has touched."""
    handles = os.openpty()
    try:
        return termios.tcgetattr(handles[1])
    finally:
        for handle in handles:
            os.close(handle)


class Typist:
    """Types into a program and reads its screen; `code` runs before the command."""

    def __init__(
        self,
        *words: str,
        code: str = "",
        columns: int = 80,
        stderr: IO[bytes] | None = None,
        folder: Path = ROOT,
    ):
        if stderr is not None:
            code = f"os.dup2(os.open({stderr.name!r}, os.O_WRONLY | os.O_APPEND), 2)\n{code}"
        env = {k: v for k, v in os.environ.items() if k not in {"COLUMNS", "LINES", "NO_COLOR"}}
        self.mode = _fresh_mode()
        self.seen = io.StringIO()
        self.process = pexpect.spawn(
            sys.executable,
            ["-c", PRELUDE + code + RUN, *words],
            encoding="utf-8",
            dimensions=(24, columns),
            cwd=folder,
            env=env | {"TERM": "xterm"},
            timeout=PATIENCE_S,
        )
        self.process.delaybeforesend = None  # a person may be as quick
        self.process.logfile_read = self.seen

    def __enter__(self) -> "Typist":
        return self

    def __exit__(self, *_: object) -> None:
        self.process.close(force=True)

    @property
    def screen(self) -> str:
        """All that was shown."""
        return self.seen.getvalue()

    def sees(self, text: str) -> None:
        """Wait until this text has come, after what was waited for before."""
        self.process.expect_exact(text)

    def sees_the_clock_run(self) -> None:
        """Wait until a tapped count has lasted a second, or more on a busy machine."""
        self.process.expect(r"0 in \d+:(0[1-9]|[1-5]\d)")

    def is_asked(self) -> None:
        """Wait until the cursor stands behind a question."""
        self.process.expect(r"[?\]] $")

    def types(self, text: str) -> None:
        self.process.send(text)

    def is_sent(self, number: signal.Signals) -> None:
        self.process.kill(number)

    def hangs_up(self) -> None:
        """Close the window."""
        self.process.ptyproc.fileobj.close()

    def ends(self) -> int:
        """Exit code, once it has ended by itself; the screen is read to its end."""
        if not self.process.ptyproc.fileobj.closed:
            self.process.expect_exact(pexpect.EOF)
        self.process.wait()
        return -self.process.signalstatus if self.process.signalstatus else self.process.exitstatus

    @property
    def restored(self) -> bool:
        """Whether the terminal is as the person left it."""
        return termios.tcgetattr(self.process.child_fd) == self.mode
