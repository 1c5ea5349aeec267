"""A judgement as text for people; no sums here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..text import beside, format_day, format_rate, format_when
from ..verdict.cautions import caution

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date, datetime

    from ..ferment.forecast import Crossing, Forecast, Span
    from ..ferment.gravity_check import GravityCheck
    from ..verdict.judgement import Judgement
    from ..verdict.limits import Question

__all__ = ["as_text", "headline"]

_WIDTH = 92  # unless the terminal is narrower
_FIRMNESS = {
    "both": "by bubbles and gravity both",
    "bubbles": "by bubbles alone",
    "gravity": "by gravity alone",
    "none": "for want of proof",
}
_QUESTION: dict[Question, str] = {"racking": "rack it?", "bottling": "bottle it?"}

_READING_REACH_POINTS = 4.0  # two readings and a guessed finish can be this far off together


def headline(judgement: Judgement) -> str:
    """Verdict and firmness in one short line, for a title.

    Parameters
    ----------
    judgement : Judgement

    Returns
    -------
    str
        Such as "quince: go on racking (by bubbles and gravity both)".
    """
    v = judgement.verdict
    return f"{v.vessel}: {v.answer} on {v.question} ({_FIRMNESS[v.firmness]})"


def as_text(judgement: Judgement, *, width: int = _WIDTH) -> str:
    """Write a judgement out for a person.

    Parameters
    ----------
    judgement : Judgement
    width : int
        Characters a line may hold.

    Returns
    -------
    str
        Several lines, no line end after the last.
    """
    v = judgement.verdict
    lines = [f"{v.vessel}: {_QUESTION[v.question]}  ({format_when(v.asked_at)})", ""]
    lines += [f"  {v.answer.upper()}, {_FIRMNESS[v.firmness]}.", ""]
    for label, text in _paragraphs(judgement):
        lines += beside(label, text, width=width)
    return "\n".join(lines)


def _paragraphs(judgement: Judgement) -> Iterator[tuple[str, str]]:
    """Labelled paragraphs under the answer."""
    v, f, g = judgement.verdict, judgement.forecast, judgement.gravity
    for i, reason in enumerate(v.reasons):
        yield "why" if i == 0 else "", reason.text
    if judgement.facts.acts.bottled_at is not None:
        yield "care", caution(v)
        return
    if f is not None:
        misled = g is not None and g.leak
        blind = "The airlock misses gas, so its slowing foretells nothing."
        yield "when", blind if misled else _window(judgement, f.crossing)
        if f.distrust:
            yield "rough", f"The forecast is rough: {f.distrust}."
        if f.threshold_points_per_day is not None:
            threshold = format_rate(f.crossing.threshold_per_min)
            here = _two(f.threshold_points_per_day)
            yield "slope", f"{threshold} in this vessel means {here} points a day."
    if g is not None:
        yield "gravity", _gravity(g, f)
    yield "next", ("" if v.next.on is None else f"{_on(v.next.on, v.asked_at)}: ") + v.next.do
    yield "care", caution(v)


def _window(judgement: Judgement, c: Crossing) -> str:
    """The dates of the crossing, in words."""
    threshold, asked_at = format_rate(c.threshold_per_min), judgement.verdict.asked_at
    if c.median is None:
        return f"Not below {threshold} within 60 days (chance {c.p_not_in_60_days:.0%})."
    if judgement.tail is not None and c.median <= judgement.tail.start:
        return f"Below {threshold} ever since {_short(c.median)}, or longer."
    day = _on(c.median.date(), asked_at)
    verb = "Fell" if c.median <= asked_at else "Should fall"
    at80, at95 = _dates(c.low80, c.high80), _dates(c.low95, c.high95)
    return f"{verb} below {threshold} about {day} (80 %: {at80}; 95 %: {at95})."


def _dates(low: datetime | None, high: datetime | None) -> str:
    if low is None:
        return "more than 60 days on"
    if high is None:
        return f"{_short(low)} to more than 60 days on"
    return _short(low) if low.date() == high.date() else f"{_short(low)} to {_short(high)}"


def _short(day: date) -> str:
    """Day and month: within 60 days the year is not in doubt."""
    return format_day(day, year=False)


def _gravity(g: GravityCheck, f: Forecast | None) -> str:
    """The last reading against the finish, and what the bubbles add."""
    whose = "expected" if g.finish_known else "usual where no finish is set"
    text = f"{g.latest.sg:.3f} on {_short(g.latest.when)}; about {g.finish_sg:.3f} is {whose}."
    # what bubbles foretell is left out where the gravity shows that they mislead
    left = None if f is None or g.leak or g.gas_only else f.points_to_fall
    if left is not None and left.high80 > g.above_finish_points - _READING_REACH_POINTS:
        text += f" Still to fall: {_two(left)} points."
    if f is not None and f.bubble_ml is not None:
        text += f" Gas for each bubble counted: {_two(f.bubble_ml)} mL."
    return text


def _two(span: Span) -> str:
    """An interval to the digits it deserves: two at most, and none finer than a tenth."""
    low, high = (f"{x:.0f}" if x >= 9.5 else f"{x:z.1f}" for x in (span.low80, span.high80))
    return low if low == high else f"{low} to {high}"


def _on(day: date, asked_at: datetime) -> str:
    return "today" if day == asked_at.date() else _short(day)
