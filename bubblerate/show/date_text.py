"""Words the day a jar falls below its threshold, for pictures; or why there is no day."""

from __future__ import annotations

from enum import Enum
from typing import TYPE_CHECKING, Final

from ..course.budget import Budget
from ..ferment.forecast import Basis
from ..text import format_day, format_rate, format_when, plural
from ..verdict.reasons import Phase
from .verdict_text import asked_text, firmness_text

if TYPE_CHECKING:
    from datetime import datetime

    from ..course.judgement import Judgement

__all__ = ["NoDate", "days_text", "sentence", "tail_title", "why_no_date"]


class NoDate(Enum):
    """Why a picture names no day."""

    UNCOUNTED = "no bubbles counted"
    FEW = "too few counts"
    LEAK = "the airlock misses gas"
    ROUGH = "the fit is rough"
    SUGAR = "gravity disagrees"


_TOLD: Final = {
    NoDate.UNCOUNTED: "no bubbles counted, so no date.",
    NoDate.FEW: "too few counts for a date.",
    NoDate.LEAK: "its airlock misses gas, so its bubbles give no date.",
    NoDate.ROUGH: "its fit is too rough for a date.",
    NoDate.SUGAR: "no date, as bubbles and gravity disagree.",
}


def why_no_date(judgement: Judgement) -> NoDate | None:
    """Say why no day of falling below the threshold can be told; None if one can.

    Parameters
    ----------
    judgement : Judgement

    Returns
    -------
    NoDate or None
    """
    f, g = judgement.forecast, judgement.gravity
    if judgement.tail is None:
        return NoDate.UNCOUNTED
    if f is None:
        return NoDate.FEW
    if g is not None and g.leak:
        return NoDate.LEAK
    if f.distrust:
        return NoDate.ROUGH
    if judgement.budget is not Budget.CLOSED and judgement.phase is Phase.FERMENTING:
        return NoDate.SUGAR
    return None


def tail_title(judgement: Judgement) -> str:
    """Title of the picture of a tail: when it falls below its threshold, what is asked, and when.

    Parameters
    ----------
    judgement : Judgement

    Returns
    -------
    str
        Two lines, which may be broken at tabs.

    Examples
    --------
    >>> import bubblerate
    >>> judged = bubblerate.judge(bubblerate.read("examples/quince.csv"))
    >>> tail_title(judged).expandtabs(1).splitlines()[0]
    'quince fell below 1.0 a minute about 4 Nov (2 to 5 Nov).'
    """
    v, asked = judgement.verdict, asked_text(judgement)
    asked = f"{asked[0].upper()}{asked[1:]}"
    if judgement.phase in (Phase.FERMENTING, Phase.CLEARING):
        asked = f"{asked.removesuffix('.')}, {firmness_text(v.firmness)}."
    return f"{v.vessel}{sentence(judgement)}\n{asked}\t{format_when(v.asked_at)}"


def sentence(judgement: Judgement) -> str:
    """Write the rest of a sentence that starts with a jar's name: the day it falls below.

    Parameters
    ----------
    judgement : Judgement

    Returns
    -------
    str
        Starts with a space or a colon.
    """
    why, f, tail = why_no_date(judgement), judgement.forecast, judgement.tail
    if why is not None or f is None or tail is None:
        return f": {_TOLD[why or NoDate.FEW]}"
    c, below = f.crossing, f"below {format_rate(f.crossing.threshold_per_min)}"
    span = _span(c.low80, c.high80)
    if f.basis is Basis.WHOLE:
        return f" should fall {below}:\t{span}, going by other ferments."
    if c.median is None:
        return f" should not fall {below} within 60 days."
    if c.median <= tail.start:
        return f" has been {below} since {_short(c.median)} or earlier."
    verb = "fell" if c.median <= judgement.verdict.asked_at else "should fall"
    likely = _short(c.median)
    reach = "" if span == likely else f" ({span})"
    return f" {verb} {below}\tabout {likely}{reach}."


def days_text(judgement: Judgement) -> str:
    """Write how many days away it is, in few words for a small panel.

    Parameters
    ----------
    judgement : Judgement

    Returns
    -------
    str
        Such as "below 1.0/min in 12 days" or "below 1.0/min 3 days ago".
    """
    why, f, tail = why_no_date(judgement), judgement.forecast, judgement.tail
    if why is not None or f is None or tail is None:
        return f"no date: {(why or NoDate.FEW).value}"
    c, at = f.crossing, judgement.verdict.asked_at
    below = f"below {format_rate(c.threshold_per_min, short=True)}"
    if f.basis is Basis.WHOLE:
        low = None if c.low80 is None else max(0, (c.low80.date() - at.date()).days)
        if low is None or c.high80 is None:
            return f"{below}: no sooner than {_more(low)}"
        return f"{below} in {low} to {(c.high80.date() - at.date()).days} days"
    if c.median is None:
        return f"not {below} in 60 days"
    days = (c.median.date() - at.date()).days
    if c.median <= tail.start:
        return f"{below} for {plural(-days, 'day')} or more"
    if days == 0:
        return f"{below} today"
    return f"{below} in {plural(days, 'day')}" if days > 0 else f"{below} {_ago(-days)}"


def _ago(days: int) -> str:
    return f"{plural(days, 'day')} ago"


def _more(days: int | None) -> str:
    return "in 60 days" if days is None else f"in {plural(days, 'day')}"


def _span(low: datetime | None, high: datetime | None) -> str:
    """The 80 % interval as days."""
    if low is None:
        return "more than 60 days away"
    if high is None:
        return f"{_short(low)} to more than 60 days away"
    if (low.year, low.month, low.day) == (high.year, high.month, high.day):
        return _short(low)
    same = (low.year, low.month) == (high.year, high.month)
    return f"{low.day if same else _short(low)} to {_short(high)}"


def _short(day: datetime) -> str:
    """Day and month; the year is in the line below."""
    return format_day(day, year=False)
