"""One refusal for every formula: outside the range in which it holds, none of them answers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, TypeVar

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["SG_HIGH", "SG_LOW", "refuse_outside"]

# A float, or an array that is worked on element by element. Quoted: a float alone needs no numpy.
Value = TypeVar("Value", float, "NDArray[np.float64]")

# Common practice, no source.
SG_LOW: Final = 0.7  # spirits would read lower than any wine
SG_HIGH: Final = 1.3  # and syrup higher than any must


def refuse_outside(
    quantity: str,
    value: Value,
    low: float | NDArray[np.float64],
    high: float | NDArray[np.float64],
    unit: str = "",
) -> None:
    """Refuse what lies outside the range of a formula; nan is outside.

    Parameters
    ----------
    quantity : str
        What it is, for the message.
    value : float or ndarray, shape (n,)
    low, high : float or ndarray, shape (n,)
        Ends of the range, themselves inside.
    unit : str
        Of all three, as it should follow the numbers, with its space.

    Raises
    ------
    ValueError
        Naming the first value outside.

    Examples
    --------
    >>> refuse_outside("temperature", 41.0, 0.0, 40.0, " C")
    Traceback (most recent call last):
    ...
    ValueError: temperature 41 is outside 0 to 40 C
    """
    if all(isinstance(x, float | int) for x in (value, low, high)) and low <= value <= high:
        return  # a number alone: what is typed in loads no numpy
    import numpy as np

    inside = (np.asarray(value) >= low) & (np.asarray(value) <= high)
    if not np.all(inside):
        found, least, most = (
            np.broadcast_to(x, inside.shape)[~inside][0] for x in (value, low, high)
        )
        raise ValueError(f"{quantity} {found:g} is outside {least:.4g} to {most:.4g}{unit}")
