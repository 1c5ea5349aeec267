"""Gives the one answer that every screen shows: the verdict of a jar, from its course.

The sums of `verdict` give the forecast, the gravity check and the reasons; the table of steps says
go or wait, and what is next.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Literal

from ..diary.given import a_diary, last_moment
from ..diary.settings import Settings
from ..text import format_when, html_table, printable
from ..verdict.judgement import Judgement as Weighing
from ..verdict.judgement import conclude, fit_situation, situation
from ..verdict.reasons import Code, Kind, Phase, Question, Reason
from .because import because, nothing_to_do
from .budget import Budget
from .days import evening_of, newest
from .engine import Course, course_of
from .fold import fold
from .known import Weigher, about_of, rows_of
from .returning import returned, returned_text

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from ..diary.visit import Diary
    from ..ferment.fit import Fit
    from ..ferment.forecast import Forecast
    from ..ferment.gravity_check import GravityCheck
    from ..ferment.tail import Tail
    from ..ferment.whole import Whole
    from ..verdict.case import Answer, Firmness
    from ..verdict.decide import Verdict
    from ..verdict.facts import Facts
    from ..verdict.judgement import Situation
    from ..verdict.proof import Proof
    from ..verdict.reasons import NextStep

__all__ = ["Judgement", "judge", "quiet_by"]

_HELPS = frozenset({Kind.BUNG, Kind.WARM, Kind.ROUSE, Kind.RESTART, Kind.STABILISE})
_UNSEEN = frozenset({Code.STALE_COUNT, Code.OLD_READING, Code.NO_COUNTS})
_BESIDE = frozenset({Code.SLIP, Code.WEATHER})  # given with the reasons, whatever the answer


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)
class Judgement(Weighing):
    """A verdict with all that led to it, and the course it comes from.

    Attributes
    ----------
    diary : Diary
        The rows no later than the moment asked about.
    litres : float or None
        Wine in the vessel [L].
    tail : Tail or None
        The counts that show it slowing; None if nothing was counted.
    whole : Whole or None
        The ferment since it was pitched; None if none of the atlas can be like it.
    fit : Fit or None
        None if the tail holds too few counts, or the sums failed.
    forecast : Forecast or None
        By whole ferments like it alone where there is no fit; None if none can be like it.
    gravity : GravityCheck or None
        None if no gravity was read.
    facts : Facts
        What the counts and the acts show, as the verdict takes them.
    proof : Proof
        What is known about the sugar left, whatever was asked.
    verdict : Verdict
        Its answer and its next step are those of the course.
    course : Course or None
        Phase, next step and what follows; None if nothing is written down.

    Examples
    --------
    >>> import bubblerate
    >>> judged = bubblerate.judge(bubblerate.read("examples/quince.csv"))
    >>> judged.verdict.answer, judged.phase.value, judged.verdict.next.do
    ('go', 'fermenting', 'Rack it off its lees.')
    """

    diary: Diary
    litres: float | None
    tail: Tail | None
    whole: Whole | None
    fit: Fit | None
    forecast: Forecast | None
    gravity: GravityCheck | None
    facts: Facts
    proof: Proof
    verdict: Verdict
    course: Course | None

    @property
    def phase(self) -> Phase:
        """Where in its life the jar is; fermenting if nothing is written down."""
        return Phase.FERMENTING if self.course is None else self.course.phase

    @property
    def budget(self) -> Budget:
        """What the forecast does with the sugar that gravity shows."""
        return Budget.CLOSED if self.course is None else self.course.facts.known.budget

    def __repr__(self) -> str:
        v, question = self.verdict, Question(self.verdict.question).value
        asked = f"{v.answer} for {question}, as of {format_when(v.asked_at)}"
        return f"<Judgement {printable(v.vessel)}: {asked}>"

    def _repr_html_(self) -> str:
        v, question = self.verdict, Question(self.verdict.question).value
        told = {
            "vessel": v.vessel,
            question: v.answer,
            "as of": format_when(v.asked_at),
            "why": " ".join(reason.text for reason in v.reasons),
            "next": v.next.do,
        }
        return html_table([], [*told.items()])


def judge(
    diary: Diary,
    *,
    at: datetime | None = None,
    question: Question | Literal["racking", "bottling"] | None = None,
    threshold_per_min: float | None = None,
    settings: Settings | None = None,
) -> Judgement:
    """Decide go or wait for one vessel, as of one moment.

    Parameters
    ----------
    diary : Diary
        Its rows; those later than `at` are not used.
    at : datetime, optional
        The moment asked about, with UTC offset; by default that of the last live row.
    question : {"racking", "bottling"}, optional
        What is to be decided; by default racking while it ferments, and bottling after.
    threshold_per_min : float, optional
        Rate below which the vessel counts as quiet [bubbles/min]; by default that of `settings`. It
        changes only the answer; the next step uses that of the settings.
    settings : Settings, optional
        Hydrometer, threshold, and what is known about each vessel.

    Returns
    -------
    Judgement

    Raises
    ------
    InputError
        If `diary` is no diary, or has no row and `at` is not given.
    ValueError
        If the threshold is not above 0.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from pathlib import Path
    >>> from bubblerate import Diary, Visit
    >>> evening = datetime(2026, 10, 1, 21, tzinfo=UTC)
    >>> diary = Diary(path=Path("fig.csv"), vessel="fig", visits=(Visit(when=evening, bubbles=9),))
    >>> judged = judge(diary)
    >>> judged
    <Judgement fig: wait for racking, as of 1 Oct 2026 21:00>
    >>> judged.verdict.answer, judged.phase.value, judged.verdict.next.kind.value
    ('wait', 'fermenting', 'count')
    """
    settings = settings if settings is not None else Settings()
    asked_at = last_moment(diary) if at is None else at
    asked = situation(a_diary(diary), asked_at, settings, threshold_per_min=threshold_per_min)
    fit = fit_situation(asked)
    if not asked.diary.batch:
        return _judgement(conclude(asked, fit, Question(question or Question.RACKING)), None, None)
    for_answer = _held(_course(asked, fit), asked, fit)
    same = asked.threshold_per_min == settings.threshold_per_min
    usual = for_answer if same else _held(_course(_usual(asked), fit), asked, fit)
    about = Question(question or usual.question)
    return _judgement(conclude(asked, fit, about), for_answer, usual)


def quiet_by(judgement: Judgement, when: datetime) -> float | None:
    """Chance that the bubbling is below the threshold by a moment.

    Parameters
    ----------
    judgement : Judgement
    when : datetime
        Aware.

    Returns
    -------
    float or None
        None if there is no forecast, or if gravity shows that the airlock misses gas or that the
        forecast does not use up the sugar there is.
    """
    leaks = judgement.gravity is not None and judgement.gravity.leak
    if judgement.forecast is None or leaks or judgement.budget is not Budget.CLOSED:
        return None
    return judgement.forecast.crossing.chance_by(when)


def _usual(asked: Situation) -> Situation:
    """The same with the threshold of the settings."""
    return replace(asked, threshold_per_min=asked.settings.threshold_per_min)


def _course(asked: Situation, fit: Fit | None) -> Course:
    """Course of the wine that is in the jar, as of the evening asked about."""
    rows = rows_of(asked)
    about = about_of(asked.settings, asked.diary.vessel, threshold_per_min=asked.threshold_per_min)
    facts = fold(rows, about, Weigher(situation=asked, fit=fit))
    last = rows[-1].when
    on = evening_of(asked.at.astimezone(last.tzinfo))
    return course_of(facts, max(on, evening_of(last)))


def _held(course: Course, asked: Situation, fit: Fit | None) -> Course:
    """The course, with what the proof still lacks instead of a bottling it does not allow."""
    if course.next.kind is not Kind.BOTTLE:
        return course
    found = conclude(asked, fit, Question.BOTTLING)
    if found.proof.go:
        return course
    lacking = found.verdict.next
    on = newest(lacking.on, course.asked_on)
    step = replace(
        course.next, kind=lacking.kind, do=lacking.do, on=on, since=on, until=None, also=()
    )
    return replace(course, next=step)


def _judgement(found: Weighing, for_answer: Course | None, usual: Course | None) -> Judgement:
    verdict = found.verdict
    if for_answer is not None and usual is not None:
        verdict = _decided(verdict, for_answer, usual.next)
    kept = {one.name: getattr(found, one.name) for one in fields(found)}
    return Judgement(**{**kept, "verdict": verdict}, course=usual)


def _decided(verdict: Verdict, for_answer: Course, step: NextStep) -> Verdict:
    """The verdict of the course, with reasons that do not contradict it."""
    question = verdict.question
    answer: Answer = "go" if for_answer.go(question) else "wait"
    if answer == verdict.answer and for_answer.phase is not Phase.EMPTY:
        first = _first(for_answer, verdict) if answer == "wait" else ()
        return replace(verdict, reasons=(*first, *verdict.reasons), next=step)
    closed = nothing_to_do(question, for_answer.facts) if answer == "wait" else ""
    lead = closed or because(for_answer.next.row, for_answer.facts)
    beside = (reason for reason in verdict.reasons if reason.code in _BESIDE)
    return replace(
        verdict,
        answer=answer,
        firmness=_firmness(answer, for_answer),
        reasons=(Reason(Code.COURSE, lead), *beside),
        next=step,
    )


def _first(course: Course, verdict: Verdict) -> Iterator[Reason]:
    """What is said first: why bottles may burst, or that a quiet jar bubbles again.

    And why it is to be helped or left alone, where the verdict would begin with what nobody looked
    at of late and tonight's step does not ask for, or with a leak that was put right.
    """
    step, code = course.next, verdict.reasons[0].code
    unasked = step.kind in _HELPS or step.since > course.asked_on or step.row == "F3b"
    tight = course.facts.was_done(Kind.BUNG, course.facts.gravity.read_on)
    aside = (code in _UNSEEN and unasked) or (code == Code.LEAK and tight)
    if step.kind is Kind.RESCUE or (aside and verdict.question == course.question):
        yield Reason(Code.COURSE, because(course.next.row, course.facts))
    if course.phase is Phase.BOTTLED and course.facts.doubted_on and course.facts.sugar_noted_on:
        yield Reason(Code.COURSE, because("C0", course.facts))
    if course.phase in (Phase.FERMENTING, Phase.CLEARING) and returned(course.facts):
        yield Reason(Code.COURSE, returned_text(course.facts))


def _firmness(answer: Answer, course: Course) -> Firmness:
    """Which of the two sources says the same, if the table decides."""
    if answer == "wait":
        return "none"
    quiet_alone = course.next.row == "F2"  # whatever was read before it slowed
    return "gravity" if course.facts.gravity.readings and not quiet_alone else "bubbles"
