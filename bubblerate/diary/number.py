"""The limits of each column of numbers, and how to read what people write there."""

import math
from collections.abc import Callable
from typing import NamedTuple

from . import dosed, units
from .counts import whole

__all__ = ["NUMBERS", "Number", "any_number"]


class Number(NamedTuple):
    """The limits of one column of numbers, and how to read what people write there."""

    low: float
    high: float
    wanted: str
    typed: Callable[[str], float]
    digits: int = 3

    def holds(self, value: float) -> bool:
        """Whether a value is within the limits; nan never is."""
        return math.isfinite(value) and self.low <= value <= self.high


def _whole_count(text: str) -> float:
    """Read a whole count."""
    return whole(text.removesuffix(".0"))  # tables with gaps are often saved with "8.0"


def any_number(text: str) -> float:
    """Read a number without a unit."""
    return units.number(text, "it")


NUMBERS = {
    "bubbles": Number(0.0, 1e6, "a whole number up to 1000000, such as 12", _whole_count),
    "seconds": Number(1.0, 86_400.0, "seconds from 1 to 86400, such as 300", units.seconds),
    "temp_c": Number(-10.0, 50.0, "Celsius from -10 to 50, such as 18.5", units.temp_c, 1),
    "pressure_hpa": Number(800.0, 1100.0, "hPa from 800 to 1100, such as 1013", any_number),
    "sg": Number(0.7, 1.3, "a gravity such as 1.004", units.sg, 4),
    "sample_c": Number(0.0, 40.0, "Celsius from 0 to 40, such as 18.5", units.temp_c, 1),
    # 0 if all of it was poured into another vessel
    "litres": Number(0.0, units.LITRES[1], "litres from 0.05 to 10000, such as 4.5", units.litres),
    "added_l": Number(*units.ADDED_L, "litres from 0.001 to 10000, such as 0.3", units.added_l),
    "sugar_g": Number(*units.SUGAR_G, "grams from 0.1 to 1000000, such as 200", units.grams),
    "refractometer_brix": Number(0.0, 40.0, "Brix from 0 to 40, such as 8.2", any_number, 1),
    "sulphite_g": Number(*dosed.DOSE_G, "grams from 0.01 to 10000, such as 0.44", dosed.sulphite_g),
    "sorbate_g": Number(*dosed.DOSE_G, "grams from 0.01 to 10000, such as 1.2", dosed.sorbate_g),
}
