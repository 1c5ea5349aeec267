"""What a column of numbers may hold, and how a person who wrote something else is read."""

import math
from collections.abc import Callable
from typing import NamedTuple

from . import units
from .counts import whole

__all__ = ["Number", "any_number", "whole_count"]


class Number(NamedTuple):
    """What a column of numbers may hold, and how to read a person who wrote something else."""

    low: float
    high: float
    wanted: str
    typed: Callable[[str], float]
    digits: int = 3

    def holds(self, value: float) -> bool:
        """Whether a value lies within the limits, nan being outside of all."""
        return math.isfinite(value) and self.low <= value <= self.high


def whole_count(text: str) -> float:
    """Count of a cell."""
    return whole(text.removesuffix(".0"))  # "8.0" is how tables with gaps are often saved


def any_number(text: str) -> float:
    """Number that has no unit of its own."""
    return units.number(text, "it")
