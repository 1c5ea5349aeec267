import time as clock_time
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, time, timedelta, timezone
from functools import partial

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bubblerate.diary import times as moments
from bubblerate.errors import InputError
from bubblerate.text import format_day

NOW = datetime(2026, 11, 25, 22, 15, 40, 123456, tzinfo=UTC)


@pytest.fixture
def local_time(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str], None]]:
    """Call it to set the machine's time zone until the test ends."""

    def set_to(zone: str) -> None:
        monkeypatch.setenv("TZ", zone)
        clock_time.tzset()

    yield set_to
    monkeypatch.undo()
    clock_time.tzset()


@pytest.fixture
def berlin(local_time: Callable[[str], None]) -> None:
    """Local time as in Berlin: clocks go forward on 29 March 2026 and back on 25 October 2026."""
    local_time("Europe/Berlin")


@pytest.fixture
def utc(local_time: Callable[[str], None]) -> None:
    local_time("UTC")


def refusal(read, text, **options) -> str:
    with pytest.raises(InputError) as caught:
        read(text, **options)
    assert "\n" not in str(caught.value)
    return str(caught.value)


# NOW is a Wednesday, at a quarter past ten in the evening.
@pytest.mark.usefixtures("utc")
@pytest.mark.parametrize(
    ("text", "iso"),
    [
        ("last night", "2026-11-24T21:00:00+00:00"),
        ("Last night 10pm", "2026-11-24T22:00:00+00:00"),
        ("last night at 1am", "2026-11-25T01:00:00+00:00"),
        ("yesterday evening", "2026-11-24T21:00:00+00:00"),
        ("this morning", "2026-11-25T09:00:00+00:00"),
        ("tonight", "2026-11-25T21:00:00+00:00"),
        ("tomorrow 9am", "2026-11-26T09:00:00+00:00"),
        ("Saturday", "2026-11-21T22:15:40+00:00"),
        ("on sat 9pm", "2026-11-21T21:00:00+00:00"),
        ("Saturday night", "2026-11-21T21:00:00+00:00"),
        ("Saturday night 1am", "2026-11-22T01:00:00+00:00"),
        ("sun. 9.30pm", None),
        ("last Wednesday", "2026-11-18T22:15:40+00:00"),
        ("next Wednesday", "2026-12-02T22:15:40+00:00"),
        ("next Friday", "2026-11-27T22:15:40+00:00"),
        ("thurs", "2026-11-19T22:15:40+00:00"),
        ("3 Oct 9pm", "2026-10-03T21:00:00+00:00"),
        ("Sat 21 Nov 9pm", "2026-11-21T21:00:00+00:00"),
    ],
)
def test_a_day_as_people_say_it_is_the_one_that_was(text, iso):
    if iso is None:
        assert "as a time" in refusal(moments.moment, text, now=NOW)
    else:
        assert moments.moment(text, now=NOW).isoformat() == iso


@pytest.mark.usefixtures("utc")
def test_a_part_of_this_day_is_not_to_come_and_its_own_weekday_is_asked_about():
    early = NOW.replace(hour=8)
    for text in ("tonight", "this morning"):
        assert moments.moment(text, now=early) == early.replace(microsecond=0)
    assert refusal(moments.moment, "Wednesday 21:00", now=NOW) == (
        '"Wednesday 21:00" can be read two ways; write 2026-11-25T21:00 or 2026-11-18T21:00'
    )


@pytest.mark.usefixtures("utc")
@pytest.mark.parametrize(
    ("text", "day"), [("Saturday", "2026-11-28"), ("last Saturday", "2026-11-21")]
)
def test_a_weekday_by_which_something_is_to_be_done_is_to_come(text, day):
    assert moments.moment(text, now=NOW, ahead=True).date().isoformat() == day


