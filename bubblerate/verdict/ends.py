"""Where a wine should end, by its start, its style, and all that was fed and poured in.

Gravity is in points (0.001 SG) above 1.000, an evening is the ordinal of its date (`acts`).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from ..ferment.finish import G_PER_POINT_LIFTED, FinishDistribution, likely_finish
from ..physics.alcohol import OG_HIGH
from ..physics.scales import points, sg_at
from .acts import SUGAR, stabilised_on

if TYPE_CHECKING:
    from collections.abc import Sequence

    from .acts import Reading, Row

__all__ = ["finish_of"]

START_EVENINGS: Final = 2  # days after pitching; a later reading is not the must's (our judgement)


def finish_of(
    rows: Sequence[Row], read: Sequence[Reading], style: str | None, start: int | None
) -> tuple[FinishDistribution, float | None]:
    """Find where the wine should end, from its start, its style, and what was fed and poured in.

    Parameters
    ----------
    rows : sequence of Row
        Of one wine, oldest first.
    read : sequence of Reading
        Every gravity read, oldest first.
    style : str or None
        The maker's words.
    start : int or None
        Evening on which the yeast went in, if known.

    Returns
    -------
    finish : FinishDistribution
    og_sg : float or None
        Original gravity, with the sugar fed since; the highest reading if the start was not read,
        since the must was at least that.
    """
    early = [r for r in read if start is not None and start <= r.day <= start + START_EVENINGS]
    og = early[0] if early else max(read, key=lambda r: r.points, default=None)
    if og is not None and og.points > points(OG_HIGH):
        og, early = None, []  # no must is that heavy: misread
    after = [r for r in rows if og is None or r.day >= og.day]
    fed = [r for r in after if r.event in SUGAR and not _held(rows, r)]
    # sugar of the same evening may be in that reading already: as good as not weighed
    grams = [None if og and r.day == og.day else r.sugar_g_per_litre for r in fed]
    weighed = math.fsum(g for g in grams if g is not None)
    known = likely_finish(og and sg_at(og.points), style, fed_g_per_litre=weighed)
    unread = likely_finish(None, style, fed_g_per_litre=weighed)
    finish = known if early or known.centre_sg < unread.centre_sg else unread
    if None in grams:
        finish = finish.fed(None)
    watered = [r.added_share for r in after if r.event == "diluted"]
    kept = math.prod(1.0 - (share or 0.0) for share in watered)
    og_points = None if og is None else kept * (og.points + weighed / G_PER_POINT_LIFTED)
    return finish.diluted(1.0 - kept), None if og_points is None else sg_at(og_points)


def _held(rows: Sequence[Row], row: Row) -> bool:
    """Whether sorbate kept yeast from using the sugar of this row."""
    held = stabilised_on(rows)
    return held is not None and row.day >= held
