"""How many bottles of a wine there are: those filled, less those opened since."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from .events import Event
from .visit import bottled

if TYPE_CHECKING:
    from collections.abc import Sequence

    from .visit import Visit

__all__ = ["stock"]


def stock(rows: Sequence[Visit]) -> int | None:
    """Bottles left of a wine.

    Parameters
    ----------
    rows : sequence of Visit
        Live rows of one wine, oldest first.

    Returns
    -------
    int or None
        None where they were not counted, or none were filled.
    """
    filled = bottled(rows)
    numbers = [int(n) for row in filled for n in re.findall(r"(\d+)x", row.bottles)]
    if not numbers:
        return None
    since = filled[0].when
    opened = sum(row.event is Event.OPENED and row.when >= since for row in rows)
    return max(0, sum(numbers) - opened)
