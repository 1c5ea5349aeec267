"""The command dose: what to add to a wine. Heavy libraries are loaded inside."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from ..diary import units
from ..diary.lookalikes import tidied
from ..errors import InputError
from .common import At, Folder, Litres, Vessel, asked_moment, clock_of, opened, terminal_width

if TYPE_CHECKING:
    from ..course.balance import Sweetness

__all__ = ["dose"]

What = Literal["sulphite", "stabilise", "sweeten", "sparkle", "finings"]
Bottle = Literal["still", "beer"]


def dose(
    ctx: typer.Context,
    vessel: Vessel,
    what: Annotated[
        What,
        typer.Argument(
            help="sulphite, stabilise (with sorbate), sweeten, sparkle, finings.",
            show_default=False,
        ),
    ],
    to: Annotated[
        str | None,
        typer.Option(
            help='How sweet you want it: a gravity, "medium dry", semi-sweet or sweet.',
            show_default=False,
        ),
    ] = None,
    bar: Annotated[
        str | None, typer.Option(help="Pressure you want at 20 C: 2.", show_default=False)
    ] = None,
    bottle: Annotated[
        Bottle,
        typer.Option(help="Bottles it goes into: made for still wine, or for beer."),
    ] = "still",
    litres: Litres = None,
    ph: Annotated[
        str | None,
        typer.Option(help=("Its measured pH (default: as set with about)."), show_default=False),
    ] = None,
    free: Annotated[
        str | None,
        typer.Option(help="Free SO2 measured in it [mg/L]: 15.", show_default=False),
    ] = None,
    at: At = None,
    shelf: Folder = None,
) -> None:
    """Work out how much sulphite, sugar or finings to add.

    It gives a range in grams and tablets, with its sources.

    Examples: bubblerate dose plum stabilise; bubblerate dose mead sweeten --to 1.010

    Raises
    ------
    BubbleRateError
        If something needed is not known, or what is asked would do harm.
    """
    from ..course.figures import figures
    from ..course.judgement import judge
    from ..diary.kin import kin
    from ..show import doses_text

    found = opened(vessel, shelf)
    asked_at = asked_moment(at, found, now=clock_of(ctx)())
    judged = judge(found.diary, at=asked_at, settings=found.settings)
    shown = figures(judged, settings=found.settings, of=kin(found.diary.path.parent))
    volume = shown.stands.litres if litres is None else units.litres(litres)
    acid = shown.ph if ph is None else units.number(ph, "--ph")
    width, path = terminal_width(), found.diary.path
    if what in ("sulphite", "stabilise"):
        from ..course.doses import stabilise

        sorbate = what == "stabilise"
        dosed = stabilise(
            judged,
            shown.balance,
            litres=volume,
            ph=acid,
            free_mg_per_litre=_free(free),
            sorbate=sorbate,
        )
        lines = doses_text.stabilise_lines(
            dosed, shown.balance, path=path, ph=acid, litres=volume, sorbate=sorbate, width=width
        )
    elif what == "sweeten":
        from ..course.doses import sweeten

        sugar = sweeten(judged, shown.balance, litres=volume, to=_sweetness(to))
        lines = doses_text.sweeten_lines(sugar, path=path, width=width)
    elif what == "sparkle":
        from ..course.sparkling import prime

        primed = prime(judged, shown.balance, litres=volume, over_bar=_bar(bar, bottle))
        lines = doses_text.sparkle_lines(primed, path=path, width=width)
    else:
        lines = doses_text.finings_lines(volume, path=path, width=width)
    typer.echo("\n".join([f"{found.diary.vessel}: {what}", *lines]))


def _sweetness(text: str | None) -> float | Sweetness:
    """A gravity, or a word for an amount of sugar."""
    from ..course.balance import Sweetness

    if text is None:
        raise InputError('say how sweet: --to 1.010, "medium dry", semi-sweet or sweet')
    words = {word.value.replace(" ", "-"): word for word in Sweetness}
    word = words.get(tidied(text).replace(" ", "-"))
    if word is Sweetness.DRY:
        raise InputError("a dry wine needs no sugar; give --to a gravity or a sweeter word")
    return units.sg(text) if word is None else word


def _free(text: str | None) -> float | None:
    """Free SO2 as measured [mg/L]; None if it was not."""
    if text is None:
        return None
    value = units.number(text.lower().replace("mg/l", "").strip(), "--free")
    if not 0.0 <= value <= 200.0:
        raise InputError(f"--free is {text!r}; write mg/L from 0 to 200, such as 15")
    return value


def _bar(text: str | None, bottle: Bottle) -> float:
    if bottle == "still":
        raise InputError(
            "bottles for still wine are not made for pressure and burst; bottle it still, or add "
            "--bottle beer for beer bottles with crown caps"
        )
    if text is None:
        raise InputError("say how much pressure you want: --bar 2")
    return units.number(text.lower().removesuffix("bar").strip(), "--bar")
