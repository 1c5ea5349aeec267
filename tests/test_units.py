import math
import time as clock_time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, time, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bubblerate import units
from bubblerate.errors import InputError

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


def refusal(read, text, *args, **options) -> str:
    with pytest.raises(InputError) as caught:
        read(text, *args, **options)
    assert "\n" not in str(caught.value)
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "bubbles"), [("12", 12), (" 0 ", 0), ("None", 0), ("nothing", 0), ("1000000", 10**6)]
)
def test_a_count_is_read_as_people_write_it(text, bubbles):
    assert units.count(text) == bubbles
    assert type(units.count(text)) is int


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("3.2", '"3.2" is not a whole count; count for longer, e.g. 32 --over 10m'),
        ("3,2", '"3,2" is not a whole count; count for longer, e.g. 32 --over 10m'),
        ("-3", 'cannot read "-3" as a count; write a whole number, or none'),
        ("few", 'cannot read "few" as a count; write a whole number, or none'),
        ("", 'cannot read "" as a count; write a whole number, or none'),
        ("1e3", 'cannot read "1e3" as a count; write a whole number, or none'),
        ("\N{SUPERSCRIPT TWO}", 'cannot read "²" as a count; write a whole number, or none'),
        ("1000001", '"1000001" is more bubbles than anyone can count; check the number'),
    ],
)
def test_what_is_no_count_is_refused_with_what_would_do(text, message):
    assert refusal(units.count, text) == message


def test_a_count_of_thousands_of_digits_is_refused_in_a_short_message():
    assert len(refusal(units.count, "9" * 6000)) < 120


@pytest.mark.parametrize(
    ("text", "spell"),
    [
        ("55s", 55.0),
        ("90", 90.0),
        (" 5M ", 300.0),
        ("5 min", 300.0),
        ("5 minutes", 300.0),
        ("1m30s", 90.0),
        ("1 min 30 sec", 90.0),
        ("1:30", 90.0),
        ("1.5m", 90.0),
        ("1,5 min", 90.0),
        ("2h", 7200.0),
        ("1h 5m 2s", 3902.0),
        ("24h", 86_400.0),
    ],
)
def test_a_spell_is_read_as_people_write_it(text, spell):
    assert units.seconds(text) == spell


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (text, f'cannot read "{text}" as a time span; write 55s, 5m or 1m30s')
        for text in ["", "soon", "2h30", "1:75", "1:30:20", "-5m", "5x", "s"]
    ]
    + [
        (text, f'"{text}" is not between 0 and 24 hours; write 55s, 5m or 1m30s')
        for text in ["0", "0s", "24h 1s", "9" * 30]
    ],
)
def test_what_is_no_spell_is_refused_with_what_would_do(text, message):
    assert refusal(units.seconds, text) == message


# 212 F = 100 C and 32 F = 0 C define the scale, so 50 F = 10 C and 68 F = 20 C exactly.
@pytest.mark.parametrize(
    ("text", "celsius"),
    [
        ("18.5", 18.5),
        ("18C", 18.0),
        ("18,5", 18.5),
        ("18 °c", 18.0),
        ("-2", -2.0),
        ("\N{MINUS SIGN}2 ºC", -2.0),  # an ordinal sign, as many keyboards give
        ("50F", 10.0),
        ("68 f", 20.0),
        ("32°F", 0.0),
        ("50", 50.0),
    ],
)
def test_a_temperature_is_read_in_celsius_or_fahrenheit(text, celsius):
    assert units.temp_c(text) == pytest.approx(celsius, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("65", '"65" is too warm for Celsius; was Fahrenheit meant? Then write 65F'),
        ("51", '"51" is too warm for Celsius; was Fahrenheit meant? Then write 51F'),
        ("120", '"120" is too warm for Celsius; was Fahrenheit meant? Then write 120F'),
        ("121", '"121" is outside -10 to 50 C; write it like 18.5 or 65F'),
        ("-11", '"-11" is outside -10 to 50 C; write it like 18.5 or 65F'),
        ("130F", '"130F" is outside -10 to 50 C; write it like 18.5 or 65F'),
        ("60C", '"60C" is outside -10 to 50 C; write it like 18.5 or 65F'),
        ("warm", 'cannot read "warm" as a temperature; write 18.5 or 65F'),
        ("291K", 'cannot read "291K" as a temperature; write 18.5 or 65F'),
        ("nan", 'cannot read "nan" as a temperature; write 18.5 or 65F'),
    ],
)
def test_what_is_no_temperature_is_refused_with_what_would_do(text, message):
    assert refusal(units.temp_c, text) == message


