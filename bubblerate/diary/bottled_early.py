"""Warns if a wine was bottled while working or with sugar left, and says what to do.

Used only for a row that says `bottled`; scipy is loaded then and not before.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Final

from ..text import format_rate
from .events import Event
from .styles import kind_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..physics.alcohol import Style
    from .visit import Visit

__all__ = ["bottled_early"]

COUNTED_DAYS: Final = 14  # days that a count tells about tonight
SURELY: Final = 0.1  # how sure a count must be: as for the verdict
WEATHER_PER_MIN_LITRE: Final = 0.1 / 4.5  # in a demijohn, weather makes 0.1 a minute (trade)
JAR_LITRES: Final = 4.5
UNREAD_OG: Final = 1.080  # if no start was read (common practice, no source)
READ_TO_POINTS: Final = 2.0  # two hand readings may be off by this (common practice)
MOST_POINTS: Final = 200.0
ABV: Final = 12.0

_NOW = (
    "Now: put on goggles and gloves, chill the bottles, ease each one open, pour it back under an "
    "airlock, and write poured-back."
)


def bottled_early(before: Sequence[Visit], visit: Visit, style: str | None) -> str | None:
    """Warn that bottles will burst, and say what to do now.

    Parameters
    ----------
    before : sequence of Visit
        Live rows up to the bottling, oldest first.
    visit : Visit
        The row that says `bottled`.
    style : str or None
        The maker's words for the wine.

    Returns
    -------
    str or None
        None if neither bubbles nor gravity speak against it, which does not prove it safe.
    """
    starts = [i for i, v in enumerate(before) if v.event is Event.PITCHED]
    rows = [*before[starts[-1] if starts else 0 :], visit]
    bubbles, sugar = _bubbling(rows, visit), _sugar(rows, style)
    if bubbles is None and sugar is None:
        return None
    found = "; ".join(words for words in (bubbles, sugar) if words is not None)
    return f"STOP: it is still fermenting, and the bottles will burst. {found}. {_NOW}"


def _bubbling(rows: Sequence[Visit], visit: Visit) -> str | None:
    """Rate of the newest evening counted, if it is surely more than weather makes."""
    late = [
        v
        for v in rows
        if v.bubbles is not None and visit.when - v.when <= timedelta(days=COUNTED_DAYS)
    ]
    if not late:
        return None
    newest = [v for v in late if v.when.date() == late[-1].when.date()]
    n = sum(v.bubbles or 0 for v in newest)
    minutes = sum((v.seconds or 60.0) / 60.0 for v in newest)
    if n == 0:
        return None
    from scipy.special import gammaincinv  # slow to load, and only needed for bottling

    litres = next((v.litres for v in reversed(rows) if v.litres), JAR_LITRES)
    if float(gammaincinv(n, SURELY)) / minutes <= WEATHER_PER_MIN_LITRE * litres:
        return None
    return f"The airlock made {format_rate(n / minutes)}"


def _sugar(rows: Sequence[Visit], style: str | None) -> str | None:
    """Points left and the pressure they would make, if the last reading was above the end."""
    read = [v.sg for v in rows if v.sg is not None]
    held = any(v.event is Event.STABILISED for v in rows)
    if not read or held:
        return None
    from ..physics.alcohol import OG_HIGH, expected_finish  # loads numpy, only needed for bottling
    from ..physics.bottle import CELLAR_C, bottle_pressure
    from ..physics.gas import saturated_g_per_litre

    family: Style = kind_of(style).style or "dry wine"
    og = max(read) if len(read) > 1 and max(read) > read[-1] else UNREAD_OG
    end = expected_finish(min(og, OG_HIGH), family)
    sg, points = read[-1], 1000.0 * (read[-1] - end.sg)
    if 1000.0 * (sg - end.high) <= READ_TO_POINTS:
        return None
    bar = bottle_pressure(
        min(points, MOST_POINTS),
        temp_c=CELLAR_C,
        abv_pct=ABV,
        dissolved_g_per_litre=saturated_g_per_litre(CELLAR_C, abv_pct=ABV),
    ).over_bar
    return (
        f"{sg:.3f} is {points:.0f} points above its expected finish: up to {bar:.0f} bar in a "
        "closed bottle"
    )
