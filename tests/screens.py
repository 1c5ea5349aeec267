"""Every screen of one jar at one moment, held against the others: they must tell one course."""

from __future__ import annotations

import csv
import io
from contextlib import redirect_stdout
from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

import icalendar

from bubblerate.cli.rounds import say_next
from bubblerate.course.as_json import as_object, course_object
from bubblerate.course.figures import figures
from bubblerate.course.judgement import judge
from bubblerate.shelf.overview import glance
from bubblerate.show.after_text import after_text
from bubblerate.show.calendar import as_ics, entries
from bubblerate.show.shelf_text import shelf_csv, shelf_text
from bubblerate.show.step_text import day_text, days_text, next_text, short_text
from bubblerate.show.verdict_text import as_text
from bubblerate.text import cell_len
from bubblerate.verdict.reasons import Kind

if TYPE_CHECKING:
    from bubblerate.course.judgement import Judgement
    from bubblerate.diary.settings import Settings
    from bubblerate.diary.shelf import Shelf
    from bubblerate.diary.visit import Diary

ACTS = {"racking": "rack", "bottling": "bottle"}


def agree(known: Diary, at: datetime, own: Settings, *, shelf: Shelf | None = None) -> Judgement:
    """Ask all screens, and fail where two disagree; the round too where the jar has a file."""
    judged = judge(known, at=at, settings=own)
    assert judged.course is not None
    verdict, after = as_object(judged), course_object(judged)
    line = glance(known, at=at, settings=own)
    for key in ("phase", "next", "question", "verdict"):
        assert verdict[key] == after[key] == line.as_json[key]
    row = next(csv.DictReader(io.StringIO(shelf_csv([line.line]))))
    assert (row["phase"], row["kind"]) == (verdict["phase"], verdict["next"]["kind"])
    assert row["due"] == verdict["next"]["on"]
    _answer(judged, verdict)
    _texts(judged, own, shelf_text([line.line], None, width=200))
    _calendar(judged, verdict)
    if shelf is not None:
        _round(judged, shelf)
    return judged


def _answer(judged: Judgement, verdict: dict[str, Any]) -> None:
    """Go where the step is the act asked about and its day has come, and only there."""
    step = verdict["next"]
    today = step["on"] == judged.course.asked_on.isoformat()
    due = step["kind"] == ACTS[verdict["question"]] and step["since"] <= step["on"]
    assert (verdict["verdict"] == "go") == (due and today)


def _texts(judged: Judgement, own: Settings, shelf_line: str) -> None:
    """The step, its day and the answer as people read them."""
    step, today = judged.verdict.next, judged.course.asked_on
    told = " ".join(as_text(judged, width=200).split())
    assert " ".join(next_text(step, today).split()) in told
    if step.kind is Kind.NOTHING:
        return
    found = figures(judged, settings=own)
    six = after_text(judged, found, width=200).splitlines()
    assert 4 <= len(six) <= 6
    days = (days_text(step, today), days_text(replace(step, since=None), today))  # if too long
    assert six[1].split(None, 1)[1] in [f"{when}  {short_text(step)}" for when in days]
    assert short_text(step) in shelf_line
    assert day_text(step.on, today) in shelf_line
    _narrow(judged, six, after_text(judged, found, width=50))
    word = "STOP" if step.kind is Kind.RESCUE else judged.verdict.answer
    assert f"  {word.upper()}  " in as_text(judged, width=200)
    assert f" {word} " in shelf_line or judged.phase in ("bottled", "empty")


def _narrow(judged: Judgement, six: list[str], after: str) -> None:
    """Each screen fits fifty columns, and the only caution is that of the step or the question."""
    for text in (as_text(judged, width=50, more=True), after):
        assert max(map(cell_len, text.splitlines())) <= 50
    assert after.count("\n") == len(six) - 1
    assert as_text(judged, width=200).count("\n  care  ") <= 1


def _calendar(judged: Judgement, verdict: dict[str, Any]) -> None:
    """The nearest entry of the file, as a library reads it, is the next step."""
    found = entries(judged)
    if verdict["next"]["kind"] == "nothing":
        assert not found
        return
    text = as_ics(found, written_at=judged.verdict.asked_at)
    events = icalendar.Calendar.from_ical(text).walk("VEVENT")
    assert len({str(event["UID"]) for event in events}) == len(events)
    alarms = [event for event in events if event.walk("VALARM")]
    (first,) = alarms
    assert str(first["UID"]).startswith(f"{verdict['next']['kind']}-1-")
    assert found[0].on.isoformat() == verdict["next"]["on"]
    assert min(_day(event) for event in events) >= _day(first)


def _day(event: icalendar.Component) -> date:
    start: Any = event.decoded("DTSTART")
    return start.date() if isinstance(start, datetime) else start


def _round(judged: Judgement, shelf: Shelf) -> None:
    """What the round says before it asks."""
    out = io.StringIO()
    with redirect_stdout(out):
        say_next(shelf, judged.diary.vessel, judged.verdict.asked_at, said=False)
    told = " ".join(out.getvalue().split())
    assert told.endswith(" ".join(next_text(judged.verdict.next, judged.course.asked_on).split()))
