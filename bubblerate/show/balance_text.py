"""Words strength and sugar of a wine; no sums here."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ..course.balance import Sweetness, Told, sweetness

if TYPE_CHECKING:
    from ..course.balance import Balance, Middle

__all__ = ["span_text", "strength_text", "sugar_text"]

_START: Final = {
    Told.READ: "",
    Told.RECIPE: "start worked out from the recipe's sugar",
    Told.BUBBLES: "start worked out from all bubbles counted: rough",
    Told.USUAL: "start never read, assumed from the style: rough",
}
_SWEET: Final = {
    Sweetness.DRY: "dry",
    Sweetness.MEDIUM_DRY: "medium dry",
    Sweetness.SEMI_SWEET: "semi-sweet",
    Sweetness.SWEET: "sweet",
}
_DRY_BELOW_SG: Final = 0.997  # density classes of the EU methods of wine analysis


def span_text(value: Middle, digits: int = 1) -> str:
    """Write a value with its range: "11.9 (11.3 to 12.4)".

    Examples
    --------
    >>> from bubblerate.course.balance import Middle
    >>> span_text(Middle(11.31, 11.86, 12.4))
    '11.9 (11.3 to 12.4)'
    """
    return f"{value.middle:.{digits}f} ({value.low:.{digits}f} to {value.high:.{digits}f})"


def strength_text(balance: Balance) -> str:
    """Write strength with its range, and what it is based on if not a reading."""
    text = f"{span_text(balance.abv_pct)} % vol"
    told = told_text(balance)
    return f"{text}; {told}" if told else text


def sugar_text(balance: Balance) -> str:
    """Write sugar left with its range, and the word for it."""
    sugar = balance.sugar_g_per_litre
    if balance.sg.middle < _DRY_BELOW_SG:
        return f"up to {sugar.high:.0f} g/L, dry by its gravity"
    low, high = sweetness(sugar.low), sweetness(sugar.high)
    word = _SWEET[low] if low is high else f"{_SWEET[low]} to {_SWEET[high]}"
    return f"{sugar.low:.0f} to {sugar.high:.0f} g/L, {word}"


def told_text(balance: Balance) -> str:
    """Write what the balance is based on besides readings; empty if only readings."""
    parts = [_START[balance.start]] if _START[balance.start] else []
    if balance.end is Told.USUAL:
        parts.append("not read since: usual finish assumed")
    if balance.unknown:
        parts.append(f"assumed: {', '.join(balance.unknown)}")
    return "; ".join(parts)
