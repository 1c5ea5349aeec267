"""Makes every formula refuse values outside the range in which it is valid."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, TypeVar

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["SG_HIGH", "SG_LOW", "refuse_outside"]

# A float, or an array, element by element. Quoted, since a float alone needs no numpy.
Value = TypeVar("Value", float, "NDArray[np.float64]")

# Common practice, no source.
SG_LOW: Final = 0.7  # lower than any wine: spirits
SG_HIGH: Final = 1.3  # and higher than any must: syrup


def refuse_outside(
    quantity: str,
    value: Value,
    low: float | NDArray[np.float64],
    high: float | NDArray[np.float64],
    unit: str = "",
) -> None:
    """Refuse values outside the range of a formula; nan is outside.

    Parameters
    ----------
    quantity : str
        What it is, for the message.
    value : float or ndarray, shape (n,)
    low, high : float or ndarray, shape (n,)
        Ends of the range, themselves inside.
    unit : str
        Unit of all three, as it follows a number, with its space.

    Raises
    ------
    ValueError
        Names the first value outside.

    Examples
    --------
    >>> refuse_outside("temperature", 41.0, 0.0, 40.0, " C")
    Traceback (most recent call last):
    ...
    ValueError: temperature 41 is outside 0 to 40 C
    """
    if all(isinstance(x, float | int) for x in (value, low, high)) and low <= value <= high:
        return  # a plain number, so that typed values load no numpy
    import numpy as np

    inside = (np.asarray(value) >= low) & (np.asarray(value) <= high)
    if not np.all(inside):
        found, least, most = (
            np.broadcast_to(x, inside.shape)[~inside][0] for x in (value, low, high)
        )
        raise ValueError(f"{quantity} {found:g} is outside {least:.4g} to {most:.4g}{unit}")
