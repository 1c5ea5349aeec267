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
_LONG_HYPHEN = re.compile("-?[\N{EN DASH}\N{EM DASH}][-\N{EN DASH}\N{EM DASH}]*[a-z][^ ]*")
_COUNT_AND_TIME = re.compile(r"\S+ \d\S*[a-z]\S*")
_BELOW_ZERO = re.compile(r"-[.,]?\d")
_WITHOUT_SIGN = re.compile(r"-(0?[.,]9|1[.,][01]|1[01]\d\d|9\d\d)")  # a gravity after a hyphen


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

    first, rest = words[0], words[1:]
    said = f"there is no command {quoted(first)}"
    joined = "-".join(words[:2]).lower()
    if joined in commands and not _as_event(words, 2):
        return f"{said}; did you mean: {_line(joined, *words[2:])}"
    if event := _as_event(words, 2) or _as_event(words, 1):
        return f"{said}; write it as an event: {event}"
    if first in _jars(words):
        return (
            f"{quoted(first)} is a jar; say what you want to do with it, such as: "
            f"{_line('verdict', first)}"
        )
    if near := get_close_matches(first.lower(), [*commands, *ALSO], 1):
        return f"{said}; did you mean: {_line(ALSO.get(near[0], near[0]), *rest)}"
    return f"{said}; bubblerate --help lists them"


def _as_event(words: Sequence[str], upto: int) -> str:
    """The line that writes down the event named by the first words; empty if they name none."""
    from ..diary.event_names import known

    event = known(" ".join(words[:upto]))
    if event is None or "--from" in words:  # another jar: no event has that option
        return ""
    jar, more = (words[upto : upto + 1] or ["NAME"])[0], words[upto + 1 :]
    return _line("event", jar, str(event), *more)


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
            line = _mended(words[0], name, *typed[upto:], *options)
            return f"a name of several words goes in quotes: {line}"
    bare = typed[0].removesuffix(".csv") if typed else ""
    if bare in known and bare != typed[0] and not Path(typed[0]).exists():
        return f"leave .csv out: {_mended(words[0], bare, *typed[1:], *options)}"
    if words[0] not in _TAKES_MORE:
        return ""
    place = next((i for i, word in enumerate(typed) if word in known), 0)
    if not place or typed[0] in known or typed[0].lower().endswith(".csv"):
        return ""
    others = [*typed[:place], *typed[place + 1 :]]
    return f"the jar comes first: {_mended(words[0], typed[place], *others, *options)}"


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
    hyphened = _hyphened(words)
    if hyphened != [*words]:
        return f"the name of an option has two plain hyphens before it: {_mended(*hyphened)}"
    below = next((word for word in typed[1:] if _BELOW_ZERO.match(word)), None)
    if below is not None:
        return f"{quoted(below)} is below 0: {_not_below(words[0], typed[0], below, options)}"
    why, line = _as_one(words[0], typed, options)
    return f"{why}: {_line(*line)}" if why else ""


def _mended(*words: str) -> str:
    """The line in which names of options have their hyphens, and a count or event is one word."""
    words = tuple(_hyphened(words))
    return _line(*_as_one(words[0], *_parted(words[1:]))[1])


def _hyphened(words: Sequence[str]) -> list[str]:
    """The words, each name of an option with two plain hyphens before it."""
    return [
        f"--{word.lstrip(_HYPHENS)}"
        if n and (_ONE_HYPHEN.fullmatch(word) or _LONG_HYPHEN.fullmatch(word))
        else word
        for n, word in enumerate(words)
    ]


def _not_below(command: str, jar: str, word: str, options: Sequence[str]) -> str:
    if command == "tally":
        return "a count is 0 or more; write 12, or none if there were no bubbles"
    if command == "strike":
        return f"a line has a number from 2 on; {_line('diary', jar, *options)} shows them"
    if command == "gravity" and _WITHOUT_SIGN.match(word) and "--oechsle" not in options:
        return f"leave out the sign: {_line(command, jar, word[1:], *options)}"
    if command == "gravity":
        rest = [option for option in options if option != "--oechsle"]
        return f"for points below water write {_line(command, jar, '--oechsle', word, *rest)}"
    return "write a number of 0 or more"


def _as_one(command: str, typed: Sequence[str], options: Sequence[str]) -> tuple[str, list[str]]:
    """What is wrong with several words that are one count or event, and the line that would do.

    Nothing and the words as they are where they are no such thing.
    """
    from ..diary.counts import counted
    from ..diary.event_names import known

    jar, *more = typed or [""]
    text, words = " ".join(more), [command, *typed, *options]
    if len(more) < 2:
        return "", words
    if command == "event" and (event := known(text)):
        return "an event is one word", [command, jar, str(event), *options]
    with suppress(InputError):
        if command == "tally" and _COUNT_AND_TIME.fullmatch(text) and counted(" in ".join(more)):
            over = [command, jar, more[0], "--over", more[1], *options]
            return "how long you counted follows --over", over
    with suppress(InputError):
        if command == "tally" and counted(text):
            return "a count of several words goes in quotes", [command, jar, text, *options]
    return "", words


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
