"""The command line: arguments in, one call, words out. Nothing here is a sum."""

from __future__ import annotations

import sys

import typer
from typer.exceptions import TyperException

from ..errors import BubbleRateError
from . import answers, entries, importing, keeping, listening, rounds, shelf, tap

__all__ = ["app", "main"]

app = typer.Typer(
    help="Says when a home ferment is finished, from evening bubble counts and gravity.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)
for command in (
    entries.start,
    entries.tally,
    tap.tap,
    entries.gravity,
    entries.event,
    entries.diary,
    entries.strike,
    rounds.round,
    shelf.shelf,
    listening.listen,
    answers.verdict,
    answers.plot,
    keeping.after,
    keeping.label,
    answers.demo,
):
    app.command()(command)
app.command("import")(importing.import_)


def main(arguments: list[str] | None = None) -> None:
    """Run one command and leave the process with its exit code.

    Parameters
    ----------
    arguments : list of str, optional
        The words after ``bubblerate``; by default those of the process. None at all asks for help.

    Notes
    -----
    0: answered, "wait" too; 1: wait, where ``--check`` asked for it; 2: the input cannot be used,
    with one line that says what would do. A traceback is a bug.
    """
    words = (sys.argv[1:] if arguments is None else arguments) or ["--help"]
    try:
        sys.exit(app(words, prog_name="bubblerate", standalone_mode=False) or 0)
    except BubbleRateError as err:
        line = str(err)
    except TyperException as err:
        line = _usage(err)
    except OSError as err:  # the answer could not be written out: a full disk, a closed pipe
        line = f"the answer could not be written: {err.strerror or err}"
    print(f"bubblerate: {' '.join(line.split())}", file=sys.stderr)
    sys.exit(2)


def _usage(err: TyperException) -> str:
    """What is wrong with the words of the command, and where help is."""
    context = getattr(err, "ctx", None)
    command = "bubblerate" if context is None else context.command_path
    message = err.format_message().replace("Value error, ", "").rstrip(".")
    if "extra argument" in message:
        message += "; options go by name, such as --over 90s or --on bottling"
    return f"{message} (see {command} --help)"
