"""The terminal: single keys, and rows that ctrl-c cannot cut in two. POSIX and Windows."""

from __future__ import annotations

import signal
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from types import FrameType

__all__ = ["BROKEN_OFF", "is_terminal", "single_keys", "unbroken"]

# What ends a command from outside: ctrl-c, a request to end, a closed terminal (not on Windows).
_ENDINGS = [
    getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)
]
BROKEN_OFF = 130  # exit code of a command ended by ctrl-c, as shells have it
_CTRL_C = "\x03"


def is_terminal() -> bool:
    """Whether a person is typing."""
    return sys.stdin is not None and sys.stdin.isatty()


@contextmanager
def unbroken() -> Iterator[list[int]]:
    """Let ctrl-c and a closed terminal wait until a row is down; yields what came meanwhile."""
    came: list[int] = []

    def note(number: int, _frame: FrameType | None) -> None:
        came.append(number)

    with _handling(note):
        yield came


@contextmanager
def single_keys() -> Iterator[Callable[[float], str]]:
    """Read keys as they are pressed, unseen and without Enter; the terminal is always put back.

    Yields
    ------
    callable
        Waits for that many seconds at most and gives the keys pressed; ctrl-c where the terminal is
        gone. Keys pressed before are thrown away.

    Raises
    ------
    KeyboardInterrupt
        When the process is asked to end, or its terminal is closed.
    """
    with _handling(signal.default_int_handler), _keys() as wait:
        yield wait


@contextmanager
def _handling(handler: Callable[[int, FrameType | None], object]) -> Iterator[None]:
    before = [(number, signal.signal(number, handler)) for number in _ENDINGS]
    try:
        yield
    finally:
        for number, earlier in before:
            signal.signal(number, earlier)


if sys.platform == "win32":
    import msvcrt

    @contextmanager
    def _keys() -> Iterator[Callable[[float], str]]:
        while msvcrt.kbhit():
            msvcrt.getwch()
        yield _wait

    def _wait(seconds: float) -> str:
        end = time.monotonic() + seconds
        while not msvcrt.kbhit():
            if time.monotonic() >= end:
                return ""
            time.sleep(0.01)
        key = msvcrt.getwch()
        if key in "\x00\xe0":  # an arrow or function key: its second half says which
            msvcrt.getwch()
            return ""
        return key

else:
    import os
    import select
    import termios

    @contextmanager
    def _keys() -> Iterator[Callable[[float], str]]:
        keyboard = sys.stdin.fileno()
        before = termios.tcgetattr(keyboard)
        mode = termios.tcgetattr(keyboard)
        mode[0] &= ~termios.IXON  # ctrl-s would freeze the line
        mode[3] &= ~(termios.ICANON | termios.ECHO | termios.ISIG | termios.IEXTEN)
        mode[6][termios.VMIN], mode[6][termios.VTIME] = 1, 0

        def wait(seconds: float) -> str:
            if not select.select([keyboard], [], [], seconds)[0]:
                return ""
            try:
                return os.read(keyboard, 1024).decode("ascii", "replace") or _CTRL_C
            except OSError:  # the terminal was closed
                return _CTRL_C

        try:
            # flushed before and after: a late press belongs neither to the count nor to the shell
            termios.tcsetattr(keyboard, termios.TCSAFLUSH, mode)
            yield wait
        finally:
            with suppress(termios.error):  # a closed terminal has no mode
                termios.tcsetattr(keyboard, termios.TCSAFLUSH, before)