@pytest.mark.parametrize(
    ("text", "gravity"),
    [
        ("1.004", 1.004),
        ("1004", 1.004),
        (".996", 0.996),
        ("996", 0.996),
        ("1,004", 1.004),
        ("0,996", 0.996),
        (" 1.086 ", 1.086),
        ("1086", 1.086),
        ("1", 1.0),
        ("700", 0.7),
        ("1300", 1.3),
    ],
)
def test_a_gravity_is_read_as_people_write_it(text, gravity):
    assert units.sg(text) == gravity


@pytest.mark.parametrize(
    "text", ["4", "10.04", "0.699", "1.301", "699", "1301", "-1.004", "1.0.0", "nan", "", "sweet"]
)
def test_what_is_no_gravity_is_refused_with_what_would_do(text):
    assert refusal(units.sg, text) == (
        f'"{text}" is not a gravity; write it like 1.004 or 1004 (4 Oechsle is 1.004)'
    )


def test_a_plain_number_is_read_with_either_decimal_sign():
    assert [units.number(text, "brix") for text in ("12.5", " 12,5 ", "-4", "+.5")] == [
        12.5,
        12.5,
        -4.0,
        0.5,
    ]


@pytest.mark.parametrize("text", ["", "ten", "nan", "inf", "1e5", "1.000,5", "0x10"])
def test_what_is_no_plain_number_is_refused_by_name(text):
    assert refusal(units.number, text, "brix") == (
        f'brix is "{text}"; write a plain number such as 12.5'
    )


def test_a_number_too_long_for_a_float_is_refused():
    assert refusal(units.number, "9" * 400, "brix").startswith("brix is")


# UK gallon: exactly 4.54609 L (UK Weights and Measures Act 1985, schedule 1; from memory).
# US gallon: exactly 231 cubic inches of 2.54 cm each = 3.785411784 L.
@pytest.mark.parametrize(
    ("text", "volume"),
    [
        ("4.5", 4.5),
        ("4.5L", 4.5),
        ("4.5 litres", 4.5),
        ("1 liter", 1.0),
        ("4,5 l", 4.5),
        ("750ml", 0.75),
        ("75 cl", 0.75),
        ("1 UK gal", 4.54609),
        ("2 uk gallons", 9.09218),
        ("1 US gal", 231 * 2.54**3 / 1000),
        ("5 us gallons", 5 * 231 * 2.54**3 / 1000),
        ("10000", 10_000.0),
    ],
)
def test_a_volume_is_read_in_litres_or_gallons(text, volume):
    assert units.litres(text) == pytest.approx(volume, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("1 gal", '"1 gal" could be UK or US gallons; write 1 UK gal or 1 US gal'),
        ("2 gallons", '"2 gallons" could be UK or US gallons; write 2 UK gal or 2 US gal'),
        ("0", '"0" is not between 0 and 10000 litres; check the unit'),
        ("10001", '"10001" is not between 0 and 10000 litres; check the unit'),
        ("6 pints", 'cannot read "6 pints" as a volume; write 4.5, 750ml, 1 UK gal or 1 US gal'),
        ("full", 'cannot read "full" as a volume; write 4.5, 750ml, 1 UK gal or 1 US gal'),
        ("-1", 'cannot read "-1" as a volume; write 4.5, 750ml, 1 UK gal or 1 US gal'),
    ],
)
def test_what_is_no_volume_is_refused_with_what_would_do(text, message):
    assert refusal(units.litres, text) == message


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
    ],
)
def test_a_moment_is_read_as_people_say_it(text, iso):
    assert units.moment(text, now=NOW).isoformat() == iso


