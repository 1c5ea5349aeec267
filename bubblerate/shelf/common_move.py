"""Notices when several jars speed up or slow down on one evening: weather or heating, not yeast.

Each jar's last count is compared with its own evenings before, in the natural log of the rate.
Times are in days, temperatures in C. A jar that was opened, or has too few bubbles or evenings, is
left out. The limits are our own, tried on simulated ferments; no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from statistics import median
from typing import TYPE_CHECKING

from ..diary.events import BREAKS
from ..ferment.priors import EVENING_SCATTER, UNSETTLED_HOURS

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ..diary.visit import Diary, Visit

__all__ = ["CommonMove", "Departure", "common_move", "departure"]

FEWEST_JARS = 3
_LOOK_BACK = timedelta(days=6)  # days over which a straight line through the logs will do
_EVENINGS = (2, 3)  # fewest and most evenings for an expectation
_SAME_EVENING = timedelta(hours=8)
_STALE = timedelta(days=2)  # older news helps nobody
_FEWEST_BUBBLES = 3  # bubbles seen or expected; a jar with fewer cannot show a move
_SLOPE_PER_DAY = (-0.2, 0.2)  # usual slope, and how it varies: half-lives of days to weeks
_BEND_PER_DAY = 0.1  # error of a line, as the truth bends, per day ahead
_MOVED = 0.5  # a jar this many standard deviations off goes along
_MOST = 2.0 / 3.0  # share of the compared jars that go one way
_SURE = 2.0  # standard deviations that all together are off


@dataclass(frozen=True, slots=True, kw_only=True)
class CommonMove:
    """Most jars moved one way on one evening.

    Attributes
    ----------
    on : date
        The evening.
    jars : tuple of str
        Jars that went along.
    compared : int
        Number of jars that could be compared.
    times : float
        Median, over the jars that went along, of the last count divided by what was expected.
    warmer_c : float or None
        How much warmer they stood than before, as a median [C]; None if hardly any
        temperature was noted.
    """

    on: date
    jars: tuple[str, ...]
    compared: int
    times: float
    warmer_c: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Departure:
    """How far one jar's last count is from what its own evenings before suggest.

    Attributes
    ----------
    vessel : str
    when : datetime
        Of the last count.
    log_times : float
        Natural log of the last rate divided by the one expected.
    sd : float
        Its standard deviation.
    warmer_c : float or None
        How much warmer it was than before [C].
    """

    vessel: str
    when: datetime
    log_times: float
    sd: float
    warmer_c: float | None

    @property
    def z(self) -> float:
        """Standard deviations off the expectation."""
        return self.log_times / self.sd


def common_move(departures: Iterable[Departure], *, at: datetime) -> CommonMove | None:
    """Find whether the jars of a shelf moved together on the last evening.

    Parameters
    ----------
    departures : iterable of Departure
        Of all jars that can be compared.
    at : datetime
        The moment asked about, aware.

    Returns
    -------
    CommonMove or None
        None if fewer than three jars can be compared, the last evening is more than two days
        old, or chance alone moves so many.

    Notes
    -----
    Two thirds of the jars must go along, and the mean of all, weighted by their errors, must be two
    standard deviations off. For simulated jars that share nothing (`ferments.py` in
    tests/bench/ferment, pitched on one day) that happened on at most 1 evening in 60. Of evenings
    with every count doubled it found three to six in ten, and more of those with counts reduced to
    0.4.
    """
    able = list(departures)
    latest = max((d.when for d in able), default=None)
    if latest is None or at - latest > _STALE:
        return None
    found = [d for d in able if latest - d.when <= _SAME_EVENING]
    if len(found) < FEWEST_JARS:
        return None
    weights = [d.sd**-2 for d in found]
    together = sum(w * d.log_times for w, d in zip(weights, found, strict=True))
    together_z = together / math.sqrt(sum(weights))
    moved = [d for d in found if math.copysign(1.0, together_z) * d.z > _MOVED]
    if abs(together_z) < _SURE or len(moved) < _MOST * len(found):
        return None
    warmer = [d.warmer_c for d in moved if d.warmer_c is not None]
    return CommonMove(
        on=latest.date(),
        jars=tuple(d.vessel for d in moved),
        compared=len(found),
        times=math.exp(median(d.log_times for d in moved)),
        warmer_c=median(warmer) if 2 * len(warmer) > len(moved) else None,
    )


def departure(diary: Diary, *, at: datetime) -> Departure | None:
    """Compare the last count of a jar with what its own evenings before suggest.

    Parameters
    ----------
    diary : Diary
        Rows later than `at` are not used.
    at : datetime
        The moment asked about, aware.

    Returns
    -------
    Departure or None
        None if it was opened of late, or has too few bubbles or evenings to tell.

    Notes
    -----
    The expectation is a straight line through the log rates of up to three evenings after the jar's
    peak, with Poisson error and the usual scatter. The level is free, the slope is kept near that
    of ferments: weighted least squares with a normal prior on the slope [1]_. Half a bubble added
    to each count keeps the log of a zero finite and nearly unbiased [2]_.

    References
    ----------
    .. [1] A. Gelman et al., "Bayesian Data Analysis", 3rd ed. (2013), section 14.8: prior
       information as one more data point (from memory).
    .. [2] J. B. S. Haldane, "The estimation and significance of the logarithm of a ratio of
       frequencies", Ann. Hum. Genet. 20 (1956) 309: one half added to a count (from memory).
    """
    fewest, most = _EVENINGS
    counts = _counts(diary, at)
    if not counts:
        return None
    *earlier, last = counts
    peak = max(earlier, key=lambda v: v.per_min or 0.0, default=last)  # until then no line fits
    before = [
        v
        for v in earlier
        if v.when >= peak.when and _SAME_EVENING < last.when - v.when <= _LOOK_BACK
    ][-most:]
    if len(before) < fewest:
        return None
    expected, variance = _expected(before, last.when)
    bubbles, seconds = last.bubbles or 0, last.seconds or 60.0
    if max(bubbles, math.exp(expected) * seconds) < _FEWEST_BUBBLES:
        return None
    # the larger of the two sets the error by chance: a zero alone would look too sure
    due = max(bubbles + 0.5, math.exp(expected) * seconds)
    temps = [v.temp_c for v in before if v.temp_c is not None]
    return Departure(
        vessel=diary.vessel,
        when=last.when,
        log_times=_log_rate(last) - expected,
        sd=math.sqrt(variance + EVENING_SCATTER**2 + 1.0 / due),
        warmer_c=last.temp_c - median(temps) if temps and last.temp_c is not None else None,
    )


def _counts(diary: Diary, at: datetime) -> list[Visit]:
    """Counts that can be compared: since the last break, without those of an unsettled jar."""
    rows = diary.until(at).batch
    began = max((v.when for v in rows if v.event in BREAKS), default=None)
    disturbed = [
        (v.when, timedelta(hours=UNSETTLED_HOURS[v.event]))
        for v in rows
        if v.event is not None and v.event in UNSETTLED_HOURS
    ]
    return [
        v
        for v in rows
        if v.bubbles is not None
        and (began is None or v.when > began)
        and not any(when < v.when < when + unsettled for when, unsettled in disturbed)
    ]


def _expected(before: list[Visit], when: datetime) -> tuple[float, float]:
    """Log rate expected from the evenings before, and its variance, by weighted least squares."""
    usual, spread = _SLOPE_PER_DAY
    weights = [1.0 / (EVENING_SCATTER**2 + 1.0 / ((v.bubbles or 0) + 0.5)) for v in before]
    days = [(v.when - when) / timedelta(days=1) for v in before]
    levels = [_log_rate(v) - usual * day for v, day in zip(before, days, strict=True)]
    total = sum(weights)
    day = sum(w * x for w, x in zip(weights, days, strict=True)) / total
    level = sum(w * y for w, y in zip(weights, levels, strict=True)) / total
    across = sum(w * (x - day) ** 2 for w, x in zip(weights, days, strict=True)) + spread**-2
    tilt = (
        sum(w * (x - day) * (y - level) for w, x, y in zip(weights, days, levels, strict=True))
        / across
    )
    # the line is read at day 0, the last evening
    variance = 1.0 / total + day**2 / across + (_BEND_PER_DAY * day) ** 2
    return level - tilt * day, variance


def _log_rate(visit: Visit) -> float:
    return math.log(((visit.bubbles or 0) + 0.5) / (visit.seconds or 60.0))
