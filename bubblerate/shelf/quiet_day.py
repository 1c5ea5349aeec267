"""Finds, in hindsight, the day a vessel fell below the threshold, from its counts alone.

Days are counted from the peak, rates in multiples of the threshold. The limits are our own, tried
on simulated ferments (tests/bench/shelf/backtesting.py); no source.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from statistics import median
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from ..diary.events import BREAKS
from ..ferment.priors import COLD_C, COLD_DROP_C, EVENING_CORRELATION, EVENING_SCATTER, Q10
from ..ferment.tail import Tail, find_tail
from ..text import format_day, format_rate
from ..verdict.limits import STUNNING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..diary.visit import Diary, Visit

__all__ = ["Omission", "QuietDay", "quiet_day"]

Floats = NDArray[np.float64]

# After these, bubbles or yeast are different, so a new watch starts.
ENDINGS = BREAKS | STUNNING | {"bottled", "bottled-sparkling"}

FEWEST_EVENINGS = 3  # evenings on each side of the fall, so that one odd evening makes none
WIDEST_DAYS = 14.0  # days within which it fell; a wider window is no date
_QUIET_DAYS = 2.0  # days that the evenings after it must span
_SURELY = 3.0  # natural log, 20 to 1, that the fall is within the evenings
_WORKING = 3.0  # times the threshold: a higher rate says no more than "not yet"
_ODD = 2.0  # times both its neighbours: anything more is taken as a mistake


@dataclass(frozen=True, slots=True)
class Omission:
    """Why a vessel is left out: a code for programs, words for people."""

    code: Literal[
        "no-counts",
        "few-counts",
        "quiet-from-start",
        "broken-off",
        "not-yet",
        "blurred",
        "leak",
        "no-forecast",
        "lost",
    ]
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class QuietDay:
    """The day a vessel fell below the threshold for good, as well as its counts tell.

    Attributes
    ----------
    watched_from, watched_until : datetime
        First and last row of the watch, in which neither the jar nor its sugar was changed.
    since : datetime
        The peak, in hindsight.
    threshold_per_min : float
        Rate that it fell below [bubbles/min].
    days : tuple of float, length n
        Evenings from the peak on [days since `since`].
    chances : tuple of float, length n
        Chance that it had fallen by each, from 0 at the first to 1 at the last.
    """

    watched_from: datetime
    watched_until: datetime
    since: datetime
    threshold_per_min: float
    days: tuple[float, ...]
    chances: tuple[float, ...]

    def moment(self, chance: float) -> datetime:
        """First moment by which it had fallen with this chance, from 0 to 1."""
        i = min(max(bisect_right(self.chances, chance), 1), len(self.days) - 1)
        low, high = self.chances[i - 1], self.chances[i]
        share = (chance - low) / (high - low) if high > low else 1.0
        day = self.days[i - 1] + share * (self.days[i] - self.days[i - 1])
        return self.since + timedelta(days=day)

    @property
    def about(self) -> datetime:
        """The day it fell: equally likely before as after."""
        return self.moment(0.5)

    @property
    def surely_from(self) -> datetime:
        """Probably not before this: the chance is one in ten, and in trials it was less."""
        return self.moment(0.1)

    @property
    def surely_by(self) -> datetime:
        """Probably by this: the chance of later is one in ten, and in trials it was less."""
        return self.moment(0.9)


def quiet_day(diary: Diary, *, threshold_per_min: float) -> QuietDay | Omission:
    r"""Find when the rate of a vessel fell below a threshold for good.

    Parameters
    ----------
    diary : Diary
        The whole diary.
    threshold_per_min : float
        Rate [bubbles/min], above 0.

    Returns
    -------
    QuietDay or Omission
        If no day can be told, why: ``no-counts``, ``few-counts``, ``quiet-from-start``,
        ``not-yet`` (the diary ended too soon), ``broken-off`` (it was racked, fed, ... before it
        fell) or ``blurred`` (the counts leave the day open by more than `WIDEST_DAYS`).

    Notes
    -----
    One evening below proves nothing, since the next may be above. The only assumption is that the
    rate at the usual temperature falls. For each gap between two evenings, the best falling rates
    that cross the threshold in that gap are found (pool adjacent violators, kept above the
    threshold before the gap and below it after). Their likelihood, times the length of the gap, is
    the chance that it fell there. Such free rates make the window wide: on simulated ferments it
    held the true day in 97 of 100, though made for 80. `about` was half a day to a day and a half
    off (``tests/bench/shelf/backtesting.py``). So forecasts are compared with `about`: then their
    intervals seem to hold about as often as they hold the true day, to a few in a hundred. The part
    of the window that an interval covers came out far too low.

    Counts are Poisson with the scatter of evenings, which neighbours share:
    :math:`\phi^2 (1 + \rho) / (1 - \rho)`.

    A count above three times the threshold counts as three times; one above twice both its
    neighbours, or below half of both, is limited to that. Evenings so cold that the yeast may rest,
    and hours after a jar was opened, are left out. Other evenings are converted to the temperature
    usual while it worked, if the diary tells it.

    Raises
    ------
    ValueError
        If the threshold is not above 0.

    References
    ----------
    .. [1] M. Ayer et al., "An empirical distribution function for sampling with incomplete
       information", Ann. Math. Statist. 26 (1955): pooling of adjacent violators (from memory).
    .. [2] M. Banerjee and J. A. Wellner, "Likelihood ratio tests for monotone functions",
       Ann. Statist. 29 (2001): likelihood of where a monotone function crosses (from memory).
    """
    if not 0.0 < threshold_per_min < math.inf:  # written this way to refuse nan too
        raise ValueError(f"a threshold is above 0 bubbles a minute, got {threshold_per_min}")
    why: Omission | None = None
    for rows, ending in _watches(diary.batch):
        found = _in_watch(rows, ending, threshold_per_min)
        if isinstance(found, QuietDay):
            return found
        if why is None or why.code in {"no-counts", "few-counts"}:
            why = found
    return why or Omission("no-counts", "no bubbles were counted")


def _watches(rows: Sequence[Visit]) -> list[tuple[list[Visit], Visit | None]]:
    """Split rows at events after which counts cannot be compared; each part with its last event.

    The count in the row of an event was made before it.
    """
    watches: list[tuple[list[Visit], Visit | None]] = []
    under_way: list[Visit] = []
    for visit in rows:
        if visit.event not in ENDINGS:
            under_way.append(visit)
            continue
        watches.append(([*under_way, replace(visit, event=None)], visit))
        under_way = [replace(visit, bubbles=None)]
    return [*watches, (under_way, None)]


def _in_watch(
    rows: Sequence[Visit], ending: Visit | None, threshold_per_min: float
) -> QuietDay | Omission:
    warm = _without_cold(rows, threshold_per_min)
    counts = find_tail(warm)
    if counts is None:
        return Omission("no-counts", "no bubbles were counted")
    days, times, weights = _evenings(counts, threshold_per_min)
    if len(days) < 2 * FEWEST_EVENINGS:
        text = f"too few evenings to see it fall ({len(days)}; {2 * FEWEST_EVENINGS} needed)"
        return Omission("few-counts", text)
    rate, fits = format_rate(threshold_per_min), _log_likelihoods(times, weights)
    if fits[0] > fits.max() - _SURELY:
        return Omission("quiet-from-start", f"it was never clearly seen above {rate}")
    found = QuietDay(
        watched_from=rows[0].when,
        watched_until=rows[-1 if ending is None else -2].when,
        since=counts.start,
        threshold_per_min=threshold_per_min,
        days=tuple(days.tolist()),
        chances=_chances(days, fits),
    )
    after = days[days > counts.day_of(found.about)]
    quiet = len(after) >= FEWEST_EVENINGS and after[-1] - after[0] >= _QUIET_DAYS
    if fits[-1] > fits.max() - _SURELY or not quiet:
        cold = sum(v.bubbles is not None for v in rows) - sum(v.bubbles is not None for v in warm)
        return _not_seen(rate, ending, mute=cold + len(counts) - len(days))
    open_days = (found.surely_by - found.surely_from) / timedelta(days=1)
    if open_days > WIDEST_DAYS:
        text = f"its counts leave a doubt of {open_days:.0f} days about when it fell below {rate}"
        return Omission("blurred", text)
    return found


def _not_seen(rate: str, ending: Visit | None, *, mute: int) -> Omission:
    """Why the counts do not show that it stayed below a rate."""
    if ending is not None:
        done = f"{ending.event} on {format_day(ending.when)}"
        return Omission("broken-off", f"{done}, before it was seen to fall below {rate}")
    left_out = f" ({mute} in the cold or just after it was opened do not count)" if mute else ""
    text = f"the diary ends before it is seen below {rate} for good{left_out}"
    return Omission("not-yet", text)


def _chances(days: Floats, fits: Floats) -> tuple[float, ...]:
    """Chance that it had fallen by each evening, from the fits with a fall in each gap."""
    inside = fits[1:-1] + np.log(np.maximum(np.diff(days), 1e-6))  # two may have the same moment
    chances = np.exp(inside - inside.max())
    by = np.concatenate([[0.0], np.cumsum(chances / chances.sum())])
    by[-1] = 1.0
    return tuple(by.tolist())


def _without_cold(rows: Sequence[Visit], threshold_per_min: float) -> list[Visit]:
    """Leave out counts of evenings so cold that the yeast may only have rested.

    Cold is relative to the temperature it worked in, since a winter in the shed may follow.
    """
    at_work = [v.temp_c for v in rows if (v.per_min or 0.0) >= threshold_per_min]
    known = [temp_c for temp_c in at_work if temp_c is not None]
    limit = min(COLD_C, median(known) - COLD_DROP_C) if known else -math.inf

    def cold(visit: Visit) -> bool:
        return visit.temp_c is not None and visit.temp_c < COLD_C and visit.temp_c <= limit

    return [replace(visit, bubbles=None) if cold(visit) else visit for visit in rows]


def _evenings(counts: Tail, threshold_per_min: float) -> tuple[Floats, Floats, Floats]:
    """Day, rate in multiples of the threshold, and weight of each useful evening; shape (n,)."""
    tells = counts.trust == 1.0
    working = tells & (60.0 * counts.bubbles / counts.seconds >= threshold_per_min)
    warmth = counts.temp_offset_10c - (
        np.median(counts.temp_offset_10c[working]) if working.any() else 0.0
    )
    due = (threshold_per_min * counts.seconds / 60.0 * Q10**warmth)[tells]  # at the threshold
    times = np.minimum(counts.bubbles[tells] / due, _WORKING)
    if len(times) > 2:
        near = np.sort([times[:-2], times[2:]], axis=0)
        times[1:-1] = np.clip(times[1:-1], near[0] / _ODD, near[1] * _ODD)
    shared = (1.0 + EVENING_CORRELATION) / (1.0 - EVENING_CORRELATION)
    weights = due / (1.0 + EVENING_SCATTER**2 * shared * due)
    return counts.days[tells], times, weights


def _log_likelihoods(times: Floats, weights: Floats) -> Floats:
    """Log likelihoods of the best falling rates that are above 1 for the first k evenings only.

    Shapes (n,), (n,) to (n + 1,), by k.
    """
    before = _running(times, weights, least=1.0)
    # backwards in time a falling rate rises, and so does minus the rate forwards
    after = _running(-times[::-1], weights[::-1], least=-1.0)
    return np.asarray(before + after[::-1], float)


def _running(times: Floats, weights: Floats, *, least: float) -> Floats:
    """Log likelihood of the first k falling rates, kept at `least` or above, for each k."""
    blocks: list[tuple[float, float]] = []  # mean, weight
    sums = [0.0]
    for time, weight in zip(times.tolist(), weights.tolist(), strict=True):
        blocks.append((time, weight))
        while len(blocks) > 1 and blocks[-2][0] <= blocks[-1][0]:
            (early, heavy), (late, light) = blocks[-2:]
            total = heavy + light
            blocks[-2:] = [((early * heavy + late * light) / total, total)]
        sums.append(sum(w * _poisson(abs(m), abs(max(m, least))) for m, w in blocks))
    return np.array(sums)


def _poisson(seen: float, rate: float) -> float:
    return (seen * math.log(rate) if seen else 0.0) - rate
