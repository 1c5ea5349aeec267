"""Makes sheets to hang up: one for a jar's evenings, and a list of all jars for the wall."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ..course.volumes import measure
from ..text import format_day, format_rate
from ..verdict import cautions
from ..verdict.reasons import Kind, Phase
from .balance_text import strength_text
from .blocks import Grid, Heading, Line, Pairs, Paper
from .step_text import PHASES_SHORT, also_text, day_text, days_text, short_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from datetime import date

    from ..course.engine import Course, Step
    from ..course.figures import Figures
    from ..course.judgement import Judgement
    from .blocks import Block

__all__ = ["evening_sheet", "wall_list"]

_LINES: Final = 21
_EVENING_HEAD: Final = ("day", "time", "bubbles", "over", "C", "gravity", "done or seen")
_WORDS: Final = (
    "Words: racked, strained, fed, topped-up with wine, juice or water, moved to cold or warm; "
    "clear, cloudy, lees, still, prickle. Count for five minutes when bubbles are few. A missed "
    "evening does no harm; a guess does."
)


def evening_sheet(judged: Judgement, figures: Figures, *, link: str = "") -> Paper:
    """Make the sheet for a jar: what it is, what is next, and lines for its evenings.

    Parameters
    ----------
    judged : Judgement
    figures : Figures
    link : str
        Address of the jar's page, drawn as a code; empty for none.

    Returns
    -------
    Paper
    """
    course = judged.course
    blocks: list[Block] = [Pairs(tuple(_about(judged, figures)))]
    if course is not None:
        blocks += [Heading("This week"), Pairs(tuple(_week(course)))]
    lines = Grid(
        _EVENING_HEAD, (("",) * len(_EVENING_HEAD),) * _LINES, (9, 8, 10, 8, 7, 10, 48), row_mm=8.2
    )
    care = cautions.SEALED if judged.phase is Phase.FERMENTING else cautions.HINT
    return Paper(
        title=judged.diary.vessel,
        blocks=(*blocks, lines, Line(_WORDS, small=True), Line(care, small=True)),
        link=link,
    )


def _about(judged: Judgement, figures: Figures) -> Iterator[tuple[str, str]]:
    """What the jar is."""
    stands, course = figures.stands, judged.course
    style = "" if course is None or course.facts.about.style is None else course.facts.about.style
    started = "" if stands.pitched_on is None else f"started {format_day(stands.pitched_on)}"
    litres = "" if stands.litres is None else measure(stands.litres)
    yield "wine", ", ".join(part for part in (style, started, litres) if part) or "-"
    holds = figures.balance
    if holds is not None:
        yield "strength", f"{strength_text(holds)} (an estimate)"
    if course is not None:
        last, end = course.facts.gravity.last, course.facts.known.end_sg
        read = "no reading since the start" if last is None else f"{last.sg:.3f} on "
        read += "" if last is None else format_day(last.on)
        should = "" if end is None else f"; should finish at {end[0]:.3f} to {end[1]:.3f}"
        yield "gravity", read + should
    quiet = format_rate(judged.verdict.threshold_per_min)
    yield "quiet", f"under {quiet}"


def _week(course: Course) -> Iterator[tuple[str, str]]:
    """The next step and the one after it."""
    today = course.asked_on
    yield days_text(course.next, today).split(" (")[0].split(",")[0], _told(course.next)
    if course.steps:
        later = course.steps[0]
        yield day_text(later.on, today), later.do


def _told(step: Step) -> str:
    also = also_text(step)
    return f"{step.do} {also}".strip()


def wall_list(judged: Sequence[Judgement], today: date, *, unread: Iterable[str] = ()) -> Paper:
    """List all jars, with what is next and what follows.

    Parameters
    ----------
    judged : sequence of Judgement
        In the order to show.
    today : date
    unread : iterable of str
        What is wrong with unreadable diaries.

    Returns
    -------
    Paper
    """
    rows = tuple(_row(one, today) for one in judged)
    faults = tuple(Line(text) for text in unread)
    return Paper(
        title=f"All jars, {format_day(today)}",
        blocks=(
            Grid(("jar", "now", "next", "what", "then", "done"), rows, (20, 10, 12, 22, 26, 10)),
            *faults,
            Line(cautions.HINT, small=True),
            Line(cautions.SEALED, small=True),
        ),
    )


def _row(judged: Judgement, today: date) -> tuple[str, ...]:
    course = judged.course
    if course is None:
        return (judged.diary.vessel, "-", "", "nothing written yet", "", "")
    step = course.next
    later = next((s for s in course.steps if s.kind is not step.kind), None)
    then = "" if later is None else f"{short_text(later)}, {day_text(later.on, today)}"
    nothing = step.kind is Kind.NOTHING
    return (
        judged.diary.vessel,
        PHASES_SHORT[course.phase],
        "" if nothing else day_text(step.on, today),
        short_text(step),
        "" if nothing else then,
        "",
    )
