"""Runs a function over many vessels, here or on any executor, in order and lazily.

No result is kept once handed on, so memory does not grow with the number of vessels.
"""

from __future__ import annotations

import os
from collections import deque
from concurrent.futures import BrokenExecutor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from itertools import islice
from multiprocessing import get_context
from threading import Thread
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from ..errors import BubbleRateError, InputError
from ..text import printable

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from concurrent.futures import Executor

__all__ = ["executor_for", "in_order"]

In = TypeVar("In")
Out = TypeVar("Out")

_TOGETHER = 8  # vessels sent at once: about 0.4 s of work, so that sending costs little
_ANSWERS_WITHIN_S = 8  # with loading before it, an answer comes within 10 s
_AHEAD = 256  # lots in progress: work for this many workers, and no more in memory


def in_order(
    work: Callable[[In], Out],
    items: Iterable[In],
    *,
    executor: Executor | None = None,
    lost: Callable[[In, str], Out],
) -> Iterator[Out]:
    """Give the result of each item, in the order of the items.

    Parameters
    ----------
    work : callable
        Takes an item; must be importable by name where an executor is used.
    items : iterable
        Read only as needed.
    executor : concurrent.futures.Executor, optional
        Where the work is done; by default here, one after another. It is not shut down.
    lost : callable
        Makes a result for an item that a worker failed on, from the item and the failure.

    Yields
    ------
    object
        What `work` or `lost` gave.

    Raises
    ------
    BubbleRateError
        If the whole executor fails; results given before are good.

    Examples
    --------
    >>> list(in_order(abs, [3, -4], lost=lambda item, error: 0))
    [3, 4]
    """
    if executor is None:
        yield from map(work, items)
        return
    left = iter(items)
    under_way: deque[tuple[list[In], Future[list[Out]]]] = deque()
    try:
        while True:
            while len(under_way) < _AHEAD and (lot := list(islice(left, _TOGETHER))):
                under_way.append((lot, executor.submit(_Lot(work), lot)))
            if not under_way:
                return
            lot, future = under_way.popleft()
            try:
                done = future.result()
            except BrokenExecutor:
                raise
            except Exception as err:  # noqa: BLE001 - whatever an executor raises for a lost worker
                done = [lost(item, f"{type(err).__name__}: {err}") for item in lot]
            yield from done
    except BrokenExecutor:
        raise BubbleRateError(
            "a worker process stopped, perhaps out of memory; try again with fewer workers"
        ) from None
    finally:
        for _, future in under_way:
            future.cancel()


class _Lot(Generic[In, Out]):
    """The work on several items; a class, since a closure cannot be sent to a worker."""

    def __init__(self, work: Callable[[In], Out]) -> None:
        self.work = work

    def __call__(self, lot: list[In]) -> list[Out]:
        return [self.work(item) for item in lot]


@contextmanager
def executor_for(*, workers: int | None = None, scheduler: str = "") -> Iterator[Executor | None]:
    """Give the executor that a command was asked for, and close it afterwards.

    Parameters
    ----------
    workers : int, optional
        Processes on this machine; by default one per core. With one, no process is started and the
        work is done here.
    scheduler : str
        Address of a Dask scheduler, such as ``tcp://cellar:8786``, used instead. It runs code for
        anyone who reaches it, and this machine trusts what it sends: use only your own.

    Yields
    ------
    concurrent.futures.Executor or None
        None if the work is done here.

    Raises
    ------
    InputError
        If both are asked for, if `workers` is below 1, if Dask is not installed or the scheduler
        does not answer.
    """
    if scheduler:
        if workers is not None:
            raise InputError("choose --workers, of this machine, or --scheduler")
        with _client(scheduler) as client:
            yield client.get_executor()
        return
    if workers is not None and workers < 1:
        raise InputError(f"workers is {workers}; write 1 or more")
    if workers == 1:
        yield None
        return
    with _one_thread_each(), ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
        yield pool


@contextmanager
def _one_thread_each() -> Iterator[None]:
    """Let processes started within use one thread of linear algebra, as each has a core.

    What the environment already says about it stays.
    """
    name = "OPENBLAS_NUM_THREADS"
    if name in os.environ:
        yield
        return
    os.environ[name] = "1"
    try:
        yield
    finally:
        del os.environ[name]


@contextmanager
def _client(scheduler: str) -> Iterator[Any]:
    try:
        import distributed  # noqa: F401 - only to see that it is installed
    except ImportError:
        raise InputError(
            'a scheduler needs Dask: python3 -m pip install "bubblerate[cluster]"'
        ) from None
    try:
        client = _reached(scheduler)
    except Exception as err:  # noqa: BLE001 - what is at an address may send anything
        reason = printable(str(err)) or f"nothing within {_ANSWERS_WITHIN_S} s"
        if isinstance(err, MemoryError):  # the first bytes of another protocol, read as a length
            reason = "what answers is not a Dask scheduler"
        raise InputError(
            f"no scheduler answers at {printable(scheduler)} ({reason}); check its address"
        ) from None
    with client:
        yield client


def _reached(scheduler: str) -> Any:
    """Client of a scheduler; its own time limit ends once connected, ours does not."""
    from distributed import Client

    begun: Future[Any] = Future()

    def begin() -> None:
        try:
            begun.set_result(Client(scheduler, timeout=_ANSWERS_WITHIN_S))
        except BaseException as err:  # noqa: BLE001 - raised again by whoever waits
            begun.set_exception(err)

    Thread(target=begin, daemon=True).start()
    return begun.result(_ANSWERS_WITHIN_S)
