"""Writes litres, sulphite and pressure of a wine for people; no sums here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..course.volumes import BOTTLES_CL, FILTER_LITRES, bottles, measure
from ..text import beside, plural
from ..verdict import cautions
from .balance_text import strength_text, sugar_text
from .doses_text import put_in_texts, sulphite_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ..course.figures import Figures
    from ..course.volumes import Volumes

__all__ = ["figures_text"]


def figures_text(figures: Figures, *, done: bool, width: int) -> list[str]:
    """Write pressure, litres and sulphite; each if there is something to say.

    Parameters
    ----------
    figures : Figures
    done : bool
        Whether it has finished fermenting; sulphite is not mentioned before.
    width : int
        Characters a line may hold.

    Returns
    -------
    list of str
    """
    told = [
        *_strength(figures),
        *_pressure(figures),
        *_litres(figures),
        *(_sulphite(figures) if done else ()),
    ]
    return [line for label, text in told for line in beside(label, text, width=width)]


def _strength(figures: Figures) -> Iterator[tuple[str, str]]:
    holds = figures.balance
    if holds is None:
        yield "strength", "Not known: no gravity or bubbles have been noted."
        return
    yield "strength", f"{strength_text(holds)}. An estimate."
    yield "sugar", f"{sugar_text(holds)}."


def _pressure(figures: Figures) -> Iterator[tuple[str, str]]:
    p = figures.pressure
    if p is None:
        yield "pressure", "Not known without a gravity reading."
        return
    whose = "from the readings" if p.abv_known else "assumed"
    yield (
        "pressure",
        f"If {p.points:.0f} points (allowing for reading error) fermented in a closed bottle: "
        f"about {p.cellar_bar:.1f} bar above the air at 20 C, {p.warm_bar:.1f} at 30 C, for wine "
        f"full of gas at {p.abv_pct:.0f} % vol ({whose}). Bottles for still wine are not made for "
        "pressure.",
    )


def _litres(figures: Figures) -> Iterator[tuple[str, str]]:
    v = figures.volumes
    if v is None:
        yield "litres", "Not known: note them with an event (--litres 4.5) or with about."
        return
    text = f"{measure(v.litres)}."
    if v.lost:
        text += " Lost so far: " + ", ".join(
            f"{loss.litres:.2f} L when {loss.event}" for loss in v.lost
        )
        text += "."
    yield "litres", text
    own = "as you set it" if figures.stands.full_said else "the most noted so far"
    yield "top up", _top_up(v, own)
    yield "losses", _to_lose(v)
    for_bottles = ", or ".join(
        f"{_counted(bottles(v.in_bottle[0], size), bottles(v.in_bottle[1], size))} of {size} cl"
        for size in BOTTLES_CL
    )
    yield "bottles", f"{for_bottles}, if not topped up."


def _top_up(v: Volumes, own: str) -> str:
    lacking = measure(v.top_up_litres) if v.top_up_litres > 0.0 else "Nothing"
    return (
        f"{lacking} to be full ({own}), {v.headspace_cm:.0f} cm under the bung [common practice]. "
        "Use a similar wine: anything sweet starts it again."
    )


def _to_lose(v: Volumes) -> str:
    takers = [plural(v.rackings, "racking")] if v.rackings else []
    takers.append(plural(v.samples, "sample"))
    low, high = FILTER_LITRES
    lees = (
        ("About 2 cm of lees stay behind at the first racking [common practice]. ")
        if v.first
        else ""
    )
    return (
        f"{_range(v.to_lose)} L for {' and '.join(takers)} [from memory]; filtering takes {low} "
        f"to {high} L more. {lees}Keep {plural(v.spare_bottles, 'bottle')} of a similar wine as a "
        "spare for topping up."
    )


def _sulphite(figures: Figures) -> Iterator[tuple[str, str]]:
    text = sulphite_text(figures.sulphite, ph=figures.ph, litres=figures.stands.litres)
    yield from (("added", told) for told in put_in_texts(figures.balance))
    yield "sulphite", text
    yield "", f"! {cautions.SULPHITE}"


def _range(pair: tuple[float, float]) -> str:
    return f"{pair[0]:.1f} to {pair[1]:.1f}"


def _counted(low: int, high: int) -> str:
    return f"{low}" if low == high else f"{low} to {high}"
