"""What was meant by words that are not commands, or are in the wrong order.

Another word for a command is taken as that command. Whatever else is answered with the line that
would do: nothing is written on a guess.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from contextlib import suppress
from itertools import pairwise
from pathlib import Path

from ..errors import BubbleRateError, InputError
from ..text import as_typed, quoted

__all__ = ["ALSO", "command_meant", "in_order", "mistyped"]

# Everyday words, each for the command that does what it says.
ALSO: Mapping[str, str] = {
    **dict.fromkeys(("new", "begin", "pitch"), "start"),
    **dict.fromkeys(("count", "bubbles"), "tally"),
    **dict.fromkeys(("sg", "hydrometer", "reading"), "gravity"),
    **dict.fromkeys(("jars", "list"), "shelf"),
    **dict.fromkeys(("check", "ready", "finished"), "verdict"),
    **dict.fromkeys(("rows", "show"), "diary"),
    **dict.fromkeys(("draw", "picture", "graph"), "plot"),
    **dict.fromkeys(("next", "steps"), "after"),
    **dict.fromkeys(("undo", "delete", "remove"), "strike"),
    **dict.fromkeys(("glossary", "explain"), "words"),
}
_TAKES_MORE = {"tally", "gravity", "event", "strike", "dose"}  # whose words go on behind the jar

_HYPHENS = "-\N{EN DASH}\N{EM DASH}"
_ONE_HYPHEN = re.compile(r"-[a-z]{2}[a-z-]*")
_LONG_HYPHEN = re.compile("[\N{EN DASH}\N{EM DASH}]+[a-z]")
_COUNT_AND_TIME = re.compile(r"\S+ \d\S*[a-z]\S*")
_BELOW_ZERO = re.compile(r"-[.,]?\d")
_WITHOUT_SIGN = re.compile(r"-(0?[.,]9|1[.,]?[01]|9\d\d)")  # a gravity after a hyphen


def command_meant(words: Sequence[str], commands: Sequence[str]) -> list[str]:
    """Words of a command line, with a command first.

    Parameters
    ----------
    words : sequence of str
        As typed, at least one.
    commands : sequence of str
        Names of all commands.

    Returns
    -------
    list of str
        As typed where the first word is a command or an option; with the command that another
        word stands for; or the options that ask for the help or the version.

    Raises
    ------
    InputError
        If no command stands first; it gives the line that would do, where one can be told.
    """
    first, rest = words[0].lower(), [*words[1:]]
    if words[0] in commands or first.startswith("-"):
        return [*words]
    if first in commands or first in ALSO:
        return [ALSO.get(first, first), *rest]
    if first == "version" and not rest:
        return ["--version"]
    if first == "help":
        named = rest[0].lower() if rest else ""
        named = ALSO.get(named, named)
        return [named, "--help"] if named in commands else ["--help"]
    if rest and (second := ALSO.get(rest[0].lower(), rest[0].lower())) in commands:
        raise InputError(f"the command comes first: {_line(second, words[0], *rest[1:])}")
    raise InputError(_no_command(words, commands))


def _no_command(words: Sequence[str], commands: Sequence[str]) -> str:
    from difflib import get_close_matches  # only needed to say what was meant

    from ..diary.event_names import known

    first, rest = words[0], words[1:]
    said = f"there is no command {quoted(first)}"
    if event := known(first):
        jar = rest[0] if rest else "NAME"
        return f"{said}; write it as an event: {_line('event', jar, str(event), *rest[1:])}"
    if first in _jars(words):
        return (
            f"{quoted(first)} is a jar; say what you want to do with it, such as: "
            f"{_line('verdict', first)}"
        )
    if near := get_close_matches(first.lower(), [*commands, *ALSO], 1):
        return f"{said}; did you mean: {_line(ALSO.get(near[0], near[0]), *rest)}"
    return f"{said}; bubblerate --help lists them"


def in_order(words: Sequence[str]) -> str:
    """The corrected line where the jar does not follow the command, or is not named as it is.

    Parameters
    ----------
    words : sequence of str
        Of a command line that was refused, its command first.

    Returns
    -------
    str
        Empty where the order is not what is wrong.
    """
    known = _jars(words)
    typed, options = _parted(words[1:])
    for upto in range(2, len(typed) + 1):
        if (name := " ".join(typed[:upto])) in known:
            line = _line(words[0], name, *typed[upto:], *options)
            return f"a name of several words goes in quotes: {line}"
    bare = typed[0].removesuffix(".csv") if typed else ""
    if bare in known and bare != typed[0] and not Path(typed[0]).exists():
        return f"leave .csv out: {_line(words[0], bare, *typed[1:], *options)}"
    if words[0] not in _TAKES_MORE:
        return ""
    place = next((i for i, word in enumerate(typed) if word in known), 0)
    if not place or typed[0] in known or typed[0].lower().endswith(".csv"):
        return ""
    others = [*typed[:place], *typed[place + 1 :]]
    return f"the jar comes first: {_line(words[0], typed[place], *others, *options)}"


def mistyped(words: Sequence[str]) -> str:
    """Say what would do where words are no argument and no option of a command.

    Parameters
    ----------
    words : sequence of str
        Of a command line that was refused, its command first.

    Returns
    -------
    str
        Empty where that cannot be told.
    """
    typed, options = _parted(words[1:])
    for word in words[1:]:
        if _ONE_HYPHEN.fullmatch(word) or _LONG_HYPHEN.match(word):
            option = f"--{word.lstrip(_HYPHENS)}"
            line = _line(*(option if each is word else each for each in words))
            return f"the name of an option has two plain hyphens before it: {line}"
    below = next((word for word in typed[1:] if _BELOW_ZERO.match(word)), None)
    if below is not None:
        return f"{quoted(below)} is below 0: {_not_below(words[0], typed[0], below, options)}"
    return _as_one(words[0], typed, options) if len(typed) > 2 else ""


def _not_below(command: str, jar: str, word: str, options: Sequence[str]) -> str:
    if command == "tally":
        return "a count is 0 or more; write 12, or none if there were no bubbles"
    if command == "strike":
        return f"a line has a number from 2 on; {_line('diary', jar)} shows them"
    if command == "gravity" and _WITHOUT_SIGN.match(word):
        return f"leave out the sign: {_line(command, jar, word[1:], *options)}"
    if command == "gravity":
        rest = [option for option in options if option != "--oechsle"]
        return f"for points below water write {_line(command, jar, '--oechsle', word, *rest)}"
    return "write a number of 0 or more"


def _as_one(command: str, typed: Sequence[str], options: Sequence[str]) -> str:
    """The line in which several words are one count, or one event."""
    from ..diary.counts import counted
    from ..diary.event_names import known

    jar, *more = typed
    text = " ".join(more)
    if command == "event" and (event := known(text)):
        return f"an event is one word: {_line(command, jar, str(event), *options)}"
    with suppress(InputError):
        if command == "tally" and _COUNT_AND_TIME.fullmatch(text) and counted(" in ".join(more)):
            return f"how long you counted follows --over: {_over(jar, more, options)}"
    with suppress(InputError):
        if command == "tally" and counted(text):
            return f"a count of several words goes in quotes: {_line(command, jar, text, *options)}"
    return ""


def _over(jar: str, count: Sequence[str], options: Sequence[str]) -> str:
    return _line("tally", jar, count[0], "--over", count[1], *options)


def _parted(words: Sequence[str]) -> tuple[list[str], list[str]]:
    """Words that go by their position, and those from the first option on."""
    at = next((i for i, w in enumerate(words) if re.match(r"--?[a-z]", w)), len(words))
    return [*words[:at]], [*words[at:]]


def _jars(words: Sequence[str]) -> tuple[str, ...]:
    """Names of the jars on the shelf that a line names; none if it cannot be read."""
    from ..diary.folder import names
    from ..diary.places import shelf_folder

    said = [w.partition("=")[2] for w in words if w.startswith("--shelf=")]
    said += [after for word, after in pairwise(words) if word == "--shelf"]
    try:
        return names(shelf_folder(Path(said[0]) if said else None))
    except (BubbleRateError, OSError):
        return ()


def _line(*words: str) -> str:
    return " ".join(["bubblerate", *map(as_typed, words)])
