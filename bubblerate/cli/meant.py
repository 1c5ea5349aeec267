"""What was meant by words that are not commands, or are in the wrong order.

Another word for a command is taken as that command. Whatever else is answered with the line that
would do: nothing is written on a guess.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from itertools import pairwise
from pathlib import Path

from ..errors import BubbleRateError, InputError
from ..text import as_typed, quoted

__all__ = ["ALSO", "command_meant", "in_order"]

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
_TAKES_MORE = {"tally", "gravity", "event", "strike"}  # whose words go on behind the jar


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
    """The corrected line where the jar does not follow the command, as in "tally 12 fig".

    Parameters
    ----------
    words : sequence of str
        Of a command line that was refused, its command first.

    Returns
    -------
    str
        Empty where the order is not what is wrong.
    """
    if words[0] not in _TAKES_MORE:
        return ""
    known = _jars(words)
    typed, options = _parted(words[1:])
    place = next((i for i, word in enumerate(typed) if word in known), 0)
    if not place or typed[0] in known or typed[0].lower().endswith(".csv"):
        return ""
    others = [*typed[:place], *typed[place + 1 :]]
    return f"the jar comes first: {_line(words[0], typed[place], *others, *options)}"


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
