"""A calendar that is written again cancels what is due no more, as a library reads it back."""

import icalendar
import pytest

from bubblerate.course.judgement import judge
from bubblerate.errors import InputError
from bubblerate.show.calendar import as_ics, entries, save_ics
from bubblerate.show.calendar_again import renewed

from scenes import diary, evening

PITCHED = {"day": 0, "event": "pitched", "sg": 1.085, "litres": 4.5}
WORKS = [{"day": d, "bubbles": round(400 * 0.85**d), "seconds": 300.0} for d in range(1, 30)]
LOW = {"day": 29, "sg": 0.996}
RACKED = {"day": 30, "event": "racked", "litres": 4.2}


def asked(day, *rows, vessel="fig"):
    return judge(diary(PITCHED, *WORKS, *rows, vessel=vessel), at=evening(day))


def export(path, *judged, every=True):
    """Write a calendar and read it back: events by UID, each once."""
    at = judged[0].verdict.asked_at
    save_ics(as_ics(renewed(judged, path, every=every), written_at=at), path)
    calendar = icalendar.Calendar.from_ical(path.read_bytes())
    assert not calendar.errors
    events = list(calendar.walk("VEVENT"))
    by_uid = {str(event["UID"]): event for event in events}
    assert len(by_uid) == len(events)
    return by_uid


def live(events):
    return {uid for uid, event in events.items() if event.get("STATUS") != "CANCELLED"}


def test_a_first_file_holds_what_is_due_and_cancels_only_what_was_done(tmp_path):
    now = asked(30, LOW)
    events = export(tmp_path / "c.ics", now)
    assert live(events) == {entry.uid for entry in entries(now)}
    gone = [event for uid, event in events.items() if uid not in live(events)]
    assert all(event.decoded("DTSTART") < evening(31).date() for event in gone)


def test_what_is_due_no_more_is_cancelled_under_its_own_name_and_a_higher_number(tmp_path):
    path = tmp_path / "c.ics"
    first = export(path, asked(30, LOW))
    (rack,) = (uid for uid in live(first) if uid.startswith("rack-"))
    later = asked(31, LOW, RACKED)
    second = export(path, later)
    assert live(second) == {entry.uid for entry in entries(later)}
    assert second[rack]["STATUS"] == "CANCELLED"
    assert int(second[rack]["SEQUENCE"]) > int(first[rack]["SEQUENCE"])
    assert not second[rack].walk("VALARM")
    assert live(first) <= second.keys()  # whatever was shown is moved or taken out


def test_what_was_done_is_cancelled_in_a_file_of_another_name_too(tmp_path):
    first = export(tmp_path / "a.ics", asked(30, LOW))
    second = export(tmp_path / "b.ics", asked(31, LOW, RACKED))
    (rack,) = (uid for uid in live(first) if uid.startswith("rack-"))
    assert second[rack]["STATUS"] == "CANCELLED"


def test_one_jar_cancels_nothing_of_another_but_all_jars_cancel_one_that_is_gone(tmp_path):
    path = tmp_path / "c.ics"
    both = export(path, asked(30, LOW), asked(30, LOW, vessel="plum"))
    plums = {uid for uid in live(both) if uid not in live(export(path, asked(30, LOW)))}
    assert plums
    export(path, asked(30, LOW), asked(30, LOW, vessel="plum"))
    alone = export(path, asked(31, LOW), every=False)
    assert not plums & alone.keys()
    export(path, asked(30, LOW), asked(30, LOW, vessel="plum"))
    assert plums <= export(path, asked(31, LOW)).keys()


def test_a_cancelled_entry_is_forgotten_in_the_end(tmp_path):
    path, away = tmp_path / "c.ics", {"day": 40, "event": "put-away"}
    export(path, asked(30, LOW))
    assert export(path, asked(41, LOW, away))
    with pytest.raises(InputError, match="nothing has a day yet"):
        export(path, asked(2000, LOW, away))


@pytest.mark.parametrize("data", [b"", b"no calendar", b"BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n"])
def test_another_file_in_its_place_is_no_hindrance(tmp_path, data):
    path = tmp_path / "c.ics"
    path.write_bytes(data)
    assert live(export(path, asked(30, LOW)))


def test_where_nothing_has_a_day_or_had_one_no_file_is_written(tmp_path):
    path = tmp_path / "c.ics"
    away = asked(41, LOW, {"day": 40, "event": "put-away"})
    with pytest.raises(InputError, match="nothing has a day yet"):
        export(path, away)
    assert not path.exists()
    export(path, asked(30, LOW))
    assert not live(export(path, away))  # what was shown is taken out