@pytest.mark.usefixtures("utc")
@pytest.mark.parametrize(
    ("text", "iso"),
    [
        ("2026-11-24T21:30", "2026-11-24T21:30:00+00:00"),
        ("2026-11-24 21:30", "2026-11-24T21:30:00+00:00"),
        ("2026-11-24t21:30:05", "2026-11-24T21:30:05+00:00"),
        ("2026-11-24T21:30+02:00", "2026-11-24T21:30:00+02:00"),
        ("2026-11-24T21:30-0530", "2026-11-24T21:30:00-05:30"),
        ("2026-11-24T21:30z", "2026-11-24T21:30:00+00:00"),
        ("Now", "2026-11-25T22:15:40+00:00"),
        ("21:30", "2026-11-25T21:30:00+00:00"),
        ("9:05", "2026-11-25T09:05:00+00:00"),
        ("today 21:30", "2026-11-25T21:30:00+00:00"),
        ("yesterday  21:30", "2026-11-24T21:30:00+00:00"),
        ("yesterday", "2026-11-24T22:15:40+00:00"),
        ("TODAY", "2026-11-25T22:15:40+00:00"),
        ("2026-11-24", "2026-11-24T22:15:40+00:00"),
        # a clock time as a dial or a phone shows it, alone or after a day
        ("10:00pm", "2026-11-25T22:00:00+00:00"),
        ("10pm", "2026-11-25T22:00:00+00:00"),
        ("10 AM", "2026-11-25T10:00:00+00:00"),
        ("9.30pm", "2026-11-25T21:30:00+00:00"),
        ("9:30 pm", "2026-11-25T21:30:00+00:00"),
        ("9:30:05 pm", "2026-11-25T21:30:05+00:00"),
        ("9.10 pm", "2026-11-25T21:10:00+00:00"),
        ("20.00", "2026-11-25T20:00:00+00:00"),
        ("12am", "2026-11-25T00:00:00+00:00"),
        ("12:30 am", "2026-11-25T00:30:00+00:00"),
        ("12pm", "2026-11-25T12:00:00+00:00"),
        ("12.30pm", "2026-11-25T12:30:00+00:00"),
        ("yesterday at 10pm", "2026-11-24T22:00:00+00:00"),
        ("yesterday 9.10", "2026-11-24T09:10:00+00:00"),
        ("2026-10-12 9.30pm", "2026-10-12T21:30:00+00:00"),
        ("2026-10-12 20.00", "2026-10-12T20:00:00+00:00"),
        # a month by its name
        ("12 October 2026 20:00", "2026-10-12T20:00:00+00:00"),
        ("12 Oct 2026, 9pm", "2026-10-12T21:00:00+00:00"),
        ("12-oct-2026", "2026-10-12T22:15:40+00:00"),
        ("Oct 12 2026", "2026-10-12T22:15:40+00:00"),
        ("OCTOBER 12, 2026", "2026-10-12T22:15:40+00:00"),
        ("Oct. 12th, 20.00", "2026-10-12T20:00:00+00:00"),
        ("2026 Oct 12", "2026-10-12T22:15:40+00:00"),
        ("12 Oct", "2026-10-12T22:15:40+00:00"),
        ("Oct 12 12pm", "2026-10-12T12:00:00+00:00"),
        ("25 Nov", "2026-11-25T22:15:40+00:00"),
        ("25 Nov 23:00", "2026-11-25T23:00:00+00:00"),  # later today, like 23:00 alone
        ("26 Nov", "2025-11-26T22:15:40+00:00"),
        ("1 January", "2026-01-01T22:15:40+00:00"),
        ("29 Feb", "2024-02-29T22:15:40+00:00"),
        ("26 Nov 2026", "2026-11-26T22:15:40+00:00"),
        # as a table may have it
        ("24/11/2026", "2026-11-24T22:15:40+00:00"),
        ("24.11.", "2026-11-24T22:15:40+00:00"),
        ("24.11. 9pm", "2026-11-24T21:00:00+00:00"),
        ("11/24/26 9:30", "2026-11-24T09:30:00+00:00"),
        ("Tue 24 Nov", "2026-11-24T22:15:40+00:00"),
        ("24th of Nov 26", "2026-11-24T22:15:40+00:00"),
    ],
)
def test_a_moment_is_read_as_people_say_it(text, iso):
    assert moments.moment(text, now=NOW).isoformat() == iso


@pytest.mark.usefixtures("utc")
def test_the_last_29_february_may_be_eight_years_back():
    now = datetime(2104, 2, 28, 12, tzinfo=UTC)  # Gregorian calendar: 2100 is no leap year
    assert moments.moment("29 Feb", now=now).isoformat() == "2096-02-29T12:00:00+00:00"


