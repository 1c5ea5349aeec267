"""The command that serves a page to the maker's own phone. Its libraries are loaded inside."""

from __future__ import annotations

import os
import sys
from typing import Annotated

import typer

from ..diary.places import shelf_folder
from ..errors import InputError
from .common import Folder, clock_of, lacking
from .terminal import is_terminal

__all__ = ["phone"]

_PORT = 8530  # any would do: of no known service (from memory)
_TOLD = """\
Scan it with a phone on the same network. Anyone with this address can read your diaries and write
in them. --new-key makes a new one and shuts out all phones known so far. It is plain http: others
on the same network could read what is sent. Press ctrl-c to end it."""


def phone(
    ctx: typer.Context,
    only_here: Annotated[
        bool, typer.Option("--only-here", help="Show it on this computer only, not on the network.")
    ] = False,
    port: Annotated[int, typer.Option(help="Port to use.", min=0, max=65_535)] = _PORT,
    address: Annotated[
        str | None,
        typer.Option(help="Address of this computer, if it has several.", show_default=False),
    ] = None,
    new_key: Annotated[
        bool, typer.Option("--new-key", help="Make a new key; phones must scan again.")
    ] = False,
    shelf: Folder = None,
) -> None:
    """Show the shelf as a page on your phone, until ctrl-c.

    The phone must be on the home network. It prints the address and a code to scan. Nothing is sent
    anywhere else.

    Examples: bubblerate phone; bubblerate phone --only-here --port 8531

    Raises
    ------
    BubbleRateError
        If a library is missing, or the address cannot be used.
    """
    folder = shelf_folder(shelf)
    try:
        from ..page.door import door_key
        from ..page.network import HERE, home_addresses
        from ..page.running import told_while_running
        from ..page.serving import code_text, served
    except ModuleNotFoundError as err:
        raise lacking(err) from None
    chosen = HERE if only_here else address or _chosen(home_addresses())
    key = door_key(folder, new=new_key)
    door, server = served(folder, key=key, address=chosen, port=port, clock=clock_of(ctx))
    print(door.entrance, flush=True)
    colours = sys.stdout.isatty() and os.environ.get("TERM") != "dumb"
    code = code_text(door.entrance, colours=colours)
    if _can_print(code):
        print(f"\n{code}\n")
    print(_TOLD, flush=True)
    with told_while_running(folder, door.address):
        server.run()
    typer.echo("\nThe page is closed.")


def _chosen(known: tuple[str, ...]) -> str:
    """Address to serve at: the only one there is, or the one the maker chooses."""
    if not known:
        raise InputError("this computer is not on a home network; join one, or use --only-here")
    listed = ", ".join(known)
    if len(known) == 1:
        return known[0]
    if not is_terminal():
        raise InputError(f"this computer is on several networks: choose --address {listed}")
    for number, one in enumerate(known, start=1):
        typer.echo(f"  {number}  {one}", err=True)
    typer.echo("On which network is the phone? ", err=True, nl=False)
    answer = sys.stdin.readline().strip()
    if answer in known:
        return answer
    if answer.isascii() and answer.isdigit() and 0 < int(answer[:4]) <= len(known):
        return known[int(answer) - 1]
    raise InputError(f"{answer[:20]!r} is not one of these; write a number, 1 to {len(known)}")


def _can_print(text: str) -> bool:
    """Whether the terminal can show these characters."""
    try:
        text.encode(sys.stdout.encoding or "ascii")
    except UnicodeEncodeError:
        return False
    return True
