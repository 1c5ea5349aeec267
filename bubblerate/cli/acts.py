"""The command event: what was done or seen. Each option makes it another event, or fills a column.

Nothing heavy is loaded before the row is down.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Annotated, Any, Final, Literal

import typer

from ..diary import units
from ..diary.event_names import named
from ..diary.events import EVENTS, Event
from ..diary.typed import extras_of, typed_litres, typed_temp, writable
from ..diary.visit import Visit
from ..errors import BubbleRateError, InputError
from .common import Folder, Litres, Note, Temp, Vessel, When, clock_of
from .rows import Entry, entry, write_down
from .terminal import is_terminal

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["event"]

# (event, option, its value) -> the event that is written down
_WORDS: Final[Mapping[tuple[Event, str, object], Event]] = {
    (Event.TOPPED_UP, "with", "wine"): Event.TOPPED_UP,
    (Event.TOPPED_UP, "with", "juice"): Event.FED,
    (Event.TOPPED_UP, "with", "water"): Event.DILUTED,
    (Event.FED, "with", "juice"): Event.FED,
    (Event.FED, "with", "starter"): Event.STARTER,
    (Event.MOVED, "to", "cold"): Event.CHILLED,
    (Event.MOVED, "to", "warm"): Event.WARMED,
    (Event.AIRLOCK, "tight", True): Event.BUNG_TIGHT,
    (Event.AIRLOCK, "leaked", True): Event.BUNG_LEAKED,
    (Event.FINED, "two-part", True): Event.FINED_TWO_PART,
    (Event.BOTTLED, "sparkling", True): Event.BOTTLED_SPARKLING,
    (Event.OPENED, "all", True): Event.POURED_BACK,
}


def event_of(said: Event, options: Mapping[str, object]) -> Event:
    """The event to write down: the one typed, or what an option turns it into.

    Parameters
    ----------
    said : Event
    options : mapping of str to object
        Value of each option by its name; None or False where it was not given.

    Returns
    -------
    Event

    Raises
    ------
    InputError
        If an option does not go with the event.

    Examples
    --------
    >>> event_of(Event.MOVED, {"to": "cold"}).value
    'chilled'
    """
    found = said
    for option, value in options.items():
        if value is None or value is False:
            continue
        if (said, option, value) not in _WORDS:
            known = [
                f"{e} --{o}{'' if v is True else f' {v}'}" for e, o, v in _WORDS if o == option
            ]
            raise InputError(f"--{option} does not go with {said}; write {' or '.join(known)}")
        found = _WORDS[said, option, value]
    return found


def event(
    ctx: typer.Context,
    vessel: Vessel,
    what: Annotated[str, typer.Argument(help=f"One of {', '.join(EVENTS)}.", show_default=False)],
    with_: Annotated[
        Literal["wine", "juice", "water", "starter"] | None,
        typer.Option("--with", help="What you topped it up or fed it with.", show_default=False),
    ] = None,
    added: Annotated[
        str | None, typer.Option(help="How much you added: 0.3, 300ml.", show_default=False)
    ] = None,
    sugar: Annotated[
        str | None, typer.Option(help="Sugar you added: 50g.", show_default=False)
    ] = None,
    sulphite: Annotated[
        str | None,
        typer.Option(help='Sulphite you added: 0.44g, "1 tablet".', show_default=False),
    ] = None,
    sorbate: Annotated[
        str | None, typer.Option(help="Sorbate you added: 1g.", show_default=False)
    ] = None,
    finings: Annotated[
        str | None,
        typer.Option(help="Finings you added, per part: 2.5ml.", show_default=False),
    ] = None,
    to: Annotated[
        Literal["cold", "warm"] | None,
        typer.Option(help="Where you moved it.", show_default=False),
    ] = None,
    tight: Annotated[bool, typer.Option("--tight", help="The airlock held.")] = False,
    leaked: Annotated[bool, typer.Option("--leaked", help="It leaked, and is now tight.")] = False,
    two_part: Annotated[bool, typer.Option("--two-part", help="Two-part finings.")] = False,
    bottles: Annotated[
        str | None, typer.Option(help="Bottles filled: 6x75cl.", show_default=False)
    ] = None,
    size: Annotated[
        str | None,
        typer.Option(help="Size of the bottle opened, if there are two sizes.", show_default=False),
    ] = None,
    closure: Annotated[
        str | None, typer.Option(help="cork, tapered, cap or crown.", show_default=False)
    ] = None,
    sparkling: Annotated[
        bool, typer.Option("--sparkling", help=("Bottled to be sparkling."))
    ] = False,
    every: Annotated[
        bool, typer.Option("--all", help=("All bottles opened and poured back."))
    ] = False,
    litres: Litres = None,
    temp: Temp = None,
    when: When = None,
    note: Note = "",
    shelf: Folder = None,
) -> None:
    """Write down what you did to a jar, or what you saw.

    Examples: bubblerate event quince racked --litres 4.3; bubblerate event quince moved --to cold

    Raises
    ------
    BubbleRateError
        If there is no such diary, a word cannot be understood, or the row cannot be written.
    """
    said = {"with": with_, "to": to, "tight": tight, "leaked": leaked, "two-part": two_part}
    word = event_of(named(what), {**said, "sparkling": sparkling, "all": every})
    typed = {
        "added_l": added,
        "sugar_g": sugar,
        "bottles": bottles,
        "closure": closure,
        "sulphite_g": sulphite,
        "sorbate_g": sorbate,
        "finings_amount": finings,
        "size": size,
    }
    extras = extras_of(word, typed)
    place = entry(vessel, shelf, when, now=clock_of(ctx)())
    if word is Event.OPENED and not extras and is_terminal():
        extras = _asked_size(place)
    if word is Event.TOPPED_UP and added is None and litres is None and is_terminal():
        extras |= _asked_added()
    with writable():
        visit = Visit(
            when=place.moment.when,
            event=word,
            litres=typed_litres(litres),
            temp_c=typed_temp(temp),
            note=note,
            **extras,
        )
    written = write_down(place, visit)
    warned = any(doubt.code == "bottled" for doubt in written.doubts)
    if word.base is Event.BOTTLED:
        _say_bottled(place, warned=warned)
    elif word is Event.GUSHED:
        _say_gushed(place)
    elif word is Event.OPENED:
        _say_opened(place)


def _asked_size(place: Entry) -> dict[str, Any]:
    """Which bottle size was opened; nothing if there is only one, or no answer."""
    from ..diary.stock import stock

    try:
        left = stock(place.shelf.open(place.name).diary.until(place.moment.when).batch)
    except BubbleRateError:  # a fault above, which is reported once the row is down
        return {}
    sizes = () if left is None else left.to_ask
    while sizes:
        typer.echo(f"Which size was it, in cl? [{'/'.join(sizes)}] ", nl=False)
        line = sys.stdin.readline(100)
        if not line:
            typer.echo()
            return {}
        typed = line.strip().lower().removesuffix("cl").strip().replace(",", ".")
        if typed in sizes:
            return {"bottles": f"1x{typed}"}
    return {}


def _asked_added() -> dict[str, Any]:
    """How much a jar was topped up by; nothing if there is no answer."""
    typer.echo("How much did you add, in litres? [enter: not known] ", nl=False)
    line = sys.stdin.readline(100)
    if not line:
        typer.echo()
    return {"added_l": units.added_l(line.strip())} if line.strip() else {}


def _say_bottled(place: Entry, *, warned: bool) -> None:
    """Say when to look at the bottles and when to drink them, or that they may burst."""
    from ..course.judgement import judge
    from ..show.bottled_text import bottled_lines
    from ..verdict.reasons import Kind

    found = place.shelf.open(place.name)
    at = max(place.now, place.moment.when)
    judged = judge(found.diary, at=at, settings=found.settings)
    step = judged.verdict.next
    if step.kind is not Kind.RESCUE:
        for line in () if judged.course is None or warned else bottled_lines(judged.course):
            typer.echo(f"  {line}")
    elif not warned:
        typer.echo("  These bottles will burst if it still ferments in them.", err=True)
        typer.echo(f"  {step.do} {step.care}", err=True)


def _say_gushed(place: Entry) -> None:
    """Say what to do at once with the other bottles, and which jars hold the same wine."""
    from ..text import printable
    from ..verdict.cautions import GUSHED  # not needed to write the row

    typer.echo(f"  {GUSHED}", err=True)
    rows = place.shelf.open(place.name).diary.batch
    for jar in dict.fromkeys(row.other for row in rows if row.event is Event.SPLIT and row.other):
        typer.echo(
            f"  {printable(jar)} holds the same wine: do not bottle it, and chill any bottles "
            "of it, until it has been read again.",
            err=True,
        )


def _say_opened(place: Entry) -> None:
    """Say how many bottles are left."""
    from ..diary.stock import stock
    from ..show.bottled_text import stock_text
    from ..text import plural

    left = stock(place.shelf.open(place.name).diary.until(place.moment.when).batch)
    if left is not None:
        sizes = "" if len(left.sizes) < 2 or not left.left else f": {stock_text(left)}"
        number = plural(left.left, "bottle") if left.left else "No bottle"
        typer.echo(f"  {number} left{sizes}.")
