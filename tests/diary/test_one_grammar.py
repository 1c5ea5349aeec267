"""What is understood when it is typed is understood the same way in a table, and the other way."""

from datetime import UTC, datetime

import pytest

from bubblerate.diary.counts import counted
from bubblerate.diary.event_names import done, named
from bubblerate.diary.gravity_scales import reading
from bubblerate.diary.tables import dates
from bubblerate.diary.tables.sheet import sheet
from bubblerate.diary.tables.visits import days, entries
from bubblerate.diary.times import moment
from bubblerate.diary.units import added_l, grams, litres
from bubblerate.diary.visit import Visit
from bubblerate.errors import InputError

NOW = datetime(2026, 11, 25, 22, 15, 40, tzinfo=UTC)


def tabled(heading: str, text: str, date: str = "2026-11-24") -> Visit:
    """The visit that a table of one row tells of."""
    data = f'Date,Note,{heading}\n"{date}",x,"{text}"\n'.encode()
    table = sheet("jar.csv", data)
    when = dates.moments(days(table, pitched=None), order=None, year=2026, now=NOW)
    [visit] = entries(table, when).visits
    return visit


@pytest.mark.parametrize(
    "text",
    [
        *("12", "0", "none", "nothing", "8.0", "12 in 90s", "12 bubbles over 5 min", "none in 5m"),
        *("every 55s", "one every 55 s", "every 0.5 s", "a bubble every 2 min", "one every minute"),
        *("3.2/min", "3,2 per min", "14 a minute", "12 in a minute", "14 bpm", "0.25 a minute"),
        *("one a minute", "none a minute", "no bubbles in 5 min", "one in 20 min", "12 per 90 s"),
    ],
)
def test_a_count_is_the_same_typed_and_in_a_table(text):
    found = tabled("Bubbles", text)
    assert (found.bubbles, found.seconds) == counted(text)


@pytest.mark.parametrize("text", ["3.2", "few", "55s", "12 in soon", "-3", "l2", "1e9/min"])
def test_what_is_no_count_is_none_anywhere(text):
    for read in (counted, lambda words: tabled("Bubbles", words)):
        with pytest.raises(InputError):
            read(text)


@pytest.mark.parametrize(
    "text",
    [
        "1.004",
        "1004",
        ".996",
        "0,996",
        "SG 1.004",
        "4 Oe",
        "1.0 Brix",
        "1.004 at 17C",
        "4 Oe at 63F",
    ],
)
def test_a_gravity_is_the_same_typed_and_in_a_table(text):
    found = tabled("SG", text)
    assert (found.sg, found.sample_c) == reading(text)


@pytest.mark.parametrize(
    "text",
    ["racked", "Racking.", "top up", "sulfite", "feed", "bung leaked", "bottled-sparkling", "lees"],
)
def test_an_event_is_the_same_typed_and_in_a_table(text):
    assert tabled("Event", text).event is named(text) is done(text)[0]


@pytest.mark.parametrize(
    ("heading", "column", "read", "text"),
    [
        ("Litres", "litres", litres, "1 UK gal"),
        ("Litres", "litres", litres, "750ml"),
        ("Added (L)", "added_l", added_l, "5 ml"),
        ("Sugar added g", "sugar_g", grams, "0.2 kg"),
    ],
)
def test_a_measure_is_the_same_typed_and_in_a_table(heading, column, read, text):
    assert getattr(tabled(heading, text), column) == pytest.approx(read(text), abs=1e-5)


@pytest.mark.parametrize(
    "text",
    [
        *("2026-11-24 21:30", "2026-11-24T21:30", "24/11/2026 21:30", "24.11.2026, 9pm"),
        *("11/24/26 9:30", "24. November 2026 20.15", "Nov 24th 2026 9pm", "Tue 24 Nov 21:30"),
        *("2026 Nov 24 9pm", "24-nov-26 21:30", "24.11. 9pm"),
    ],
)
def test_a_moment_is_the_same_typed_and_in_a_table(text):
    assert tabled("SG", "1.010", date=text).when == moment(text, now=NOW)


@pytest.mark.parametrize("text", ["3/4/2026 9pm", "3.4. 9pm", "24/11/26 9pm"])
def test_what_can_be_read_two_ways_is_taken_neither_way(text):
    table = sheet("jar.csv", f'Date,SG\n"{text}",1.010\n'.encode())
    assert len(dates.orders(days(table, pitched=None)).possible) > 1
    with pytest.raises(InputError, match="can be read two ways"):
        moment(text, now=NOW)
