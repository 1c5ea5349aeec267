"""Repeats old forecasts evening by evening, and compares them with the day the vessel fell.

Leads and errors are in days; an error above 0 is a date that was too late. A date further ahead
than a forecast gives is None, and its error infinite.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING

from ..course.judgement import Judgement, judge
from ..diary.settings import Settings
from .quiet_day import Omission, QuietDay, quiet_day

if TYPE_CHECKING:
    from datetime import datetime

    from ..diary.visit import Diary

__all__ = ["Evening", "LeftOut", "Replay", "Task", "lost", "replay", "replayed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Evening:
    """What was forecast on one evening before the fall.

    Attributes
    ----------
    vessel : str
    at : datetime
        Moment of the count; no later row was used.
    fell_at : datetime
        The day most likely to be that of the fall, in hindsight.
    low95, low80, median, high80, high95 : datetime or None
        What was forecast; None means more than 60 days ahead.
    go : bool
        Racking would have been called go.
    early_go : bool
        It would have been, when the vessel had surely not fallen yet.
    """

    vessel: str
    at: datetime
    fell_at: datetime
    low95: datetime | None
    low80: datetime | None
    median: datetime | None
    high80: datetime | None
    high95: datetime | None
    go: bool
    early_go: bool

    @property
    def lead_days(self) -> float:
        """Days from the evening to the fall."""
        return _days(self.fell_at - self.at)

    @property
    def error_days(self) -> float:
        """Days by which the median was too late."""
        return math.inf if self.median is None else _days(self.median - self.fell_at)

    @property
    def width_days(self) -> float:
        """Days that the 80 % interval spans."""
        if self.low80 is None or self.high80 is None:
            return math.inf
        return _days(self.high80 - self.low80)

    @property
    def held80(self) -> bool:
        """Whether the 80 % interval held the day."""
        return _holds(self.low80, self.high80, self.fell_at)

    @property
    def held95(self) -> bool:
        """Whether the 95 % interval held the day."""
        return _holds(self.low95, self.high95, self.fell_at)


@dataclass(frozen=True, slots=True, kw_only=True)
class Replay:
    """One vessel: when it fell, and what had been forecast on each evening before."""

    vessel: str
    quiet_day: QuietDay
    evenings: tuple[Evening, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A vessel that cannot be used, and why."""

    vessel: str
    reason: Omission


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """All that `replayed` needs; it can be sent to a worker."""

    diary: Diary
    settings: Settings
    threshold_per_min: float | None


def replay(
    diary: Diary, *, settings: Settings | None = None, threshold_per_min: float | None = None
) -> Replay | LeftOut:
    """Forecast again on every evening before the fall, with the rows known by then.

    Parameters
    ----------
    diary : Diary
        All of it, up to its end.
    settings : Settings, optional
        As for `bubblerate.judge`; taken to have been the same all along.
    threshold_per_min : float, optional
        Rate below which the vessel counts as quiet [bubbles/min]; by default that of `settings`.

    Returns
    -------
    Replay or LeftOut
        Left out with the reasons of `quiet_day`; as a ``leak`` if the airlock fell
        quiet faster than sugar runs out, or the gravity shows a leak; or for ``no-forecast``.

    Notes
    -----
    Later rows only tell when the vessel fell, and so which is the last evening to ask about. Every
    date that would have been given is scored, even before what turned out to be the peak. A date
    that was withheld that evening, for a leak seen by gravity, is not scored.

    Examples
    --------
    >>> import bubblerate
    >>> found = bubblerate.replay(bubblerate.read("examples/quince.csv"))
    >>> found.vessel, len(found.evenings) > 5
    ('quince', True)
    >>> table = bubblerate.in_hindsight([found])
    >>> len(table.replays), len(table.left_out)
    (1, 0)
    """
    settings = settings if settings is not None else Settings()
    threshold = threshold_per_min if threshold_per_min is not None else settings.threshold_per_min
    found = quiet_day(diary, threshold_per_min=threshold)
    if isinstance(found, Omission):
        return LeftOut(vessel=diary.vessel, reason=found)
    judged = partial(
        judge, diary, question="racking", settings=settings, threshold_per_min=threshold
    )
    end = judged(at=found.watched_until)
    if end.facts.airlock.sudden or _leaks(end):
        text = "its airlock went quiet faster than sugar runs out, or its gravity shows a leak"
        return LeftOut(vessel=diary.vessel, reason=Omission("leak", text))
    counted = sorted({v.when for v in diary.batch if v.bubbles is not None})
    asked = [judged(at=when) for when in counted if found.watched_from < when < found.about]
    evenings = tuple(_evening(one, found) for one in asked if one.forecast and not _leaks(one))
    if not evenings:
        text = "no evening before it fell had enough counts for a forecast"
        return LeftOut(vessel=diary.vessel, reason=Omission("no-forecast", text))
    return Replay(vessel=diary.vessel, quiet_day=found, evenings=evenings)


def replayed(task: Task) -> Replay | LeftOut:
    """Replay one vessel in a worker, like `replay`.

    Parameters
    ----------
    task : Task

    Returns
    -------
    Replay or LeftOut
    """
    return replay(task.diary, settings=task.settings, threshold_per_min=task.threshold_per_min)


def lost(task: Task, error: str) -> LeftOut:
    """Make the result for a vessel that a worker failed on.

    Parameters
    ----------
    task : Task
    error : str
        What is known about the failure.

    Returns
    -------
    LeftOut
    """
    reason = Omission(
        "lost", (f"a worker process failed on it ({error}); try it alone, with --workers 1")
    )
    return LeftOut(vessel=task.diary.vessel, reason=reason)


def _leaks(judgement: Judgement) -> bool:
    return judgement.gravity is not None and judgement.gravity.leak


def _evening(judgement: Judgement, quiet_day: QuietDay) -> Evening:
    assert judgement.forecast is not None
    v, c = judgement.verdict, judgement.forecast.crossing
    go = v.answer == "go"
    return Evening(
        vessel=v.vessel,
        at=v.asked_at,
        fell_at=quiet_day.about,
        low95=c.low95,
        low80=c.low80,
        median=c.median,
        high80=c.high80,
        high95=c.high95,
        go=go,
        early_go=go and v.asked_at < quiet_day.surely_from,
    )


def _holds(low: datetime | None, high: datetime | None, when: datetime) -> bool:
    return low is not None and low <= when and (high is None or when <= high)


def _days(span: timedelta) -> float:
    return span / timedelta(days=1)
