"""One ferment, ready to compare with others: its counts, gravities and milestones by day.

Days since pitching, or days of the year, counted on past New Year; bubbles a minute; SG.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Literal

from .balance import Told

if TYPE_CHECKING:
    from datetime import date

    from .balance import Middle
    from .figures import Figures
    from .judgement import Judgement

__all__ = ["By", "Season", "season"]

By = Literal["pitching", "year"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """One ferment.

    Attributes
    ----------
    vessel : str
    began : date
        Its pitching, or its first row.
    offset_days : int
        Added to days since then: 0, or the day of the year on which it began.
    counts : tuple of (float, float)
        Day and bubbles a minute.
    gravities : tuple of (float, float)
        Day and SG, corrected.
    start_sg, last_sg : float or None
        First and last reading.
    quiet_days : int or None
        From pitching until the rate was at or below the threshold for good.
    expected_days : int or None
        The same by forecast, if it is not there yet.
    abv_pct : Middle or None
    """

    vessel: str
    began: date
    offset_days: int
    counts: tuple[tuple[float, float], ...]
    gravities: tuple[tuple[float, float], ...]
    start_sg: float | None
    last_sg: float | None
    quiet_days: int | None
    expected_days: int | None
    abv_pct: Middle | None


def season(judged: Judgement, figures: Figures, *, by: By) -> Season | None:
    """Gather one ferment.

    Parameters
    ----------
    judged : Judgement
    figures : Figures
    by : {"pitching", "year"}
        Where days are counted from.

    Returns
    -------
    Season or None
        None if nothing is written down.
    """
    course, rows = judged.course, judged.diary.batch
    if course is None or not rows:
        return None
    facts = course.facts
    start = rows[0].when
    offset = facts.began.timetuple().tm_yday if by == "year" else 0
    read = {} if judged.gravity is None else {r.when: r.sg for r in judged.gravity.readings}
    holds = figures.balance
    began_read = holds is not None and holds.start is Told.READ
    first = next((row for row in rows if row.sg is not None), None)
    quiet, likely = facts.air.quiet_on, facts.known.quiet
    return Season(
        vessel=judged.diary.vessel,
        began=facts.began,
        offset_days=offset,
        counts=tuple(
            (_days(row.when - start), row.per_min) for row in rows if row.per_min is not None
        ),
        gravities=tuple(
            (_days(row.when - start), read.get(row.when, row.sg))
            for row in rows
            if row.sg is not None
        ),
        start_sg=None if first is None or not began_read else first.sg,
        last_sg=None if facts.gravity.last is None else facts.gravity.last.sg,
        quiet_days=None if quiet is None else (quiet - facts.began).days,
        expected_days=None if quiet or likely is None else (likely[1] - facts.began).days,
        abv_pct=None if holds is None else holds.abv_pct,
    )


def _days(since: timedelta) -> float:
    return since / timedelta(days=1)
