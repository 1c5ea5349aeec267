import os
import signal
import socket
import subprocess
import sys
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from contextlib import contextmanager
from functools import partial
from threading import Thread

import pytest

from bubblerate import Settings
from bubblerate.errors import BubbleRateError, InputError
from bubblerate.shelf.executors import executor_for, in_order
from bubblerate.shelf.overview import glance

from scenes import diary, evening


def squared(number):
    return number * number


def die(_):
    os._exit(1)


def no_result(item, error):
    return f"{item}: {error}"


class Losing(Executor):
    """An executor that brings back all but one lot."""

    def __init__(self):
        self.sent = 0

    def submit(self, fn, /, *args, **kwargs):
        self.sent += 1
        future = Future()
        if self.sent == 2:
            future.set_exception(RuntimeError("the worker is gone"))
        else:
            future.set_result(fn(*args, **kwargs))
        return future


def falling(name, scale):
    return diary(*({"day": d, "bubbles": round(scale * 0.8**d)} for d in range(9)), vessel=name)


@pytest.mark.parametrize("n", [0, 1, 8, 9, 5000])
def test_results_come_in_the_order_of_the_items(n):
    with ThreadPoolExecutor(3) as threads:
        found = in_order(squared, range(n), executor=threads, lost=no_result)
        assert list(found) == [i * i for i in range(n)]


def test_processes_give_the_same_as_the_work_done_here():
    with executor_for(workers=2) as pool:
        found = list(in_order(squared, range(50), executor=pool, lost=no_result))
        (threads,) = in_order(os.getenv, ["OPENBLAS_NUM_THREADS"], executor=pool, lost=no_result)
        assert threads == os.environ.get("OPENBLAS_NUM_THREADS", "1")
    with executor_for(workers=1) as nothing:
        assert nothing is None
        assert found == list(in_order(squared, range(50), executor=nothing, lost=no_result))


def test_items_are_read_no_further_than_there_is_work_for():
    read = []
    items = (read.append(i) or i for i in range(100_000))
    with ThreadPoolExecutor(2) as threads:
        found = in_order(squared, items, executor=threads, lost=no_result)
        assert next(found) == 0
        assert len(read) <= 8 * 256
        found.close()  # type: ignore[attr-defined]


def test_a_lot_that_is_lost_costs_no_other():
    found = list(in_order(squared, range(20), executor=Losing(), lost=no_result))
    assert found[:8] == [i * i for i in range(8)]
    assert found[8:16] == [f"{i}: RuntimeError: the worker is gone" for i in range(8, 16)]
    assert found[16:] == [i * i for i in range(16, 20)]


def test_a_pool_that_falls_over_is_one_line():
    with executor_for(workers=2) as pool:
        found = in_order(die, range(3), executor=pool, lost=no_result)
        with pytest.raises(BubbleRateError, match="a worker process stopped"):
            list(found)


def test_a_fault_of_the_work_done_here_is_seen():
    with pytest.raises(TypeError):
        list(in_order(squared, [None], lost=no_result))


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"workers": 0}, "workers is 0; write 1 or more"),
        ({"workers": 2, "scheduler": "tcp://127.0.0.1:9"}, "choose --workers"),
    ],
)
def test_an_executor_that_cannot_be_is_one_line(asked, words):
    with pytest.raises(InputError, match=words), executor_for(**asked):
        pass


def test_without_dask_the_message_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with (
        pytest.raises(InputError, match=r"bubblerate\[cluster\]"),
        executor_for(scheduler="tcp://x"),
    ):
        pass


noisy = pytest.mark.filterwarnings("default")  # what a cluster says as it goes down is its own


@pytest.fixture(scope="module")
def cluster():
    from distributed import LocalCluster

    with LocalCluster(
        n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=50
    ) as cluster:
        yield cluster


