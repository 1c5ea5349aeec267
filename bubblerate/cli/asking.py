"""Options of the commands that answer, draw, and work on many jars."""

from __future__ import annotations

from typing import Annotated

import typer

from ..diary import units
from ..errors import InputError

__all__ = ["Below", "Scheduler", "Width", "Workers", "known_threshold"]

Below = Annotated[
    str | None,
    typer.Option(
        help="Bubbles a minute below which it is quiet (default: bubblerate.toml, or 1).",
        show_default=False,
    ),
]
Width = Annotated[
    float,
    typer.Option(help="Width of the picture in cm: 9 for a phone, 16 for A4.", min=6, max=60),
]
Workers = Annotated[
    int | None,
    typer.Option(
        help="Processes to use on this machine (default: all cores when there are many jars).",
        show_default=False,
    ),
]
Scheduler = Annotated[
    str,
    typer.Option(
        help="Use your own Dask scheduler, such as tcp://cellar:8786. It runs code for anyone who "
        "can reach it.",
        show_default=False,
    ),
]


def known_threshold(text: str | None) -> float | None:
    """Understand the rate [bubbles/min] below which a jar counts as quiet, if one is given.

    Raises
    ------
    InputError
        If it is not a number from 0.001 to 1000.
    """
    if text is None:
        return None
    per_min = units.number(text, "--below")
    if not 0.001 <= per_min <= 1000.0:
        raise InputError(f"--below is {text}; write bubbles a minute, 0.001 to 1000, such as 1")
    return per_min
