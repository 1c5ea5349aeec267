"""The calendar file by the rules of RFC 5545, and as a library reads it back."""

import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import icalendar
import pytest

from bubblerate.course.judgement import judge
from bubblerate.diary.reading import read
from bubblerate.errors import InputError
from bubblerate.show.calendar import Entry, as_ics, entries, save_ics, step_uid

from drawings import judged
from scenes import EXAMPLES, diary, evening

WRITTEN = datetime(2026, 11, 17, 21, 30, tzinfo=UTC)
PITCHED = date(2026, 10, 3)

FIRST = Entry(
    uid=step_uid("quince", PITCHED, "rack", 1),
    title="quince: rack",
    on=date(2026, 11, 25),
    last=date(2026, 12, 26),
    told="Siphon; leave 1 cm, top up.\nBack\\slash.\nTwo\nlines.",
)
NEXT = Entry(
    uid=step_uid("quince", PITCHED, "count", 1),
    title="quince: count",
    on=date(2026, 11, 18),
    last=date(2026, 11, 18),
    told="Count.",
    at=datetime(2026, 11, 18, 20, 15, tzinfo=UTC),
)
NAMES = ["quince", "Айва из сада; старая, большая", "梅酒" * 20, "a,b;c\\d", "x" * 80, "é" * 70]


def text_of(*found, vessel="quince", written_at=WRITTEN):
    named = [replace(one, title=one.title.replace("quince", vessel)) for one in found]
    return as_ics(named, written_at=written_at)


def unfolded(text):
    """Content lines as RFC 5545, 3.1 puts them together again."""
    return text.replace("\r\n ", "").removesuffix("\r\n").split("\r\n")


def parsed(text):
    """Events as a library reads them."""
    calendar = icalendar.Calendar.from_ical(text.encode())
    assert not calendar.errors
    events = list(calendar.walk("VEVENT"))
    assert not any(event.errors for event in events)
    return calendar, events


# --- by the rules --------------------------------------------------------------------------------


@pytest.mark.parametrize("vessel", NAMES)
def test_lines_end_in_crlf_and_are_no_longer_than_75_octets(vessel):
    data = text_of(NEXT, FIRST, vessel=vessel).encode()
    assert data.endswith(b"\r\n")
    assert data.count(b"\n") == data.count(b"\r\n") == data.count(b"\r")
    for line in data.split(b"\r\n"):
        assert len(line) <= 75
        line.decode()  # no character is torn


def test_what_follows_is_written_as_whole_days_and_the_end_is_the_day_after():
    lines = unfolded(text_of(FIRST))
    assert "DTSTART;VALUE=DATE:20261125" in lines
    assert "DTEND;VALUE=DATE:20261227" in lines
    assert "DTSTAMP:20261117T213000Z" in lines
    assert "BEGIN:VALARM" not in lines


def test_what_is_next_stands_at_its_hour_with_an_alarm():
    lines = unfolded(text_of(NEXT))
    assert "DTSTART:20261118T201500Z" in lines
    assert "DTEND:20261118T203000Z" in lines
    assert lines.count("BEGIN:VALARM") == 1


# RFC 5545, 3.3.11: a backslash stands before backslash, semicolon and comma, and \n for a new line.
def test_text_is_escaped():
    told = next(line for line in unfolded(text_of(FIRST)) if line.startswith("DESCRIPTION"))
    assert told == r"DESCRIPTION:Siphon\; leave 1 cm\, top up.\nBack\\slash.\nTwo\nlines."
    summary = unfolded(text_of(FIRST, vessel="a;b\x07"))
    assert r"SUMMARY:a\;b: rack" in summary


def test_the_same_steps_give_the_same_file_byte_for_byte():
    assert text_of(NEXT, FIRST) == text_of(NEXT, FIRST)


def test_a_calendar_of_nothing_is_refused():
    with pytest.raises(InputError, match="nothing has a day yet"):
        text_of()


# --- as it is read back --------------------------------------------------------------------------