@noisy
def test_a_worker_killed_half_way_loses_nothing(cluster):
    from distributed import Client

    with Client(cluster) as client:
        pids = client.run(os.getpid)
        found = in_order(squared, range(640), executor=client.get_executor(), lost=no_result)
        squares = [next(found) for _ in range(8)]
        os.kill(min(pids.values()), signal.SIGKILL)
        squares += found
        assert {*client.run(os.getpid).values()} != {*pids.values()}  # another stands in for it
    assert squares == [squared(n) for n in range(640)]


@noisy
def test_a_scheduler_found_by_its_address_brings_back_what_is_worked_out_here(cluster):
    jars = [falling(f"jar-{i}", 40 + i) for i in range(9)]
    work = partial(glance, at=evening(9), settings=Settings())
    with executor_for(scheduler=cluster.scheduler_address) as executor:
        found = list(in_order(work, jars, executor=executor, lost=no_result))
    # another count of threads moves the last digits of a sum
    assert [told(one) for one in found] == [told(work(jar)) for jar in jars]


def told(glanced):
    """What a shelf prints of a jar."""
    line = glanced.line
    return line.verdict.answer, line.verdict.next, f"{line.crossing.median:%d %b %Y}"


@noisy
def test_a_scheduler_that_does_not_answer_is_one_line(monkeypatch):
    monkeypatch.setattr("bubblerate.shelf.executors._ANSWERS_WITHIN_S", 1)
    with (
        pytest.raises(InputError, match="no scheduler answers at tcp://127"),
        executor_for(scheduler="tcp://127.0.0.1:9"),
    ):
        pass


def silent(listening):
    """What takes a connection and never says a word."""


def of_the_web(listening):
    """What answers anything as a web server does."""
    try:
        while True:
            came, _ = listening.accept()
            came.sendall(b"HTTP/1.1 400 Bad Request\r\nContent-Length: 0\r\n\r\n" * 20)
            came.close()
    except OSError:  # closed: the test is over
        return


def babbling(listening):
    """What sends the first bytes of a message and then no more."""
    came, _ = listening.accept()
    with came:
        came.sendall((2).to_bytes(8, "little"))
        while came.recv(4096):
            pass


ASKED = """
import os, sys
import distributed, typer, pydantic
import bubblerate.cli.shelf
from bubblerate.cli import main
from bubblerate.shelf import executors, overview
executors._ANSWERS_WITHIN_S = 1
for address in sys.argv[2:]:
    if os.fork() == 0:  # a process each, as a person would start it, that loads no library anew
        main(["shelf", "--shelf", sys.argv[1], "--scheduler", address])
    assert os.waitstatus_to_exitcode(os.wait()[1]) == 2
"""


@contextmanager
def listening(what):
    """Address of something that takes connections and does as told with each."""
    with socket.create_server(("127.0.0.1", 0)) as there:
        Thread(target=what, args=(there,), daemon=True).start()
        yield f"tcp://127.0.0.1:{there.getsockname()[1]}"
        there.shutdown(socket.SHUT_RDWR)


@pytest.mark.skipif(sys.platform == "win32", reason="forks")
def test_what_is_no_scheduler_is_one_line_each_and_holds_nobody_up(jars):
    with listening(silent) as no_word, listening(of_the_web) as web, listening(babbling) as half:
        asked = [no_word, web, half, "ucx://127.0.0.1:9", "tls://127.0.0.1:9", "\x1b[2J"]
        words = [sys.executable, "-W", "ignore", "-c", ASKED, str(jars), *asked]
        done = subprocess.run(words, capture_output=True, text=True, timeout=600, check=False)
    said = done.stderr.splitlines()
    assert (done.returncode, done.stdout, len(said)) == (0, "", len(asked)), done.stderr
    for address, line in zip([*asked[:-1], "?[2J"], said, strict=True):
        assert f"no scheduler answers at {address} (" in line
        assert line.endswith("; check its address")
        assert line.isprintable()
    assert "nothing within 1 s" in said[0]
    assert "not a Dask scheduler" in said[1]
    assert "within 1 s" in said[2]


def test_the_help_says_that_a_scheduler_runs_code_for_anybody(run):
    for command in ("shelf", "backtest"):
        assert "runs code for anyone who can reach it" in " ".join(
            run(command, "--help").out.split()
        )