@pytest.mark.parametrize("order", ["{0} {1} {2}", "{1} {0} {2}", "{2} {1} {0}", "{2}, {0} {1}"])
@given(day=st.dates(date(1900, 1, 1), date(2100, 12, 31)))
def test_a_day_with_its_month_named_reads_the_same_in_any_order(order, day):
    name = format_day(day).split()[1]  # as the program itself shows it
    when = moments.moment(order.format(day.day, name, day.year), now=NOW)
    assert when.date() == day


@pytest.mark.usefixtures("utc")
@pytest.mark.parametrize("text", ["yesterday", "2026-11-24", "24 Nov"])
def test_a_date_alone_takes_the_clock_time_it_is_given(text):
    when = moments.moment(text, now=NOW, clock=time(0, 0))
    assert when.isoformat() == "2026-11-24T00:00:00+00:00"


@pytest.mark.usefixtures("utc")
@pytest.mark.parametrize(("text", "days"), [("day 12", 12.0), ("Day 12,5", 12.5), ("day 0", 0.0)])
def test_a_day_number_counts_from_pitching(text, days):
    pitched = datetime(2026, 11, 1, 9, tzinfo=UTC)
    assert moments.moment(text, now=NOW, pitched=pitched) == pitched + timedelta(days=days)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("3/4/2026", '"3/4/2026" can be read two ways; write 2026-04-03 or 2026-03-04'),
        ("3.4.2026", '"3.4.2026" can be read two ways; write 2026-04-03 or 2026-03-04'),
        ("24/11/26", '"24/11/26" can be read two ways; write 2026-11-24 or 2024-11-26'),
        ("3/4", '"3/4" can be read two ways; write 2026-04-03 or 2026-03-04'),
        ("3.4. 9pm", '"3.4. 9pm" can be read two ways; write 2026-04-03T21:00 or 2026-03-04T21:00'),
        ("12 Oct 20", '"12 Oct 20" can be read two ways; write 2020-10-12 or 12 oct 20:00'),
        (
            "3/4/2026 9pm",
            '"3/4/2026 9pm" can be read two ways; write 2026-04-03T21:00 or 2026-03-04T21:00',
        ),
        ("9.10", '"9.10" can be read two ways; write 9:10 or 9 Oct'),
        ("day 12", '"day 12" counts from pitching, which is not known; write a date'),
    ]
    + [
        (text, f'there is no such day as "{text}"; {days}')
        for text, days in [
            ("31 November 2026", "November has 30 days"),
            ("Nov 31", "November has 30 days"),
            ("31 Apr 9pm", "April has 30 days"),
            ("2026-06-31", "June has 30 days"),
            ("2026-09-31T21:00", "September has 30 days"),
            ("0 Oct", "October has 31 days"),
            ("29 Feb 2026", "February has 28 days, or 29 in a leap year"),
            ("2026-02-30", "February has 28 days, or 29 in a leap year"),
            ("30 Feb", "February has 28 days, or 29 in a leap year"),
        ]
    ]
    + [
        (
            text,
            f'cannot read "{text}" as a time; '
            "write 2026-11-24 20:00, 9:30 pm, yesterday 21:30, Saturday or day 12",
        )
        for text in [
            *("", "soon", "last week", "today21:30", "day -1", "30/30/2026", "2026-13-01"),
            *("25:00", "9:75", "10", "13pm", "13:00 pm", "0am", "10 xm", "9.3pm"),
            *("Oct 2026", "12 2026", "12 Ok 2026", "12 Octobre", "Oct Nov 12"),
            *("12 Oct 2026 25:00", "12 Oct 13pm", "-12 Oct"),
        ]
    ],
)
def test_what_is_no_moment_is_refused_with_what_would_do(text, message):
    assert refusal(moments.moment, text, now=NOW) == message


@pytest.mark.parametrize("zone", ["UTC", "Asia/Tokyo", "America/New_York"])
@pytest.mark.parametrize("read", [moments.instant, partial(moments.moment, now=NOW)])
@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("0001-01-01", "0001-01-01"),
        ("9999-12-31T23:59", "9999-12-31"),
        ("9999-12-31 00:00", "9999-12-31"),
        ("0000-10-12", "0000-10-12"),
    ],
)
def test_a_day_at_the_end_of_the_calendar_is_refused_in_every_zone(
    local_time, zone, read, text, named
):
    local_time(zone)
    assert refusal(read, text) == (
        f'"{named}" is beyond the calendar; write a date such as 2026-11-24 20:00'
    )
    assert moments.iso_readings(text) == ()


