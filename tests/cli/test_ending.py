import subprocess
import sys

SKIP = "import sys; from bubblerate.cli.ending import skip_teardown; end = skip_teardown()\n"


def ended(code: str) -> tuple[int, str]:
    """Exit code and output of a process that skips its teardown and runs some code."""
    words = [sys.executable, "-c", SKIP + code]
    done = subprocess.run(words, text=True, timeout=600, capture_output=True)
    return done.returncode, done.stdout


def test_a_process_ends_with_its_code_and_all_that_was_printed():
    assert ended("print('quince', end=''); end(1); sys.exit(1)") == (1, "quince")


def test_what_libraries_ask_for_at_the_end_is_done_and_nothing_is_freed():
    code = (
        "import atexit\n"
        "class Jar:\n"
        "    def __del__(self): print('freed')\n"
        "jar = Jar()\n"
        "atexit.register(print, 'called', end='')\n"
    )
    assert ended(f"{code}end(0)") == (0, "called")
    assert ended(code) == (0, "calledfreed\n")


def test_another_thread_is_waited_for():
    late = "import threading; threading.Timer(0.1, print, ['quince'], {'end': ''}).start()\n"
    assert ended(f"{late}end(0)") == (0, "quince")


def test_a_stream_that_was_closed_is_no_fault():
    assert ended("sys.stdout = None; end(0)") == (0, "")
    assert ended("sys.stdout.close(); end(0)") == (2, "")
    assert ended("sys.stdout.close(); end(1); sys.exit(1)") == (1, "")


def test_a_process_that_breaks_ends_as_ever():
    assert ended("1 / 0") == (1, "")
