"""Words steps, phases and windows of a course; no sums here."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ..course.engine import Step
from ..text import format_day
from ..verdict.reasons import Kind, Phase, Question

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from ..course.windows import Window
    from ..verdict.reasons import NextStep

__all__ = [
    "ANSWERS",
    "ASKED",
    "PHASES",
    "PHASES_SHORT",
    "SHORT",
    "also_text",
    "answer_text",
    "day_text",
    "days_text",
    "next_text",
    "settling_text",
    "short_text",
    "window_text",
]

ANSWERS: Final[Mapping[str, str]] = {"go": "GO", "wait": "WAIT"}
ASKED: Final = {Question.RACKING: "rack it?", Question.BOTTLING: "bottle it?"}
PHASES: Final = {
    Phase.FERMENTING: "fermenting",
    Phase.CLEARING: "clearing",
    Phase.BOTTLED: "bottled",
    Phase.EMPTY: "empty",
}
PHASES_SHORT: Final = {  # for a line of the shelf
    Phase.FERMENTING: "ferment",
    Phase.CLEARING: "clear",
    Phase.BOTTLED: "bottled",
    Phase.EMPTY: "empty",
}
SHORT: Final[dict[Kind, str]] = {
    Kind.ANSWER: "read again: a mistake?",
    Kind.COUNT: "count",
    Kind.BUNG: "press the bung",
    Kind.READ: "read the gravity",
    Kind.WARM: "warm it",
    Kind.ROUSE: "stir, add nutrient",
    Kind.RESTART: "start fresh yeast",
    Kind.RACK: "rack",
    Kind.TOP_UP: "top up",
    Kind.LOOK: "look: clear? still?",
    Kind.CHILL: "cool it",
    Kind.FINE: "fine it",
    Kind.STABILISE: "stabilise, or test",
    Kind.BOTTLE: "bottle",
    Kind.RESCUE: "open the bottles",
    Kind.LAY: "lay the bottles down",
    Kind.WATCH: "squeeze the bottle",
    Kind.DRINK: "drink",
    Kind.NOTHING: "nothing",
}
# By its row of the table, where that says more than the kind.
_SHORT_BY_ROW: Final[Mapping[str, str]] = {
    **dict.fromkeys(("C2", "C12c"), "shake: gas left?"),
    "C16": "look: malolactic?",
    "C18": "bottle, read first",
    "C18b": "bottle, count first",
}
# Events that settle a kind of step, as typed.
_SETTLED_BY: Final[Mapping[Kind, str]] = {
    Kind.BUNG: "bung-tight or bung-leaked",
    Kind.WARM: "warmed",
    Kind.ROUSE: "stirred",
    Kind.RESTART: "starter",
    Kind.RACK: "racked",
    Kind.TOP_UP: "topped-up",
    Kind.LOOK: "clear, cloudy or lees; still or prickle",
    Kind.CHILL: "chilled",
    Kind.FINE: "fined",
    Kind.STABILISE: "stabilised",
    Kind.BOTTLE: "bottled",
    Kind.RESCUE: "poured-back",
}
_SETTLED_BY_ROW: Final[Mapping[str, str]] = {
    "C2": "still or prickle; clear or cloudy",
    "C12c": "still or prickle",
    "C16": "malolactic-over, or sulphited; clear or cloudy",
}
_FAR_DAYS: Final = 300  # from here on a day needs its year
_MONTHS_DAYS, _PARTS_DAYS = 60, 14  # a window this wide is given in months, or parts of them


def answer_text(answer: str, step: NextStep) -> str:
    """The first word of a screen: GO, WAIT, or STOP if bottles may burst."""
    return "STOP" if step.kind is Kind.RESCUE else ANSWERS[answer]


def also_text(step: NextStep) -> str:
    """What the same visit may settle, as one sentence; empty if nothing."""
    if not step.also:
        return ""
    text = f"Also: {'; '.join(step.also)}"
    return text if text.endswith("?") else f"{text}."


def day_text(day: date, today: date) -> str:
    """Write a day as seen from another, with the year if it could be mistaken."""
    if day == today:
        return "today"
    return format_day(day, year=abs((day - today).days) > _FAR_DAYS)


def days_text(step: NextStep, today: date) -> str:
    """Write when to do a step: its evening, since when it is due, and until when."""
    if step.on is None:
        return ""
    text = day_text(step.on, today)
    if step.since is not None and step.since < step.on:
        text += f" (since {day_text(step.since, today)})"
    if step.until is not None and step.until > step.on:
        text += f", by {day_text(step.until, today)}"
    return text


def next_text(step: NextStep, today: date) -> str:
    """Write when to do a step, what it is, and what the same visit may settle."""
    when = days_text(step, today)
    return f"{f'{when}: ' if when else ''}{step.do} {also_text(step)}".rstrip()


def settling_text(step: NextStep) -> str:
    """The events that settle a step once it is done; empty if a count or a reading does."""
    return _SETTLED_BY_ROW.get(_row_of(step)) or _SETTLED_BY.get(step.kind, "")


def short_text(step: NextStep) -> str:
    """The step in a few words, for a line that has no room for more."""
    return _SHORT_BY_ROW.get(_row_of(step)) or SHORT[step.kind]


def window_text(window: Window, today: date) -> str:
    """Write two days of a plan: the wider apart, the rougher.

    Examples
    --------
    >>> from datetime import date
    >>> from bubblerate.course.windows import Window
    >>> low, high = date(2027, 2, 3), date(2027, 5, 3)
    >>> window_text(Window(low=low, high=high, soonest=low), date(2026, 11, 14))
    'Feb to May'
    """
    low, high = window.low, window.high
    wide = (high - low).days
    far = (high - today).days > _FAR_DAYS
    if wide > _MONTHS_DAYS:
        same = low.year == high.year
        first = format_day(low, day=False, year=far and not same)
        return f"{first} to {format_day(high, day=False, year=far)}"
    if wide > _PARTS_DAYS:
        return f"{_part(low)} to {_part(high)}{f' {high.year}' if far else ''}"
    if low == high:
        return day_text(low, today)
    return f"{format_day(low, year=False)} to {day_text(high, today)}"


def _part(day: date) -> str:
    """A third of a month."""
    third = "early" if day.day <= 10 else "mid" if day.day <= 20 else "late"
    return f"{third} {format_day(day, day=False, year=False)}"


def _row_of(step: NextStep) -> str:
    """Code of the row that asked for a step; empty if it is not of a course."""
    return step.row if isinstance(step, Step) else ""