@pytest.mark.parametrize("vessel", NAMES)
def test_what_was_written_is_read_back(vessel):
    calendar, (first,) = parsed(text_of(FIRST, vessel=vessel))
    assert calendar["VERSION"] == "2.0"
    assert first["SUMMARY"] == f"{vessel}: rack"
    assert first["DESCRIPTION"] == FIRST.told
    assert (first.decoded("DTSTART"), first.decoded("DTEND")) == (
        date(2026, 11, 25),
        date(2026, 12, 27),
    )
    assert first.decoded("DTSTAMP") == WRITTEN


def taken_in(calendar, text):
    """What a calendar holds after an import: by UID, the higher sequence goes before."""
    for event in parsed(text)[1]:
        old = calendar.get(event["UID"])
        if old is None or int(event["SEQUENCE"]) >= int(old["SEQUENCE"]):
            calendar[event["UID"]] = event
    return calendar


def test_a_later_file_moves_an_entry_and_does_not_double_it():
    held = taken_in({}, text_of(FIRST))
    moved = replace(FIRST, on=date(2026, 12, 3))
    held = taken_in(held, text_of(moved, written_at=WRITTEN + timedelta(days=20)))
    assert [event.decoded("DTSTART") for event in held.values()] == [date(2026, 12, 3)]
    held = taken_in(held, text_of(FIRST))  # the older file again
    assert [event.decoded("DTSTART") for event in held.values()] == [date(2026, 12, 3)]


# --- identifiers ---------------------------------------------------------------------------------


def test_an_identifier_tells_vessels_wines_and_steps_apart():
    uids = {
        step_uid(vessel, day, kind, ordinal)
        for vessel in ("quince", "Quince", "quince 2", "梅酒")
        for day in (PITCHED, date(2027, 10, 3))
        for kind in ("rack", "top-up", "bottle")
        for ordinal in (1, 2)
    }
    assert len(uids) == 48
    assert all(re.fullmatch(r"[a-z0-9-]+@bubblerate\.invalid", uid) for uid in uids)


# --- saving --------------------------------------------------------------------------------------


def test_a_calendar_is_saved_as_it_is(tmp_path):
    path = save_ics(text_of(NEXT, FIRST), tmp_path / "quince.ics")
    assert path.read_bytes() == text_of(NEXT, FIRST).encode()


@pytest.mark.parametrize(
    ("name", "message"),
    [("quince.txt", r"quince\.txt: a calendar ends in \.ics"), ("no/q.ics", "cannot be written")],
)
def test_a_calendar_that_cannot_be_saved_is_one_line(tmp_path, name, message):
    with pytest.raises(InputError, match=message):
        save_ics(text_of(FIRST), tmp_path / name)


# --- of a jar ------------------------------------------------------------------------------------


def counted(days):
    start = {"day": 0, "event": "pitched", "sg": 1.085, "litres": 4.5}
    return diary(start, *({"day": d, "bubbles": 60, "seconds": 60.0} for d in range(1, days)))


def test_the_next_step_of_a_jar_has_the_alarm_and_the_others_are_days():
    judged = judge(counted(6), at=evening(6))
    found = entries(judged)
    assert [one.at is not None for one in found] == [True, *[False] * (len(found) - 1)]
    assert found[0].on == judged.verdict.next.on
    assert found[0].at.astimezone(evening(1).tzinfo).time() == evening(1).time()
    assert len({one.uid for one in found}) == len(found)
    assert [one.on for one in found] == sorted(one.on for one in found)


def test_an_evening_later_the_same_steps_have_the_same_identifiers():
    before, later = ({one.uid for one in entries(judge(counted(n), at=evening(n)))} for n in (6, 7))
    assert before == later


def test_a_jar_of_which_nothing_is_written_has_no_entry():
    assert entries(judge(diary(), at=evening(1))) == ()


def test_a_bottling_says_what_it_waits_for():
    planned, due = (
        [entry.title for entry in entries(judged(read(EXAMPLES / f"{name}.csv")))]
        for name in ("quince", "medlar")
    )
    assert "quince: bottle, if the verdict is go" in planned
    assert due[0] == "medlar: bottle, if the last checks show no change"
