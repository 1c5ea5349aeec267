"""Checks whether a dose fits the wine: grams mistaken for tablets, or too little sorbate.

Used only if a row has a dose; the sums are loaded then and not before.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..physics.constants import SO2_SHARE_OF_POWDER, SORBIC_SHARE_OF_SORBATE
from ..text import plain

if TYPE_CHECKING:
    from collections.abc import Sequence

    from .visit import Visit

__all__ = ["odd_dose"]


def odd_dose(before: Sequence[Visit], visit: Visit) -> str | None:
    """Give the question that a dose raises.

    Parameters
    ----------
    before : sequence of Visit
        Live rows up to it, oldest first.
    visit : Visit
        The row that may have a dose.

    Returns
    -------
    str or None
        None if nothing looks odd, or nobody noted how much wine there is.
    """
    if visit.sulphite_g is None and visit.sorbate_g is None:
        return None
    litres = visit.litres or next((v.litres for v in reversed(before) if v.litres), None)
    if litres is None:
        return None
    return _sulphite(visit.sulphite_g, litres) or _sorbate(visit.sorbate_g, litres)


def _sulphite(grams: float | None, litres: float) -> str | None:
    from ..physics.sulphite import SO2_MOST_MG_PER_LITRE

    so2 = 1000.0 * SO2_SHARE_OF_POWDER * (grams or 0.0) / litres
    if so2 <= SO2_MOST_MG_PER_LITRE:
        return None
    return (
        f"That is {so2:.0f} mg/L of SO2 in {plain(litres)} L, and {SO2_MOST_MG_PER_LITRE:.0f} is "
        "the most in all [EU 1333/2008, from memory]: grams, or tablets?"
    )


def _sorbate(grams: float | None, litres: float) -> str | None:
    from ..physics.doses import SORBIC_MG_PER_LITRE

    if grams is None:
        return None
    sorbic = 1000.0 * SORBIC_SHARE_OF_SORBATE * grams / litres
    few, many = SORBIC_MG_PER_LITRE
    told = f"That is {sorbic:.0f} mg/L of sorbic acid in {plain(litres)} L"
    if sorbic < few:
        return f"{told}: too little to hold yeast back, which takes {few:.0f} to {many:.0f}."
    return f"{told}, above the {many:.0f} that are allowed." if sorbic > many + 0.5 else None
