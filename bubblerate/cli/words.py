"""The command words: what the words of the trade mean."""

from __future__ import annotations

from difflib import get_close_matches
from typing import Annotated

import typer

from ..diary.event_names import known
from ..errors import InputError
from ..show.glossary import WORDS, find
from ..text import beside, quoted
from .common import terminal_width

__all__ = ["words"]

_COLUMN = 16


def words(
    word: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[WORD]", help="Explain this one (default: all).", show_default=False
        ),
    ] = None,
) -> None:
    """Explain words of the trade: airlock, lees, racking, ...

    Examples: bubblerate words; bubblerate words SG

    Raises
    ------
    BubbleRateError
        If the word is not among them.
    """
    said = " ".join(word or [])
    told = [(one.name, one.text) for one in WORDS] if not said else [_meaning(said)]
    width = terminal_width()
    typer.echo("\n".join(x for pair in told for x in beside(*pair, width=width, column=_COLUMN)))


def _meaning(said: str) -> tuple[str, str]:
    """A word and what it means: an entry, or else an event of a diary."""
    if found := find(said):
        return found.name, found.text
    if event := known(said):
        return str(event), f"{event.meaning[0].upper()}{event.meaning[1:]}."
    every = [name for one in WORDS for name in (one.name.lower(), *one.also)]
    near = get_close_matches(said.lower(), every, n=1)
    hint = f"did you mean {near[0]}?" if near else "bubblerate words lists those it explains"
    raise InputError(f"no entry for {quoted(said)}; {hint}")
