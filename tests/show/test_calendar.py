"""The calendar file by the rules of RFC 5545, and as a library of others reads it."""

import importlib
import os
import re
from datetime import UTC, date, datetime, timedelta

import pytest

from bubblerate.course.cellar_work import Step
from bubblerate.errors import InputError
from bubblerate.show.calendar import as_ics, save_ics, step_uid

WRITTEN = datetime(2026, 11, 17, 21, 30, tzinfo=UTC)
PITCHED = date(2026, 10, 3)

FIRST = Step(
    key="racking-1",
    title="First racking",
    state="due",
    on=date(2026, 11, 25),
    until=date(2026, 12, 26),
    how="Siphon; leave 1 cm, top up.",
    basis="the forecast",
    care=("Back\\slash.", "Two\nlines."),
)
BOTTLED = Step(key="bottling", title="Bottling", state="done", on=date(2026, 11, 2))
DROPPED = Step(key="racking-2", title="Second racking", state="dropped", on=date(2026, 12, 1))
UNDATED = Step(key="fining-1", title="Fining", state="due", on=None)
STEPS = (FIRST, BOTTLED, DROPPED, UNDATED)
NAMES = ["quince", "Айва из сада; старая, большая", "梅酒" * 20, "a,b;c\\d", "x" * 80, "é" * 70]


def text_of(*steps, vessel="quince", written_at=WRITTEN):
    return as_ics(steps, vessel=vessel, pitched_on=PITCHED, written_at=written_at)


def unfolded(text):
    """Content lines as RFC 5545, 3.1 puts them together again."""
    return text.replace("\r\n ", "").removesuffix("\r\n").split("\r\n")


def parsed(text):
    """Events as a library of others reads them; where CI runs, it has to be there."""
    if os.environ.get("CI"):
        icalendar = importlib.import_module("icalendar")
    else:
        icalendar = pytest.importorskip("icalendar")
    calendar = icalendar.Calendar.from_ical(text.encode())
    assert not calendar.errors
    events = list(calendar.walk("VEVENT"))
    assert not any(event.errors for event in events)
    return calendar, events


# --- by the rules --------------------------------------------------------------------------------


@pytest.mark.parametrize("vessel", NAMES)
def test_lines_end_in_crlf_and_are_no_longer_than_75_octets(vessel):
    data = text_of(*STEPS, vessel=vessel).encode()
    assert data.endswith(b"\r\n")
    assert data.count(b"\n") == data.count(b"\r\n") == data.count(b"\r")
    for line in data.split(b"\r\n"):
        assert len(line) <= 75
        line.decode()  # no character is torn


def test_the_calendar_is_framed_and_every_event_has_what_it_needs():
    lines = unfolded(text_of(*STEPS))
    assert lines[:2] == ["BEGIN:VCALENDAR", "VERSION:2.0"]
    assert lines[2].startswith("PRODID:")
    assert lines[-1] == "END:VCALENDAR"
    for name in ("BEGIN:VEVENT", "UID:", "DTSTAMP:", "DTSTART;", "END:VEVENT"):
        assert sum(line.startswith(name) for line in lines) == 3  # what has no day is left out


def test_days_are_whole_days_and_the_end_is_the_day_after():
    lines = unfolded(text_of(FIRST))
    assert "DTSTART;VALUE=DATE:20261125" in lines
    assert "DTEND;VALUE=DATE:20261227" in lines
    assert "DTSTAMP:20261117T213000Z" in lines


# RFC 5545, 3.3.11: a backslash stands before backslash, semicolon and comma, and \n for a new line.
def test_text_is_escaped():
    told = next(line for line in unfolded(text_of(FIRST)) if line.startswith("DESCRIPTION"))
    assert told == (
        r"DESCRIPTION:Siphon\; leave 1 cm\, top up.\nDay from: the forecast.\nBack\\slash."
        r"\nTwo\nlines."
    )
    summary = unfolded(text_of(FIRST, vessel="a;b\x07"))
    assert r"SUMMARY:a\;b: First racking" in summary


def test_the_same_diary_gives_the_same_file_byte_for_byte():
    assert text_of(*STEPS) == text_of(*STEPS)


# --- as others read it ---------------------------------------------------------------------------


@pytest.mark.parametrize("vessel", NAMES)
def test_another_library_reads_back_what_was_written(vessel):
    calendar, events = parsed(text_of(*STEPS, vessel=vessel))
    assert calendar["VERSION"] == "2.0"
    first, bottled, dropped = events
    assert first["SUMMARY"] == f"{vessel}: First racking"
    assert first["DESCRIPTION"].split("\n") == [
        "Siphon; leave 1 cm, top up.",
        "Day from: the forecast.",
        "Back\\slash.",
        "Two",
        "lines.",
    ]
    assert (first.decoded("DTSTART"), first.decoded("DTEND")) == (
        date(2026, 11, 25),
        date(2026, 12, 27),
    )
    assert first.decoded("DTSTAMP") == WRITTEN
    assert [e["STATUS"] for e in events] == ["TENTATIVE", "CONFIRMED", "CANCELLED"]
    assert bottled.decoded("DTEND") - bottled.decoded("DTSTART") == timedelta(days=1)
    assert dropped.decoded("DTSTART") == date(2026, 12, 1)


def taken_in(calendar, text):
    """What a calendar holds after an import: by UID, the higher sequence goes before."""
    for event in parsed(text)[1]:
        old = calendar.get(event["UID"])
        if old is None or int(event["SEQUENCE"]) >= int(old["SEQUENCE"]):
            calendar[event["UID"]] = event
    return calendar


def test_a_later_file_moves_an_entry_and_does_not_double_it():
    held = taken_in({}, text_of(FIRST))
    moved = Step(key="racking-1", title="First racking", state="done", on=date(2026, 12, 3))
    held = taken_in(held, text_of(moved, written_at=WRITTEN + timedelta(days=20)))
    assert [event.decoded("DTSTART") for event in held.values()] == [date(2026, 12, 3)]
    held = taken_in(held, text_of(FIRST))  # the older file again
    assert [event.decoded("DTSTART") for event in held.values()] == [date(2026, 12, 3)]


# --- identifiers ---------------------------------------------------------------------------------


def test_an_identifier_tells_vessels_wines_and_steps_apart():
    uids = {
        step_uid(vessel, day, key)
        for vessel in ("quince", "Quince", "quince 2", "梅酒")
        for day in (None, PITCHED, date(2027, 10, 3))
        for key in ("racking-1", "racking-2", "bottling")
    }
    assert len(uids) == 36
    assert all(re.fullmatch(r"[a-z0-9-]+@bubblerate\.invalid", uid) for uid in uids)


# --- saving --------------------------------------------------------------------------------------


def test_a_calendar_is_saved_as_it_is(tmp_path):
    path = save_ics(text_of(*STEPS), tmp_path / "quince.ics")
    assert path.read_bytes() == text_of(*STEPS).encode()


@pytest.mark.parametrize(
    ("name", "message"),
    [("quince.txt", r"quince\.txt: a calendar ends in \.ics"), ("no/q.ics", "cannot be written")],
)
def test_a_calendar_that_cannot_be_saved_is_one_line(tmp_path, name, message):
    with pytest.raises(InputError, match=message):
        save_ics(text_of(), tmp_path / name)
