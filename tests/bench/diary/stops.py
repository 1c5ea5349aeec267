"""Processes that do one thing each, and what may befall them at any of their system calls.

A child is forked from this process, so that everything it needs is loaded; on Linux it can be held
before and after every system call (ptrace), and something done meanwhile: a kill, another's save.
"""

from __future__ import annotations

import contextlib
import ctypes
import os
import signal
import sys
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

from bubblerate.cli import main

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

# linux/ptrace.h
_TRACE_ME, _NEXT_SYSCALL, _LET_GO, _SET_OPTIONS = 0, 24, 17, 0x4200
_KILL_WITH_TRACER = 0x100000


class Said(NamedTuple):
    """What one command left behind; a code below 0 is the signal that ended it."""

    code: int
    out: str
    err: str


class Doer:
    """One deed in a process of its own: a command that is typed, a form that a phone sends."""

    def __init__(
        self, deed: Callable[[], object], log: Path, before: Callable[[], object] = lambda: None
    ) -> None:
        self._out, self._err = log.with_suffix(".out"), log.with_suffix(".err")
        sys.stdout.flush()
        self.pid = os.fork()
        if self.pid == 0:
            os._exit(self._run(deed, before))

    def _run(self, deed: Callable[[], object], before: Callable[[], object]) -> int:
        for path, handle in ((self._out, 1), (self._err, 2)):
            os.dup2(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC), handle)
        before()
        code = 1
        try:
            deed()
            code = 0
        except SystemExit as end:
            code = int(end.code or 0)
        except BaseException as err:  # a traceback would be a bug: the table shows it
            print(repr(err), file=sys.stderr)
        sys.stdout.flush()
        sys.stderr.flush()
        return code

    def said(self) -> Said:
        """Wait for its end."""
        code = os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])
        return Said(code, self._out.read_text(), self._err.read_text())


def typing(words: list[str]) -> Callable[[], object]:
    """The deed of a command."""
    return partial(main, words)


def typed(words: list[str], log: Path, before: Callable[[], object] = lambda: None) -> Said:
    """Type a command and wait for its end."""
    return Doer(typing(words), log, before).said()


def held_at(
    stop: int, deed: Callable[[], object], log: Path, meanwhile: Callable[[int], object]
) -> Said | None:
    """Hold a deed at its stop-th stop, do something, let it run on; None past its end.

    A stop is the entry to a system call or the return from it; `meanwhile` gets the process id.
    """
    child = Doer(deed, log, _ask_to_be_traced)
    if not os.WIFSTOPPED(os.waitpid(child.pid, 0)[1]):
        raise PermissionError("this machine lets no process be traced")
    _ptrace(_SET_OPTIONS, child.pid, _KILL_WITH_TRACER)
    for _ in range(stop):
        _ptrace(_NEXT_SYSCALL, child.pid, 0)
        if not os.WIFSTOPPED(os.waitpid(child.pid, 0)[1]):
            return None
    meanwhile(child.pid)
    with contextlib.suppress(ProcessLookupError):  # it was killed
        _ptrace(_LET_GO, child.pid, 0)
    return child.said()


def kill(pid: int) -> None:
    """Stop a process dead; if it was about to make a system call, that is not made."""
    os.kill(pid, signal.SIGKILL)


def _ask_to_be_traced() -> None:
    _ptrace(_TRACE_ME, 0, 0)
    os.kill(os.getpid(), signal.SIGSTOP)


def _ptrace(request: int, pid: int, data: int) -> None:
    libc = ctypes.CDLL(None, use_errno=True)
    libc.ptrace.argtypes = [ctypes.c_long, ctypes.c_long, ctypes.c_void_p, ctypes.c_void_p]
    libc.ptrace.restype = ctypes.c_long
    if libc.ptrace(request, pid, None, data) != 0:
        number = ctypes.get_errno()
        raise OSError(number, os.strerror(number))
