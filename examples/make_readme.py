"""Fill every screen and picture of the README and the guide with what the program prints and draws.

A screen is a text block below a comment that names its command, the moment it is typed at and the
width of the terminal; a picture stands below a comment that names its command. Each command runs
beside a fresh copy of this folder, so nothing here is changed but the pictures asked for.
To write the pages again: python examples/make_readme.py
To be told which block is out of date, with exit code 1: python examples/make_readme.py --check
"""

import contextlib
import io
import math
import os
import re
import shlex
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from unittest import mock

import click

from bubblerate.cli import main as bubblerate

HERE = Path(__file__).resolve().parent
PAGES = (HERE.parent / "README.md", *sorted((HERE / "guide").glob("*.md")))
SCREEN = re.compile(
    r"(?P<head><!-- printed by: (?P<line>[^\n]+), at (?P<clock>\S+), (?P<width>\d+) wide -->\n"
    r"```text\n)(?P<shown>.*?)```",
    re.DOTALL,
)
PICTURE = re.compile(r"<!-- drawn by: (?P<line>[^\n]+-o (?P<path>\S+)[^\n]*) -->\n!\[")
ANY_SCREEN = re.compile(r"^```text$", re.MULTILINE)
NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?")


def alike(printed: str, shown: str) -> bool:
    """Whether two screens say the same: words exactly, and digits nearly.

    The last digits may differ between versions of numpy, and with them the breaks of lines.
    """
    words = [NUMBER.sub("#", text).split() for text in (printed, shown)]
    digits = zip(NUMBER.findall(printed), NUMBER.findall(shown), strict=False)
    return words[0] == words[1] and all(
        math.isclose(float(a), float(b), rel_tol=0.2, abs_tol=2.0) for a, b in digits
    )


@contextlib.contextmanager
def in_utc() -> Iterator[None]:
    """Let the program take UTC for its local time."""
    set_zone = getattr(time, "tzset", lambda: None)  # not on Windows
    try:
        with mock.patch.dict(os.environ, TZ="UTC"):
            set_zone()
            yield
    finally:
        set_zone()


class Window(io.StringIO):
    """What a terminal shows."""

    def isatty(self) -> bool:
        """It is one."""
        return True


def screen(line: str, *, clock: str, width: str) -> str:
    """What a command prints when it is typed at a moment into a terminal so many letters wide.

    Raises
    ------
    RuntimeError
        If it is refused.
    """
    out = Window()
    with (
        mock.patch.dict(os.environ, {"COLUMNS": width, "BUBBLERATE_SHELF": "examples"}),
        in_utc(),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(out),  # a terminal shows both
    ):
        try:
            bubblerate(shlex.split(line)[1:], now=lambda: datetime.fromisoformat(clock))
        except SystemExit as end:
            if end.code:
                raise RuntimeError(f"{line}: {out.getvalue()}") from end
    return click.unstyle(out.getvalue())


@contextlib.contextmanager
def beside_the_examples() -> Iterator[None]:
    """Stand in a folder of its own that holds a copy of the examples."""
    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder):
        shutil.copytree(HERE, "examples")
        yield


def printed(block: re.Match[str]) -> str:
    """What belongs into a screen of a page."""
    with beside_the_examples():
        return screen(block["line"], clock=block["clock"], width=block["width"])


def drawn(block: re.Match[str]) -> bytes:
    """What belongs into a picture of a page."""
    with beside_the_examples():
        Path(block["path"]).unlink(missing_ok=True)
        screen(block["line"], clock="2026-11-18T21:30+00:00", width="92")
        return Path(block["path"]).read_bytes()


def out_of_date(text: str) -> list[str]:
    """Name each block of a page that the program would write otherwise."""
    found = [
        f"not as the program prints it now: {block['line']}"
        for block in SCREEN.finditer(text)
        if not alike(printed(block), block["shown"])
    ]
    bare = len(ANY_SCREEN.findall(text)) - len(SCREEN.findall(text))
    return found + ["a text block lacks the comment that names its command"] * bare


def filled(text: str) -> str:
    """Text of a page with every screen as the program prints it now."""
    return SCREEN.sub(lambda block: f"{block['head']}{printed(block)}```", text)


def main(arguments: list[str]) -> int:
    """Write the pages and their pictures, or only check them; gives the exit code."""
    texts = {page: page.read_text(encoding="utf-8") for page in PAGES}
    if arguments == ["--check"]:
        found = [f"{page.name}: {line}" for page in texts for line in out_of_date(texts[page])]
        print("\n".join(found))
        return 1 if found else 0
    for page, text in texts.items():
        page.write_text(filled(text), encoding="utf-8")
        for block in PICTURE.finditer(text):
            (HERE.parent / block["path"]).write_bytes(drawn(block))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