def test_a_day_number_beyond_the_calendar_is_refused():
    pitched = datetime(9990, 1, 1, tzinfo=UTC)
    assert refusal(moments.moment, "day 9999", now=NOW, pitched=pitched) == (
        '"day 9999" is beyond the calendar; write a date such as 2026-11-24 20:00'
    )


# Berlin is at +01:00 in winter and +02:00 in summer (IANA time zone database).
@pytest.mark.usefixtures("berlin")
@pytest.mark.parametrize(
    ("text", "iso"),
    [
        ("2026-03-28T21:30", "2026-03-28T21:30:00+01:00"),
        ("2026-03-29T21:30", "2026-03-29T21:30:00+02:00"),
        ("2026-10-24 21:30", "2026-10-24T21:30:00+02:00"),
        ("2026-10-25", "2026-10-25T21:00:00+01:00"),
        ("yesterday 21:30", "2026-10-24T21:30:00+02:00"),
        ("today 21:30", "2026-10-25T21:30:00+01:00"),
        ("21:30", "2026-10-25T21:30:00+01:00"),
    ],
)
def test_local_time_has_the_offset_of_its_own_side_of_a_clock_change(text, iso):
    now = datetime(2026, 10, 25, 21, 0, tzinfo=UTC)  # 22:00 in Berlin, the clocks went back today
    assert moments.moment(text, now=now, clock=time(21, 0)).isoformat() == iso


@pytest.mark.usefixtures("berlin")
def test_days_since_pitching_are_24_hours_long_across_a_clock_change():
    pitched = datetime(2026, 10, 24, 21, 0, tzinfo=timezone(timedelta(hours=2)))
    when = moments.moment("day 1", now=NOW, pitched=pitched)
    assert when.isoformat() == "2026-10-25T20:00:00+01:00"


# IANA time zone database: in Beirut clocks went from 00:00 to 01:00 on 28 March 2021, so that day
# had no midnight; in the Azores they go from 01:00 to 00:00 on 25 October 2026: it has two.
@pytest.mark.parametrize(
    ("zone", "text", "iso"),
    [
        ("UTC", " 2026-11-24 ", "2026-11-24T00:00:00+00:00"),
        ("Europe/Berlin", "2026-10-25", "2026-10-25T00:00:00+02:00"),
        ("Europe/Berlin", "2026-10-26", "2026-10-26T00:00:00+01:00"),
        ("Asia/Beirut", "2021-03-28", "2021-03-28T01:00:00+03:00"),
        ("Atlantic/Azores", "2026-10-25", "2026-10-25T00:00:00+00:00"),
    ],
)
def test_a_date_alone_is_the_instant_at_which_that_day_starts(local_time, zone, text, iso):
    local_time(zone)
    assert moments.instant(text).isoformat() == iso
    assert moments.moment(text, now=NOW, clock=time(0, 0)).isoformat() == iso


@pytest.mark.parametrize(
    "text",
    [
        *("2026-11", "2026-13-01", "2026-11-24Z", "2026-11-24T25:00", "2026-11-24x21:30"),
        *("2026-W48", "now", "21:30", "12 Oct 2026", "2026-11-24 9pm"),
    ],
)
def test_an_instant_is_an_iso_time_or_date_and_nothing_else(text):
    assert (
        refusal(moments.instant, text) == f'cannot read "{text}" as a time; write 2026-11-24T21:30'
    )


def understood(read, text, **options):
    """Value read, or the message of the refusal."""
    try:
        return read(text, **options)
    except InputError as err:
        return str(err)


WORDS = st.sampled_from(
    [*"0123456789-/.: ", "am", "pm", "at ", "T", "Z", "day ", "Oct", "Feb", "+"]
)


@given(text=st.lists(WORDS, max_size=14).map("".join))
def test_any_text_like_a_date_is_an_aware_moment_or_refused(text):
    answer = understood(moments.moment, text, now=NOW, pitched=NOW)
    assert answer.isprintable() if isinstance(answer, str) else answer.utcoffset() is not None
