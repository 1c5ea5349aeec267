"""Checks that a forecast uses up the sugar there is; if some is left, its date is too early.

The curve of the bubbles ends at a gravity of its own. If that is above the range in which this wine
should end, with 80 % chance, the curve stops before the sugar is gone. If it is below, the curve
uses more sugar than there is. Gravities are SG, falls points.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Final

from ..physics.scales import fall_points

if TYPE_CHECKING:
    from ..ferment.forecast import Forecast

__all__ = ["Budget", "budget"]

STEM_POINTS: Final = 1.0  # a stem may be this far off: tried on two of them


class Budget(StrEnum):
    """What a forecast does with the sugar that gravity shows."""

    CLOSED = "closed"
    SHORT = "short"  # some is left: no date, but "not before"
    OVER = "over"  # it uses more than there is: no date


def budget(told: Forecast | None, *, end_sg: tuple[float, float], start_sg: float | None) -> Budget:
    """Compare a forecast with the gravity.

    Parameters
    ----------
    told : Forecast or None
    end_sg : tuple of float
        Range in which it should end, with 80 % chance [SG].
    start_sg : float or None
        Gravity at the start, if it was read [SG].

    Returns
    -------
    Budget
        Closed too if nothing can be compared.
    """
    if told is None:
        return Budget.CLOSED
    low_end, high_end = end_sg
    if told.finish_sg is not None:
        if fall_points(told.finish_sg.low80, high_end) > STEM_POINTS:
            return Budget.SHORT
        if fall_points(low_end, told.finish_sg.high80) > STEM_POINTS:
            return Budget.OVER
        return Budget.CLOSED
    left = told.points_to_fall
    if left is None or start_sg is None:
        return Budget.CLOSED
    more = left.low80 > fall_points(start_sg, low_end) + STEM_POINTS
    return Budget.OVER if more else Budget.CLOSED
