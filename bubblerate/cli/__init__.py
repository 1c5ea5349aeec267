"""The command line: arguments in, one call, words out. No sums here.

Only the command that is called is loaded and shown to typer, so that a count is down at once.
"""

from __future__ import annotations

import gc
import io
import os
import re
import sys
from importlib import import_module
from inspect import getdoc
from itertools import takewhile
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal, get_args, get_origin

import typer
from typer.core import TyperCommand
from typer.exceptions import TyperException

from ..errors import BubbleRateError, FaultsError
from ..text import printable
from .common import machine_clock
from .ending import skip_teardown

if TYPE_CHECKING:
    from .common import Clock

__all__ = ["app", "main"]

_HOME = {  # in the order of the help
    "start": "entries:start",
    "tally": "entries:tally",
    "tap": "tap:tap",
    "gravity": "gravities:gravity",
    "event": "acts:event",
    "split": "mingling:split",
    "join": "mingling:join",
    "top-up": "mingling:top_up",
    "diary": "entries:diary",
    "strike": "entries:strike",
    "about": "about:about",
    "round": "rounds:round",
    "shelf": "shelf:shelf",
    "phone": "phone:phone",
    "listen": "listening:listen",
    "verdict": "answers:verdict",
    "plot": "answers:plot",
    "backtest": "backtesting:backtest",
    "after": "keeping:after",
    "guide": "guiding:guide",
    "words": "words:words",
    "dose": "dosing:dose",
    "bottling-day": "sheets:bottling_day",
    "label": "keeping:label",
    "cellar": "sheets:cellar",
    "sheet": "sheets:sheet",
    "demo": "answers:demo",
    "import": "importing:import_",
}


_REMARK = "#"  # copied with a line of the guide: some shells pass it and what follows it on
_COMPLETING = "_BUBBLERATE_COMPLETE"  # a shell asks what fits: the words are not what is typed
_GC_THRESHOLD = 50_000  # objects until Python looks for unused ones; loading libraries leaves none
_FOR_CALLERS = "\n\nRaises\n"  # what a docstring says from here on is no help to who types