@pytest.mark.usefixtures("utc")
@pytest.mark.parametrize("text", ["yesterday", "2026-11-24"])
def test_a_date_alone_takes_the_clock_time_it_is_given(text):
    when = units.moment(text, now=NOW, clock=time(0, 0))
    assert when.isoformat() == "2026-11-24T00:00:00+00:00"


@pytest.mark.usefixtures("utc")
@pytest.mark.parametrize(("text", "days"), [("day 12", 12.0), ("Day 12,5", 12.5), ("day 0", 0.0)])
def test_a_day_number_counts_from_pitching(text, days):
    pitched = datetime(2026, 11, 1, 9, tzinfo=UTC)
    assert units.moment(text, now=NOW, pitched=pitched) == pitched + timedelta(days=days)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("3/4/2026", '"3/4/2026" can be read two ways; write 2026-04-03 or 2026-03-04'),
        ("3.4.2026", '"3.4.2026" can be read two ways; write 2026-04-03 or 2026-03-04'),
        ("24/11/2026", 'cannot read "24/11/2026" as a time; write 2026-11-24'),
        ("11/24/26 9:30", 'cannot read "11/24/26 9:30" as a time; write 2026-11-24T09:30'),
        ("day 12", '"day 12" counts from pitching, not known; write a date'),
    ]
    + [
        (
            text,
            f'cannot read "{text}" as a time; write 2026-11-24, 21:30, yesterday 21:30 or day 12',
        )
        for text in ["", "soon", "25:00", "2026-02-30", "today21:30", "day -1", "30/30/2026"]
    ],
)
def test_what_is_no_moment_is_refused_with_what_would_do(text, message):
    assert refusal(units.moment, text, now=NOW) == message


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
    assert units.moment(text, now=now, clock=time(21, 0)).isoformat() == iso


@pytest.mark.usefixtures("berlin")
def test_days_since_pitching_are_24_hours_long_across_a_clock_change():
    pitched = datetime(2026, 10, 24, 21, 0, tzinfo=timezone(timedelta(hours=2)))
    when = units.moment("day 1", now=NOW, pitched=pitched)
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
    assert units.instant(text).isoformat() == iso
    assert units.moment(text, now=NOW, clock=time(0, 0)).isoformat() == iso


@pytest.mark.parametrize(
    "text",
    ["2026-11", "2026-02-30", "2026-11-24Z", "now", "21:30", "2026-11-24x21:30", "2026-W48"],
)
def test_an_instant_is_an_iso_time_or_date_and_nothing_else(text):
    assert refusal(units.instant, text) == f'cannot read "{text}" as a time; write 2026-11-24T21:30'


def understood(read, text, **options):
    """Value read, or the message of the refusal."""
    try:
        return read(text, **options)
    except InputError as err:
        return str(err)


@pytest.mark.parametrize("read", [units.count, units.seconds, units.temp_c, units.sg, units.litres])
@given(text=st.text(max_size=60))
def test_any_text_is_read_or_refused_in_one_printable_line(read, text):
    answer = understood(read, text)
    assert answer.isprintable() if isinstance(answer, str) else math.isfinite(answer)


@given(text=st.text(alphabet="0123456789-/.:T Zday+", max_size=25))
def test_any_text_like_a_date_is_an_aware_moment_or_refused(text):
    answer = understood(units.moment, text, now=NOW, pitched=NOW)
    assert answer.isprintable() if isinstance(answer, str) else answer.utcoffset() is not None
