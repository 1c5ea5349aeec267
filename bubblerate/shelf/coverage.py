"""Sums up a backtest: how often forecasts held and how far off they were, by days ahead.

Leads and errors are in days; an error above 0 is a date that was too late.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from .backtest import LeftOut, Replay

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from .backtest import Evening

__all__ = [
    "FEWEST_VESSELS",
    "LEADS_DAYS",
    "Backtest",
    "LeadRow",
    "Share",
    "in_hindsight",
    "share",
]

LEADS_DAYS = (0.0, 1.0, 3.0, 7.0, 15.0, math.inf)
# common practice, no source
FEWEST_VESSELS = 5  # with four, all right, the true share may still be one in two
_Z95 = 1.959964  # two-sided, of a normal; any table of it


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """How often intervals held the true day.

    Attributes
    ----------
    stated : float
        How often they should.
    seen : float
        Mean of the vessels' own shares.
    low, high : float
        95 % range for the share among many vessels.
    vessels : int
    """

    stated: float
    seen: float
    low: float
    high: float
    vessels: int

    @property
    def judged(self) -> bool:
        """Whether there are enough vessels to judge."""
        return self.vessels >= FEWEST_VESSELS


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadRow:
    """Evenings with about the same lead; every vessel weighs the same.

    Attributes
    ----------
    from_days, to_days : float
        Lead [days], above the first and up to the second.
    evenings, vessels : int
    error_days : float
        Median of the errors, without sign.
    bias_days : float
        Median of the errors with their sign: above 0 is too late.
    width_days : float
        Median width of the 80 % interval.
    held80, held95 : Share
    """

    from_days: float
    to_days: float
    evenings: int
    vessels: int
    error_days: float
    bias_days: float
    width_days: float
    held80: Share
    held95: Share


@dataclass(frozen=True, slots=True, kw_only=True)
class Backtest:
    """The result: vessels, those left out, and the table.

    Attributes
    ----------
    replays : tuple of Replay
        By name.
    left_out : tuple of LeftOut
        By name.
    rows : tuple of LeadRow
        By lead; leads that no evening had are left out.
    whole : LeadRow or None
        All evenings; None if there are none.
    """

    replays: tuple[Replay, ...]
    left_out: tuple[LeftOut, ...]
    rows: tuple[LeadRow, ...]
    whole: LeadRow | None

    @property
    def evenings(self) -> tuple[Evening, ...]:
        """Every evening of every vessel."""
        return tuple(evening for one in self.replays for evening in one.evenings)


def in_hindsight(results: Iterable[Replay | LeftOut]) -> Backtest:
    """Gather vessels into the table.

    Parameters
    ----------
    results : iterable of Replay or LeftOut
        Of each vessel, in any order.

    Returns
    -------
    Backtest
    """
    # the first row tells two vessels with one name apart
    ordered = sorted(results, key=_key)
    replays = tuple(one for one in ordered if isinstance(one, Replay))
    rows = (_row(replays, *between) for between in pairwise(LEADS_DAYS))
    return Backtest(
        replays=replays,
        left_out=tuple(one for one in ordered if isinstance(one, LeftOut)),
        rows=tuple(row for row in rows if row is not None),
        whole=_row(replays, LEADS_DAYS[0], LEADS_DAYS[-1]),
    )


def share(held: Sequence[float], *, stated: float) -> Share:
    r"""How often intervals held, with a 95 % range that is wide if there are few vessels.

    Parameters
    ----------
    held : sequence of float
        Share of the evenings of each vessel, at least one vessel.
    stated : float
        How often it should be, in (0, 1).

    Returns
    -------
    Share

    Raises
    ------
    ValueError
        If there is no vessel.

    Notes
    -----
    Evenings of one vessel go wrong together, so each vessel is one trial, however many evenings it
    has: the range is Wilson's for n vessels [1]_. No share of evenings can scatter more between
    vessels than one that is all or nothing (:math:`p (1 - p)` is the largest variance in [0, 1]),
    so the range is too wide if anything.

    References
    ----------
    .. [1] E. B. Wilson, "Probable inference, the law of succession, and statistical inference",
       J. Am. Stat. Assoc. 22 (1927) 209.

    Examples
    --------
    >>> seen = share([1.0, 1.0, 0.5, 1.0, 0.5], stated=0.8)
    >>> seen.seen, round(seen.low, 2), round(seen.high, 2)
    (0.8, 0.38, 0.96)
    """
    if not held:
        raise ValueError("a share needs one vessel at least")
    n = len(held)
    p = math.fsum(held) / n
    centre, reach = p + _Z95**2 / (2 * n), _Z95 * math.sqrt(p * (1 - p) / n + (_Z95 / n) ** 2 / 4)
    shrink = 1 + _Z95**2 / n
    low, high = (centre - reach) / shrink, (centre + reach) / shrink
    return Share(stated=stated, seen=p, low=max(low, 0.0), high=min(high, 1.0), vessels=n)


def _key(one: Replay | LeftOut) -> tuple[str, str]:
    detail = one.quiet_day.since.isoformat() if isinstance(one, Replay) else one.reason.text
    return one.vessel, detail


def _row(replays: Sequence[Replay], from_days: float, to_days: float) -> LeadRow | None:
    """Sum up the evenings with some leads; None if there are none."""
    of_vessel = [
        [evening for evening in one.evenings if from_days < evening.lead_days <= to_days]
        for one in replays
    ]
    of_vessel = [some for some in of_vessel if some]
    if not of_vessel:
        return None
    weighed = [(evening, 1.0 / len(some)) for some in of_vessel for evening in some]
    weights = [weight for _, weight in weighed]

    def middle(values: Iterable[float]) -> float:
        return _median(list(values), weights)

    return LeadRow(
        from_days=from_days,
        to_days=to_days,
        evenings=len(weighed),
        vessels=len(of_vessel),
        error_days=middle(abs(evening.error_days) for evening, _ in weighed),
        bias_days=middle(evening.error_days for evening, _ in weighed),
        width_days=middle(evening.width_days for evening, _ in weighed),
        held80=share([_mean(e.held80 for e in some) for some in of_vessel], stated=0.80),
        held95=share([_mean(e.held95 for e in some) for some in of_vessel], stated=0.95),
    )


def _median(values: Sequence[float], weights: Sequence[float]) -> float:
    """Weighted median, midway if the weights split evenly; values may be infinite."""
    order = np.argsort(values, kind="stable")
    share_by = np.cumsum(np.asarray(weights)[order]) / math.fsum(weights)
    low, high = (int(np.searchsorted(share_by, 0.5 + off)) for off in (-1e-9, 1e-9))
    return 0.5 * (float(values[order[low]]) + float(values[order[high]]))


def _mean(held: Iterable[bool]) -> float:
    some = list(held)
    return sum(some) / len(some)