def app(command: str | None = None) -> typer.Typer:
    """Give the program that typer runs: one command, or all of them and the completion of shells.

    Parameters
    ----------
    command : str, optional
        Name of the one that is wanted; by default all.

    Returns
    -------
    typer.Typer
    """
    program = typer.Typer(
        help="Tells you when a home ferment is finished, from bubble counts and gravity readings.",
        epilog="A word is new to you? bubblerate words explains airlock, lees, SG and the rest.",
        add_completion=command is None,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    for name in _HOME if command is None else [command]:
        module, _, function = _HOME[name].partition(":")
        found = getattr(import_module(f".{module}", __name__), function)
        text = (getdoc(found) or "").partition(_FOR_CALLERS)[0]
        program.command(name, cls=_Command, help=text)(found)
    if command is None:
        program.callback()(_program)
    return program


def _say_version(asked: bool) -> None:
    if asked:
        typer.echo(f"bubblerate {import_module('..', __name__).__version__}")
        raise typer.Exit


def _program(
    version: Annotated[
        bool,
        typer.Option(
            "--version", help="Show the version and exit.", is_eager=True, callback=_say_version
        ),
    ] = False,
) -> None:
    pass


class _LeftOverError(TyperException):
    """Words that no argument of a command takes."""

    def __init__(self, ctx: typer.Context, words: list[str]) -> None:
        super().__init__(f"Too many words: {' '.join(map(printable, words))}")
        self.ctx = ctx


class _Command(TyperCommand):
    """A command that takes plain words as they were typed.

    To find that a text is a text typer loads a library that takes longer than all the rest. It
    still parts the words, and looks at them itself where one is missing, too much or not plain.
    """

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Fill in the parameters from the words after the name of the command."""
        found, rest, _ = self.make_parser(ctx).parse_args([*args])
        typed = {name: value for name, value in found.items() if value is not None}
        needed = {param.name for param in self.params if param.required}
        read = {p.name: _plain(p, typed[p.name]) for p in self.params if p.name in typed}
        # what is none of the parameters asks for the help, which typer gives
        plain = needed <= typed.keys() <= read.keys() and None not in read.values()
        if rest or ctx.resilient_parsing or not plain:
            ctx.allow_extra_args = True  # they are refused here, by an error of their own
            rest = super().parse_args(ctx, args)
            if rest and not ctx.resilient_parsing:
                raise _LeftOverError(ctx, rest)
            return rest
        ctx.params = {p.name: read.get(p.name, _untyped(p, ctx)) for p in self.params}
        return rest


def _untyped(param: Any, ctx: Any) -> object:
    """Value of a parameter for which nothing was typed."""
    default: object = param.get_default(ctx)
    many = getattr(param, "multiple", False) or param.nargs == -1
    return () if many and default is None else default


_NUMBER = re.compile(r"\d{1,6}(\.\d{1,6})?", re.ASCII)


def _plain(param: Any, word: Any) -> object:
    """Value of a word typed for a parameter; None if typer has to read it."""
    # where another typer keeps this elsewhere nothing is plain, and it looks at all itself
    kind = getattr(getattr(param, "type_descriptor", None), "annotation", None)
    if kind is bool and isinstance(word, bool):
        return word
    if not isinstance(word, str):
        return None
    if kind is str or word in (get_args(kind) if get_origin(kind) is Literal else ()):
        return word
    if kind is Path:
        path = Path(word)
        return path if os.access(path, os.R_OK) or not os.path.lexists(path) else None
    if kind in {int, float} and _NUMBER.fullmatch(word) and (kind is float or word.isdecimal()):
        least, most = getattr(param, "min", None), getattr(param, "max", None)
        number: float = kind(word)
        inside = (least is None or least <= number) and (most is None or number <= most)
        return number if inside else None
    return None


def main(arguments: list[str] | None = None, *, now: Clock = machine_clock) -> None:
    """Run one command and leave the process with its exit code.

    Parameters
    ----------
    arguments : list of str, optional
        The words after ``bubblerate``; by default those of the process, which then ends at
        once (`skip_teardown`) and uses one thread of linear algebra. None at all asks for help.
    now : callable
        Gives the present moment, aware; by default the machine's clock.

    Raises
    ------
    SystemExit
        0: answered, "wait" too; 1: wait, where ``--check`` asked for it; 2: the input cannot be
        used, with one line that says what would do. A traceback is a bug.
    """
    words = sys.argv[1:] if arguments is None else arguments
    words = _without_remark(words) or ["--help"]
    if arguments is not None:
        sys.exit(_answered(words, now))
    # the matrices are small: a second thread would only wait, and double the CPU time
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    gc.set_threshold(_GC_THRESHOLD)
    set_exit_code = skip_teardown()
    code = _answered(words, now)
    set_exit_code(code)
    sys.exit(code)


def _without_remark(words: list[str]) -> list[str]:
    """The words before a lone #; all of them if an option follows it, which is no remark."""
    kept = [*takewhile(lambda word: word != _REMARK, words)]
    meant = any(word.startswith("--") for word in words[len(kept) :])
    return words if meant else kept


def _answered(words: list[str], now: Clock) -> int:
    """Run a command, and give its exit code."""
    if isinstance(sys.stdout, io.TextIOWrapper):  # a terminal that lacks a letter, or half of one
        sys.stdout.reconfigure(errors="backslashreplace")
    try:
        words = words if words[0] in _HOME or _COMPLETING in os.environ else _meant(words)
        called = words[:1] if words[0] in _HOME else []
        run, rest = app(*called), words[len(called) :]
        program = " ".join(["bubblerate", *called])
        return run(rest, prog_name=program, standalone_mode=False, obj=now) or 0
    except FaultsError as err:
        *before, line = err.lines
        for fault in before:
            print(f"bubblerate: {printable(fault)}", file=sys.stderr)
    except BubbleRateError as err:
        line = _in_order(words) or str(err)
    except TyperException as err:
        line = _in_order(words) or _mistyped(words) or _usage(err, words)
    except OSError as err:  # the answer could not be written out: a full disk, a closed pipe
        reason = err.strerror or err
        line = f"the answer could not be shown: {reason}; check the diary before you try again"
    print(f"bubblerate: {printable(line)}", file=sys.stderr)
    return 2


def _meant(words: list[str]) -> list[str]:
    from .meant import command_meant  # only needed where no command stands first

    return command_meant(words, [*_HOME])


def _in_order(words: list[str]) -> str:
    from .meant import in_order  # only needed to say what was meant

    return in_order(words)


def _mistyped(words: list[str]) -> str:
    from .meant import mistyped  # the same

    return mistyped(words)


def _usage(err: TyperException, words: list[str]) -> str:
    """What is wrong with the words of the command, and where help is."""
    context = getattr(err, "ctx", None)
    called = " ".join(["bubblerate", *(word for word in words[:1] if word in _HOME)])
    command = called if context is None else context.command_path
    message = err.format_message().replace("Value error, ", "").rstrip(".")  # a library's mark
    if isinstance(err, _LeftOverError):
        message += "; quote a name of several words, and write options by name (--over 90s)"
    return f"{message} (see {command} --help)"
