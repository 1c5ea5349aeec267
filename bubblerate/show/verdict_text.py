"""Writes a judgement for people; no sums here."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Final

from ..course.budget import Budget
from ..ferment.forecast import Basis
from ..text import beside, format_day, format_rate, format_when, percent
from ..verdict.cautions import caution
from ..verdict.reasons import Phase, Question
from .step_text import ASKED, answer_text, next_text

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date, datetime

    from ..course.judgement import Judgement
    from ..ferment.chances import Crossing, Span
    from ..ferment.forecast import Forecast
    from ..ferment.gravity_check import GravityCheck
    from ..verdict.case import Firmness

__all__ = ["as_text", "asked_text", "by_text", "firmness_text", "next_step_text", "told"]

_WIDTH = 92  # unless the terminal is narrower
_FIRMNESS = {
    "both": "by both bubbles and gravity",
    "bubbles": "by bubbles alone",
    "gravity": "by gravity alone",
    "none": "nothing proves it either way",
}
_CLOSED: Final = {Phase.BOTTLED: "in bottles.", Phase.EMPTY: "empty."}
_NO: Final = "Not yet."
_COLUMN: Final = 8  # column at which the text starts
_WIDEST_HEAD: Final = 60  # a moment further right is not seen with its jar
_EVEN: Final = 0.5  # chance; above it the day is past

_GUESSED: Final = "going by other ferments; three counts past its peak will narrow it down"

_READING_REACH_POINTS = 4.0  # two readings and a guessed finish can be this far off together


def firmness_text(firmness: Firmness) -> str:
    """What an answer is based on, in a few words: "by bubbles alone"."""
    return _FIRMNESS[firmness]


def as_text(judgement: Judgement, *, width: int = _WIDTH, more: bool = False) -> str:
    """Write a judgement for a person.

    Parameters
    ----------
    judgement : Judgement
    width : int
        Characters a line may hold.
    more : bool
        Whether to give every reason, and the intervals, slope and gas behind them.

    Returns
    -------
    str
        Several lines, no line end after the last.

    Examples
    --------
    >>> import bubblerate
    >>> text = as_text(bubblerate.judge(bubblerate.read("examples/quince.csv")), width=60)
    >>> "GO" in text, max(map(len, text.splitlines())) <= 60
    (True, True)
    """
    lines = [*_head(judgement, width), ""]
    for label, text in told(judgement, more=more):
        lines += beside(label, text, width=width, column=_COLUMN)
    return "\n".join(lines)


def told(judgement: Judgement, *, more: bool = False) -> tuple[tuple[str, str], ...]:
    """Give everything a judgement says below its question, each part with a short word.

    Parameters
    ----------
    judgement : Judgement
    more : bool
        Whether to give every reason, and the intervals, slope and gas behind them.

    Returns
    -------
    tuple of (str, str)
        Word and text; the answer, "GO", "WAIT" or "STOP", comes first. A part that continues the
        one above has no word.
    """
    v = judgement.verdict
    rest = _all(judgement) if more else _short_form(judgement)
    return (answer_text(v.answer, v.next), v.reasons[0].text), *rest


def by_text(chance: float | None, when: date, *, per_min: float, width: int = _WIDTH) -> str:
    """Say how likely it is to be quiet by a day.

    Parameters
    ----------
    chance : float or None
        None if nothing can be forecast.
    when : date
    per_min : float
        The threshold [bubbles/min].
    width : int
        Characters a line may hold.

    Returns
    -------
    str
    """
    text = (
        "No chance can be worked out: too few counts, or the bubbles and the gravity do not agree."
    )
    if chance is not None:
        told = "under 1 %" if chance < 0.005 else f"{min(99.0, 100.0 * chance):.0f} %"
        text = f"Chance that it is under {format_rate(per_min)} by {format_day(when)}: {told}."
    return "\n".join(beside("by", text, width=width, column=_COLUMN))


def _head(judgement: Judgement, width: int) -> list[str]:
    """Write the jar and its question on the left, the moment on the right or below."""
    moment = format_when(judgement.verdict.asked_at)
    asked = f"{judgement.verdict.vessel}: {asked_text(judgement)}"
    if len(asked) + 2 + len(moment) <= width:
        return [f"{asked}{moment:>{min(width, _WIDEST_HEAD) - len(asked)}}"]
    return [*textwrap.wrap(asked, width), moment]


def asked_text(judgement: Judgement) -> str:
    """Write the question about a jar, and the short answer: "rack it? Not yet."."""
    v = judgement.verdict
    if judgement.phase in _CLOSED:
        return _CLOSED[judgement.phase]
    return f"{ASKED[v.question]} {'Yes.' if v.answer == 'go' else _NO}"


def _short_form(judgement: Judgement) -> Iterator[tuple[str, str]]:
    """What to know tonight: why, when, what next, what to watch."""
    v, f, g = judgement.verdict, judgement.forecast, judgement.gravity
    if len(v.reasons) > 1:
        yield "why", v.reasons[1].text
    waits = judgement.phase is Phase.FERMENTING and v.answer == "wait" and f is not None
    if waits and f is not None and not (g is not None and g.leak) and f.crossing.p_already < _EVEN:
        yield "when", _soon(judgement, f)
    yield "next", next_step_text(judgement)
    if judgement.phase is not Phase.EMPTY:
        yield "care", _care(judgement)


def _all(judgement: Judgement) -> Iterator[tuple[str, str]]:
    """Every reason, and the numbers behind it."""
    v, f, g = judgement.verdict, judgement.forecast, judgement.gravity
    yield "basis", f"{_FIRMNESS[v.firmness].capitalize()}."
    for i, reason in enumerate(v.reasons[1:]):
        yield "why" if i == 0 else "", reason.text
    if judgement.phase not in _CLOSED:
        yield from _numbers(judgement, f, g)
    yield "next", next_step_text(judgement)
    if judgement.phase is not Phase.EMPTY:
        yield "care", _care(judgement)


def _numbers(
    judgement: Judgement, f: Forecast | None, g: GravityCheck | None
) -> Iterator[tuple[str, str]]:
    if f is not None:
        misled = g is not None and g.leak
        blind = "The airlock misses gas, so its slowing down says nothing about the end."
        yield "when", blind if misled else _window(judgement, f)
        if f.distrust:
            yield "rough", f"The forecast is rough: {f.distrust}."
        if f.threshold_points_per_day is not None:
            threshold = format_rate(f.crossing.threshold_per_min)
            here = _two(f.threshold_points_per_day)
            yield "slope", f"{threshold} in this jar means {here} points a day."
    if g is not None:
        yield "sg", _gravity(g, f)


def next_step_text(judgement: Judgement) -> str:
    """Write the next step of a jar, as of the evening asked about."""
    v = judgement.verdict
    asked_on = judgement.course.asked_on if judgement.course is not None else v.asked_at.date()
    return next_text(v.next, asked_on)


def _care(judgement: Judgement) -> str:
    """The caution of the next step, and about bottles if bottling is asked about."""
    v = judgement.verdict
    if judgement.phase not in _CLOSED and v.question is Question.BOTTLING:
        return caution(v)
    return v.next.care or caution(v)


def _soon(judgement: Judgement, f: Forecast) -> str:
    """When it should be quiet, in a line; a range if based on other ferments alone."""
    c = f.crossing
    if judgement.budget is not Budget.CLOSED:
        return _no_date(judgement.budget, c)
    threshold, likely = format_rate(c.threshold_per_min), _dates(c.low80, c.high80)
    if f.basis is Basis.WHOLE:
        return f"Under {threshold}: {likely}, {_GUESSED}."
    if c.median is None or c.median.date() < judgement.verdict.asked_at.date():
        return _window(judgement, f)
    return f"Under {threshold} about {_short(c.median)} ({likely})."


def _no_date(budget: Budget, c: Crossing) -> str:
    """Why there is no date, and what can be said instead."""
    if budget is Budget.OVER:
        return "No date: by the bubbles, more sugar is left than the gravity allows."
    sooner = "No date" if c.median is None else f"Not before {_short(c.median)}"
    return f"{sooner}: the gravity has further to fall than the bubbles show."


def _window(judgement: Judgement, f: Forecast) -> str:
    """The dates of the crossing, in words."""
    c = f.crossing
    if judgement.budget is not Budget.CLOSED and judgement.phase is Phase.FERMENTING:
        return _no_date(judgement.budget, c)
    threshold, asked_at = format_rate(c.threshold_per_min), judgement.verdict.asked_at
    if f.basis is Basis.WHOLE:
        at80, at95 = _dates(c.low80, c.high80), _dates(c.low95, c.high95)
        return f"Under {threshold}: {at80} (80 %), {at95} (95 %), {_GUESSED}."
    if c.median is None:
        return f"Not below {threshold} within 60 days (chance {percent(c.p_not_in_60_days)})."
    if judgement.tail is not None and c.median <= judgement.tail.start:
        return f"Below {threshold} since {_short(c.median)} or earlier."
    day = _on(c.median.date(), asked_at)
    verb = "Fell" if c.median <= asked_at else "Should fall"
    at80, at95 = _dates(c.low80, c.high80), _dates(c.low95, c.high95)
    return f"{verb} below {threshold} about {day} (80 %: {at80}; 95 %: {at95})."


def _dates(low: datetime | None, high: datetime | None) -> str:
    if low is None:
        return "more than 60 days away"
    if high is None:
        return f"{_short(low)} to more than 60 days away"
    return _short(low) if low.date() == high.date() else f"{_short(low)} to {_short(high)}"


def _short(day: date) -> str:
    """Day and month: within 60 days the year is not in doubt."""
    return format_day(day, year=False)


def _gravity(g: GravityCheck, f: Forecast | None) -> str:
    """The last reading compared with the finish, and what the bubbles add."""
    whose = ("from its start and style") if g.said_finish_sg is None else "as you set it"
    text = (
        f"{g.latest.sg:.3f} on {_short(g.latest.when)}; expected finish {g.finish_sg:.3f} "
        f"({whose})."
    )
    # the forecast by bubbles is left out if gravity shows that they mislead
    left = None if f is None or g.leak or g.gas_only else f.points_to_fall
    if left is not None and left.high80 > g.above_finish_points - _READING_REACH_POINTS:
        text += f" Still to fall: {_two(left)} points."
    if f is not None and f.bubble_ml is not None:
        text += f" Gas per bubble counted: {_two(f.bubble_ml)} mL."
    return text


def _two(span: Span) -> str:
    """Write an interval with two digits at most, none finer than a tenth."""
    low, high = (f"{x:.0f}" if x >= 9.5 else f"{x:z.1f}" for x in (span.low80, span.high80))
    return low if low == high else f"{low} to {high}"


def _on(day: date, asked_at: datetime) -> str:
    return "today" if day == asked_at.date() else _short(day)
