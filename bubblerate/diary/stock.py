"""Works out how many bottles of a wine are left, by size.

Sizes are texts in centilitres, as a filling has them: "75", "37.5".
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .bottles import lots
from .events import Event
from .visit import bottled

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from .visit import Visit

__all__ = ["Stock", "stock"]


@dataclass(frozen=True, slots=True)
class Stock:
    """Bottles left of a wine.

    Attributes
    ----------
    sizes : mapping of str to int
        Bottles left of each size, the most filled first; never below 0.
    unsure : int
        Opened since, of an unknown size; still to be subtracted.
    """

    sizes: Mapping[str, int]
    unsure: int = 0

    @property
    def left(self) -> int:
        """Total over all sizes."""
        return max(0, sum(self.sizes.values()) - self.unsure)

    @property
    def to_ask(self) -> tuple[str, ...]:
        """Sizes to ask about when one is opened; empty if only one size is left."""
        there = tuple(size for size, number in self.sizes.items() if number)
        return there if len(there) > 1 else ()


def stock(rows: Sequence[Visit]) -> Stock | None:
    """Bottles left of a wine.

    Parameters
    ----------
    rows : sequence of Visit
        Live rows of one wine, oldest first.

    Returns
    -------
    Stock or None
        None if they were not counted, or none were filled.
    """
    filled = bottled(rows)
    sizes: Counter[str] = Counter()
    for row in filled:
        sizes.update(dict(lots(row.bottles)))
    if not sizes:
        return None
    left = Stock(dict(sizes))
    for row in rows:
        if row.event is Event.OPENED and row.when >= filled[0].when:
            left = _opened(left, row.bottles)
    return left


def _opened(before: Stock, bottles: str) -> Stock:
    sizes, unsure = dict(before.sizes), before.unsure
    known = lots(bottles) if bottles else [(size, 1) for size in sizes if sizes[size]]
    if not bottles and len(known) > 1:
        return Stock(sizes, unsure + 1)
    for size, number in known:
        if size in sizes:
            sizes[size] = max(0, sizes[size] - number)
        else:
            unsure += number  # of a size that was never filled: some other size
    there = [size for size, number in sizes.items() if number]
    if len(there) == 1:  # so those of unknown size were of this one
        sizes[there[0]], unsure = max(0, sizes[there[0]] - unsure), 0
    return Stock(sizes, unsure)
