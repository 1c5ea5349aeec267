"""Tables as people keep them, taken over: by the library, on a terminal, and through a pipe."""

import os
import re
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import bubblerate
from bubblerate.cli import main
from bubblerate.diary.dates import ORDERS
from bubblerate.diary.reading import read
from bubblerate.diary.striking import strike
from bubblerate.diary.tables import dates
from bubblerate.diary.tables.cells import counted
from bubblerate.diary.tables.headings import columns
from bubblerate.diary.tables.sheet import MOST_BYTES, sheet
from bubblerate.diary.tables.visits import Entries, days, entries, fresh
from bubblerate.diary.visit import BASE_COLUMNS, COLUMNS, Visit
from bubblerate.diary.writing import append, create, extend
from bubblerate.errors import InputError

from scenes import EXAMPLES, Said

NOW = datetime(2026, 11, 25, 21, 45, tzinfo=UTC)
PITCHED = datetime(2026, 10, 1, 18, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _greenwich(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A winter evening in Greenwich."""
    monkeypatch.setenv("TZ", "UTC")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


def taken(text: str | bytes, *, order=None, year=None, pitched: datetime | None = None) -> Entries:
    """What a table says, with the order of its dates told by itself unless given."""
    data = text if isinstance(text, bytes) else text.encode()
    table = sheet("jar.csv", data)
    written = days(table, pitched=pitched)
    found = dates.orders(written)
    if order is None and len(found.possible) > 1:
        raise InputError(f"jar.csv: {' or '.join(found.possible)}?")
    chosen = order or next(iter(found.possible), None)
    return entries(table, dates.moments(written, order=chosen, year=year, now=NOW))


def rows(text: str | bytes, **options) -> list[str]:
    """Rows of a table as short texts: moment, count, C, SG, event, litres, note."""
    shown = []
    for v in taken(text, **options).visits:
        count = "" if v.bubbles is None else f"{v.bubbles}/{v.seconds:g}"
        parts = (f"{v.when:%d%b%y %H:%M}", count, v.temp_c, v.sg, v.event, v.litres, v.note)
        shown.append(" ".join(str(part) for part in parts if part not in {None, ""}))
    return shown


def refusal(text: str | bytes, **options) -> str:
    with pytest.raises(InputError) as caught:
        taken(text, **options)
    assert "\n" not in str(caught.value)
    return str(caught.value)


# --- shapes people keep --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("table", "wanted"),
    [
        pytest.param(
            "Date,Bubbles per minute,Temp C\n2026-10-12,14,18.5\n2026-10-13,11,18\n",
            ["12Oct26 21:00 14/60 18.5", "13Oct26 21:00 11/60 18.0"],
            id="the plainest",
        ),
        pytest.param(
            "Day;Time;Sec/bubble;\N{DEGREE SIGN}C;SG\n"
            "12.10.2026;20:30;4,5;18,5;1,042\n13.10.2026;21.15;none;17,5;1038\n",
            ["12Oct26 20:30 1/4.5 18.5 1.042", "13Oct26 21:15 0/60 17.5 1.038"],
            id="semicolons and decimal commas",
        ),
        pytest.param(
            "When\tBubbles\tMinutes counted\tRoom temp (F)\tWhat I did\n"
            "Mon 12 Oct 2026 9pm\t31\t2\t65\tracked\n"
            "13 Oct 2026\t60\t5\t18C\tlooked, still cloudy\n",
            [
                "12Oct26 21:00 31/120 18.3 racked",
                "13Oct26 21:00 60/300 18.0 looked, still cloudy",
            ],
            id="tabs from a spreadsheet's clipboard",
        ),
        pytest.param(
            "Perry 2026,,,\n,,,\nDate,Count (5 min),Gravity,Remarks\n"
            '10/13/2026,40,1.020,"cool, in the shed"\n10/20/2026,22,,\n',
            ["13Oct26 21:00 40/300 1.02 cool, in the shed", "20Oct26 21:00 22/300"],
            id="a title above, the length of the count in the heading",
        ),
        pytest.param(
            "DATE,READING\n2026-10-12,1086\n2026-11-12,.996\n",
            ["12Oct26 21:00 1.086", "12Nov26 21:00 0.996"],
            id="hydrometer only",
        ),
        pytest.param(
            "date,\N{DEGREE SIGN}Oe,litres\n2026-10-12,86,4.5\n2026-11-12,-4,750ml\n",
            ["12Oct26 21:00 1.086 4.5", "12Nov26 21:00 0.996 0.75"],
            id="Oechsle, below water too",
        ),
        pytest.param(
            # CRC Handbook, sucrose at 20 C (reference/sucrose_brix_sg.csv): 1038.1 / 998.2 kg/m3
            "date,Brix,UK gallons\n2026-10-12,10,1\n",
            ["12Oct26 21:00 1.04 4.54609"],
            id="Brix",
        ),
        pytest.param(
            "Date,Bubbles/min,Seconds per bubble\n2026-10-12,6,\n2026-11-02,,75\n",
            ["12Oct26 21:00 6/60", "02Nov26 21:00 1/75"],
            id="first by the minute, later by the bubble",
        ),
        pytest.param(
            "Date,Bubbles,Per min\n2026-10-12,18,3.6\n2026-10-13,12,\n",
            ["12Oct26 21:00 4/66.67", "13Oct26 21:00 12/60"],
            id="a rate says more than a count of unknown length",
        ),
        pytest.param(
            "Date,Count,Seconds,bpm\n2026-10-12,18,300,3.6\n",
            ["12Oct26 21:00 18/300"],
            id="a count of known length says more than the rate worked out of it",
        ),
        pytest.param(
            "date,time,event,note,volume (ml)\n"
            "2026-10-12,8:05 am,Topped up,with water,4500\n2026-10-12,21:30,-,-,-\n",
            ["12Oct26 08:05 topped-up 4.5 with water"],
            id="events and notes; a row of dashes says nothing",
        ),
        pytest.param(
            "Oct/Nov,,\nDate,bubbles a minute,notes\n30 Oct,9,\n31 Oct,8,a\n2 Nov,6,b\n",
            ["30Oct26 21:00 9/60", "31Oct26 21:00 8/60 a", "02Nov26 21:00 6/60 b"],
            id="no year",
        ),
        pytest.param(
            "Date,Observations,Comments\n2026-10-12,clear,smells of pears\n2026-10-13,,hazy\n",
            ["12Oct26 21:00 clear; smells of pears", "13Oct26 21:00 hazy"],
            id="two columns of notes",
        ),
        pytest.param(
            "newest,first,\nDate,SG,x\n14/11/2026,1.000,\n7/11/2026,1.004,\n",
            ["07Nov26 21:00 1.004", "14Nov26 21:00 1.0"],
            id="newest first is turned round",
        ),
        pytest.param(
            "Date,Jar,Bubbles\n2026-10-12,Perry,9\n2026-10-13,perry ,8\n",
            ["12Oct26 21:00 9/60", "13Oct26 21:00 8/60"],
            id="a column that names the one jar",
        ),
        pytest.param(
            "Day,Date,Seconds between bubbles\nMon,2026-10-12,20\nTue,2026-10-13,25\n",
            ["12Oct26 21:00 1/20", "13Oct26 21:00 1/25"],
            id="a weekday beside the date",
        ),
        pytest.param(
            'Date, Note\n2026-10-12, "clear, still"\n',
            ["12Oct26 21:00 clear, still"],
            id="spaces after the commas",
        ),
        pytest.param(
            "timestamp,count\n2026-10-12T21:30:00+00:00,8.0\n2026-10-13 00:00:00,7.0\n",
            ["12Oct26 21:30 8/60", "13Oct26 00:00 7/60"],
            id="saved by another program",
        ),
        pytest.param(
            "Date,Time,SG\n2026-10-12 00:00:00,20:15,1.010\n",
            ["12Oct26 20:15 1.01"],
            id="a midnight that only means a day",
        ),
        pytest.param(
            "Time,Bubbles/min\n2026-10-12 20:15,4\n",
            ["12Oct26 20:15 4/60"],
            id="a time that is a date as well",
        ),
    ],
)
def test_a_table_is_understood_in_the_shape_it_was_kept(table, wanted):
    assert rows(table, year=2026) == wanted


def test_encoding_marks_and_line_ends_make_no_difference():
    text = "Date;Temp \N{DEGREE SIGN}C;Note\n13/10/2026;18,5;\N{POUND SIGN}2 of pears\n"
    wanted = ["13Oct26 21:00 18.5 \N{POUND SIGN}2 of pears"]
    for data in (
        text.encode(),
        b"\xef\xbb\xbf" + text.encode(),
        text.encode("cp1252"),
        text.replace("\n", "\r\n").encode(),
        text.replace("\n", "\r").encode("cp1252"),
        text.rstrip().encode(),
    ):
        assert rows(data) == wanted
    assert [sheet("a", text.encode(c)).encoding for c in ("utf-8", "cp1252")] == ["UTF-8", "cp1252"]


def test_the_separator_is_found_though_another_stands_in_every_row():
    text = 'Date;Bubbles/min;Note\n12 Oct 2026;9;"a, b, c"\n13 Oct 2026;8;d, e, f\n'
    assert rows(text) == ["12Oct26 21:00 9/60 a, b, c", "13Oct26 21:00 8/60 d, e, f"]


def test_a_note_keeps_its_line_ends_and_lines_are_counted_right():
    text = 'Date,SG,Note\n2026-10-12,1.010,"a\nb"\n2026-10-13,sweet,\n'
    assert refusal(text).startswith('jar.csv:4, column "SG": "sweet" is not')
    assert rows(text.replace("sweet", "1.008"))[0].endswith("a\nb")


# --- headings ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("heading", "kind", "unit", "spell_s"),
    [
        ("Bubbles", "bubbles", "", None),
        ("  BUBBLE COUNT ", "bubbles", "", None),
        ("Bubbles (60s)", "bubbles", "", 60.0),
        ("bubbles in 5 minutes", "bubbles", "", 300.0),
        ("count_over_90_sec", "bubbles", "", 90.0),
        ("bubbles/min", "rate", "", 60.0),
        ("Rate [per minute]", "rate", "", 60.0),
        ("bubbles a minute", "rate", "", 60.0),
        ("BPM", "rate", "", 60.0),
        ("bubbles per 30 s", "rate", "", 30.0),
        ("per hour", "rate", "", 3600.0),
        ("Seconds per bubble", "spacing", "", None),
        ("s/bubble", "spacing", "", None),
        ("time between bubbles", "spacing", "", None),
        ("Minutes per bubble", "spacing", "min", None),
        ("one bubble every (s)", "spacing", "", None),
        ("Minutes counted", "length", "min", None),
        ("count time (sec)", "length", "", None),
        ("Time (min)", "length", "min", None),
        ("Duration", "length", "?", None),
        ("Room Temp.", "temp", "", None),
        ("TempF", "temp", "F", None),
        ("\N{DEGREE SIGN}F", "temp", "F", None),
        ("C", "temp", "", None),
        ("Room \N{DEGREE SIGN}C", "temp", "", None),
        ("cellar F", "temp", "F", None),
        ("Temp of sample", "sample", "", None),
        ("S.G.", "sg", "", None),
        ("Specific Gravity", "sg", "", None),
        ("Hydrometer reading", "sg", "", None),
        ("gravity (points)", "oechsle", "", None),
        ("Oechsle", "oechsle", "", None),
        ("Plato", "brix", "", None),
        ("Balling", "brix", "", None),
        ("Volume (L)", "litres", "", None),
        ("US gallons", "litres", "us gal", None),
        ("Action taken", "event", "", None),
        ("Comments", "note", "", None),
        ("Barometer hPa", "pressure", "", None),
        ("Date & time", "date", "", None),
        ("date/time", "date", "", None),
        ("day no.", "day", "", None),
        ("Time of day", "time", "", None),
        ("Day/Time", "date", "", None),
        ("Demijohn", "vessel", "", None),
        ("Sugar added (g)", "sugar", "g", None),
        ("sugar, oz", "sugar", "oz", None),
        ("Added (ml)", "added", "ml", None),
        ("Bottles", "bottles", "", None),
        ("Closure", "closure", "", None),
        ("Sulphite (g)", "sulphite", "g", None),
        ("Sorbate added, g", "sorbate", "g", None),
        ("Sulphite", None, "", None),
        ("Sulphite (lb)", None, "", None),
        ("Finings", None, "", None),
        # could mean two things, or nothing a diary keeps
        ("Sugar", None, "", None),
        ("Sugar g/L", None, "", None),
        ("Residual sugar (g)", None, "", None),
        ("Bubbles (min)", None, "", None),
        ("Rate", None, "", None),
        ("Min", None, "", None),
        ("mL per bubble", None, "", None),
        ("seconds per 10 bubbles", None, "", None),
        ("bubbles in 0 s", None, "", None),
        ("Max temp", None, "", None),
        ("Corrected SG", None, "", None),
        ("OG", None, "", None),
        ("Brix (refractometer)", "refractometer", "", None),
        ("Refractometer, corrected", None, "", None),
        ("% vol", None, "", None),
        ("sample volume", None, "", None),
        ("day of week", None, "", None),
        ("pH", None, "", None),
        ("", None, "", None),
        ("we counted the bubbles on every date we could", None, "", None),
    ],
)
def test_a_heading_says_what_its_column_holds(heading, kind, unit, spell_s):
    [column] = columns([heading])
    assert (column.kind, column.unit, column.spell_s) == (kind, unit, spell_s)


def test_a_diary_with_the_later_columns_is_taken_over_as_it_stands(tmp_path):
    rows = [
        Visit(when=NOW, event="fed", added_l=0.25, sugar_g=150.0, litres=4.5),
        Visit(when=NOW, event="bottled-sparkling", bottles="5x75+1x50", closure="crown"),
        Visit(when=NOW, event="topped-up", other="plum 2", added_l=0.3),
        Visit(when=NOW, event="stabilised", sulphite_g=0.44, sorbate_g=1.2),
        Visit(when=NOW, event="fined-two-part", finings_amount="2.5ml"),
    ]
    path = tmp_path / "jar.csv"
    create(path, rows[0])
    extend(path, rows[1:], held=read(path).visits)
    table = sheet(path.name, path.read_bytes())
    said = entries(table, dates.moments(days(table, pitched=None), order=None, year=None, now=NOW))
    assert [replace(visit, line=0) for visit in said.visits] == rows


def test_every_heading_of_a_diary_is_known():
    assert None not in {column.kind for column in columns(COLUMNS)}


# --- dates ---------------------------------------------------------------------------------------


def found(*texts: str) -> dates.Orders:
    return dates.orders(
        [
            dates.written(f"line {n}", n, text, "", pitched=None, days=False)
            for n, text in enumerate(texts, start=2)
        ]
    )


@pytest.mark.parametrize(
    ("texts", "possible", "line"),
    [
        (["3/4/2026", "13/4/2026"], ["day-first"], 3),
        (["3/4/2026", "4/13/2026"], ["month-first"], 3),
        (["3/4/2026", "4/5/2026"], ["day-first", "month-first"], 2),
        (["3.4.26", "13.4.26"], ["day-first"], 3),
        (["03.04.26"], ["day-first", "month-first", "year-first"], 2),
        (["24/11/26"], ["day-first", "year-first"], 2),
        (["24/11/26", "31/11/26"], ["year-first"], 3),  # November has 30 days
        (["24/11/26", "24/11/2026"], ["day-first"], 3),
        (["5.6.", "24.11."], ["day-first"], 3),
        (["5/5/2026", "6/6/2026"], ["day-first"], 2),  # the same either way
        (["2026-04-03", "2026/4/3", "3 Apr 2026", "Apr 3, 2026", "3-Apr-26"], [], None),
    ],
)
def test_one_order_is_found_for_all_dates_or_none_is_guessed(texts, possible, line):
    orders = found(*texts)
    assert list(orders.possible) == possible
    assert (orders.shown_by and orders.shown_by.line) == line


def test_dates_that_contradict_each_other_are_named_with_both_lines():
    text = "Date,SG\n3/4/2026,1.010\n13/4/2026,1.008\n4/15/2026,1.006\n"
    assert refusal(text) == (
        'jar.csv:4, column "Date": "4/15/2026" is month first, but line 3 has "13/4/2026", which '
        "is day first; write all dates one way"
    )


def test_the_order_said_by_the_maker_is_taken_and_held_against_every_date():
    text = "Date,SG\n3/4/2026,1.010\n4/5/2026,1.008\n"
    assert rows(text, order="day-first") == ["03Apr26 21:00 1.01", "04May26 21:00 1.008"]
    assert rows(text, order="month-first") == ["04Mar26 21:00 1.01", "05Apr26 21:00 1.008"]
    assert refusal(text + "13/5/2026,1.006\n", order="month-first") == (
        'jar.csv:4, column "Date": "13/5/2026" is day first, not month first; leave --dates out, '
        "or correct this date"
    )
    two_digits = "Date,SG\n26/10/12,1.010\n"
    assert rows(two_digits, order="year-first") == ["12Oct26 21:00 1.01"]
    assert rows(two_digits, order="day-first") == ["26Oct12 21:00 1.01"]


def test_a_year_left_out_is_that_of_the_nearest_date_before():
    text = "Date,SG\n29 Dec,1.010\n31 Dec,1.008\n2 Jan,1.006\n28 Feb,1.004\n"
    assert [row[:7] for row in rows(text, year=2025)] == [
        "29Dec25",
        "31Dec25",
        "02Jan26",
        "28Feb26",
    ]
    newest_first = "Date,SG\n2 Jan,1.006\n31 Dec,1.008\n29 Dec 2025,1.010\n"
    assert [row[:7] for row in rows(newest_first, year=2026)] == ["29Dec25", "31Dec25", "02Jan26"]
    told_once = "Date,SG\n12 Oct 2026,1.010\n14 Oct,1.008\n"
    assert [row[:7] for row in rows(told_once)] == ["12Oct26", "14Oct26"]
    assert "has no year" in refusal(text)
    assert "is not a day in 2026" in refusal("Date,SG\n29 Feb,1.010\n", year=2026)


def test_days_count_from_pitching_if_that_is_known():
    text = "Day,Bubbles/min\n0,2\n12.5,9\nday 13,8\n"
    assert [row[:13] for row in rows(text, pitched=PITCHED)] == [
        "01Oct26 18:00",
        "14Oct26 06:00",
        "14Oct26 18:00",
    ]
    assert "start the diary first" in refusal(text)


@pytest.mark.parametrize(
    ("date", "clock", "wanted"),
    [
        ("12 Oct 2026", "", "12Oct26 21:00"),
        ("Sat 12 Oct 2026, 20.15", "", "12Oct26 20:15"),
        ("Oct 12th 2026 9pm", "", "12Oct26 21:00"),
        ("12. October 2026", "8:30 pm", "12Oct26 20:30"),
        ("12-oct-26", "20:30:15", "12Oct26 20:30"),
        ("12.10.2026, 21:30", "", "12Oct26 21:30"),
        ("24.10.2026 9.30 pm", "", "24Oct26 21:30"),
        ("2026-10-12 09:30 pm", "", "12Oct26 21:30"),
        ("2026-10-12T20:30Z", "-", "12Oct26 20:30"),
        ("2026-10-12T20:30:00+02:00", "", "12Oct26 20:30"),
    ],
)
def test_days_and_times_are_read_as_people_write_them(date, clock, wanted):
    table = f'Date,Time,SG\n"{date}",{clock},1.010\n'
    assert rows(table, order="day-first") == [f"{wanted} 1.01"]


# --- cells ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("heading", "text", "length_s", "wanted"),
    [
        ("Bubbles", "12", None, (12, 60.0)),
        ("Bubbles", "12", 90.0, (12, 90.0)),
        ("Bubbles", "none", 300.0, (0, 300.0)),
        ("Bubbles", "Nothing", None, (0, 60.0)),
        ("Bubbles", "0", None, (0, 60.0)),
        ("Bubbles (5 min)", "16", None, (16, 300.0)),
        ("Bubbles (5 min)", "16", 60.0, (16, 60.0)),
        ("Bubbles", "12 in 90 s", None, (12, 90.0)),
        ("Bubbles", "none in 5 min", 60.0, (0, 300.0)),
        ("Bubbles", "one every 55 s", None, (1, 55.0)),
        ("Bubbles", "1 every 1m30s", None, (1, 90.0)),
        ("Bubbles", "every 2 min", None, (1, 120.0)),
        ("Bubbles", "14 a minute", None, (14, 60.0)),
        ("Bubbles", "3.2/min", 300.0, (16, 300.0)),
        ("Per minute", "3.2", None, (3, 56.25)),
        ("Per minute", "3,2", 300.0, (16, 300.0)),
        ("Per minute", "3.33", 180.0, (10, 180.0)),
        ("Per minute", "0.25", None, (1, 240.0)),
        ("Per minute", "0", 300.0, (0, 300.0)),
        ("Per minute", "none", None, (0, 60.0)),
        ("Per hour", "30", None, (30, 3600.0)),
        ("Seconds per bubble", "55", None, (1, 55.0)),
        ("Seconds per bubble", "1:20", None, (1, 80.0)),
        ("Seconds per bubble", "0.5", None, (120, 60.0)),
        ("Seconds per bubble", "none", 300.0, (0, 300.0)),
        ("Minutes per bubble", "2", None, (1, 120.0)),
        ("Minutes per bubble", "90s", None, (1, 90.0)),
        ("Seconds per bubble", "0", None, None),
        ("Per minute", "-3", None, None),
        ("Per minute", "0.0001", None, None),
        ("Per minute", "1e9", None, None),
        ("Per minute", "9" * 400, None, None),
        ("Bubbles", "3.2", None, None),
        ("Bubbles", "1,200", None, None),
        ("Bubbles", "nearly stopped", None, None),
        ("Bubbles", "55s", None, None),
    ],
)
def test_a_count_is_read_in_any_of_its_forms_or_refused(heading, text, length_s, wanted):
    [column] = columns([heading])
    if wanted is None:
        with pytest.raises(InputError):
            counted(text, column, length_s)
    else:
        assert counted(text, column, length_s) == wanted


@settings(max_examples=200)
@given(
    rate=st.integers(1, 30_000), decimals=st.integers(0, 3), minutes=st.none() | st.integers(1, 30)
)
def test_a_rate_is_kept_to_its_last_digit_and_weighs_no_more_than_was_counted(
    rate, decimals, minutes
):
    per_min = rate / 10**decimals
    [column] = columns(["Per minute"])
    length_s = None if minutes is None else 60.0 * minutes
    bubbles, seconds = counted(f"{per_min:.{decimals}f}", column, length_s)
    assert 60.0 * bubbles / seconds == pytest.approx(
        per_min, abs=0.5 * 10**-decimals * 1.001, rel=1e-3
    )
    assert bubbles <= max(1, round(per_min * (minutes or 1)))


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ("Date,Temp C\n2026-10-12,warm\n", ':2, column "Temp C": cannot read "warm" as a temp'),
        ("Date,Temp\n2026-10-12,65\n", "did you mean Fahrenheit? Then name the column Temp F"),
        ("Date,Temp (F)\n2026-10-12,650\n", "is outside -10 to 50 C"),
        ("Date,SG\n2026-10-12,84\n", "4 Oechsle is 1.004"),
        ("Date,SG\n2026-10-12,l.004\n", "has a letter where a digit should be"),
        ("Date,Brix\n2026-10-12,90\n", 'column "Brix": Brix 90 is outside -5 to 40'),
        ("Date,Oechsle\n2026-10-12,400\n", "Oechsle 400 is outside -300 to 300"),
        ("Date,Gallons\n2026-10-12,1\n", "could be UK or US gallons"),
        ("Date,Bubbles\n2026-10-12,3.2\n", "call the column Bubbles per minute"),
        ("Date,Bubbles,Duration\n2026-10-12,9,5\n", '"5" may be seconds or minutes; name the'),
        ("Date,Event\n2026-10-12,raked\n", 'no event "raked"; write racked'),
        ("Date,SG,Temp of sample\n2026-10-12,1.004,45\n", "jar.csv:2: sample_c is 45.0"),
        ("Date,SG\n,1.004\n", ':2, column "Date": is empty; write the date of this row'),
        ("Date,SG\nsoon,1.004\n", 'cannot read "soon" as a date; write 2026-11-24 or 24 Nov'),
        ("Date,SG\n31/2/2026,1.004\n", 'cannot read "31/2/2026" as a date'),
        ("Date,SG\n46307,1.004\n", 'cannot read "46307" as a date'),
        ("Date,Time,SG\n2026-10-12,2030,1.004\n", '"2030" as a time of day; write it like 21:30'),
        ("Date,Time,SG\n2026-10-12 20:30,20:35,1.004\n", "empty one of them"),
        ("Date,SG,Gravity\n2026-10-12,1,1\n", ':1: columns "SG" and "Gravity" look alike'),
        ("Date,Jar,SG\n2026-10-12,fig,1\n2026-10-12,pear,1\n", 'several jars ("fig, pear")'),
        ("Date,Temp,SG\n2026-10-12,18,5,1.004\n", "number of cells is 4, not 3"),
        ("Date,Temp,SG\n2026-10-12,18\n", "number of cells is 2, not 3"),
        ('Date,Note\n2026-10-12,"open\n', "jar.csv:2: a quote is left open"),
        ('Date,Note\n2026-10-12,"a" b\n', "write each quote twice"),
        ("Mead,12,18\nPerry,13,18\n", "found no headings for a date"),
        ("", "jar.csv is empty"),
        (
            b"PK\x03\x04 anything",
            "is not a spreadsheet that can be read; open it and save it as xlsx",
        ),
        (b"\xd0\xcf\x11\xe0\xa1", "save it as xlsx or CSV"),
        ("Date,SG\n".encode("utf-16") + b"x", "is torn UTF-16 text; save it as CSV in UTF-8"),
        (b"Date,SG\n2026-10-12,1.0\x0004\n", "jar.csv:2: has a NUL byte"),
        (b"Date,Note\n2026-10-12,\x81\n", ":2: byte 0x81 is neither UTF-8 nor cp1252"),
        (b"x" * (MOST_BYTES + 1), "larger than 32 MB"),
        (b"Date,Note\n" + b"\n" * 300_000, "more than 300000 lines"),
        (b"Date,Note\n" + b"x" * 2_000_000, "jar.csv:2: is far too long a line"),
        (b"Date,Note\n2026-10-12," + b"x" * 200_000, "jar.csv:2: a cell is far too long"),
        (b"Date,Note\n2026-10-12," + b"," * 5000, "jar.csv:2: has 5002 cells"),
    ],
)
def test_what_cannot_be_used_is_one_line_that_says_where_and_what_would_do(table, message):
    said = refusal(table)
    assert said.startswith("jar.csv")
    assert message in said


HEADS = st.sampled_from(
    ["Date", "Day", "Time", "Bubbles", "Per min", "s/bubble", "SG", "Brix", "Temp F", "Event", "x"]
)
CELLS = st.sampled_from(
    ["", "-", "12", "3.2", "1,004", "none", "2026-10-12", "3/4/2026", "24 Nov", "9pm", "racked"]
) | st.text(max_size=6)


@st.composite
def tables(draw) -> bytes:
    """A table of any cells, well formed or nearly so."""
    mark = draw(st.sampled_from(",;\t"))
    wide = draw(st.integers(2, 5))
    lines = [draw(st.lists(HEADS, min_size=wide, max_size=wide))]
    lines += draw(st.lists(st.lists(CELLS, min_size=wide, max_size=wide), max_size=5))
    return "\n".join(mark.join(line) for line in lines).encode(errors="replace")


@settings(max_examples=400, deadline=None)
@given(
    data=st.binary(max_size=120)
    | tables()
    | st.text('Date,SG"\n\r;\t 0123./:-', max_size=120).map(
        lambda text: f"Date,SG\n{text}".encode()
    ),
    order=st.sampled_from([None, *ORDERS]),
    year=st.none() | st.integers(1900, 2200),
    pitched=st.none() | st.just(PITCHED),
)
def test_any_bytes_are_a_table_or_one_printable_line(data, order, year, pitched):
    try:
        said = taken(data, order=order, year=year, pitched=pitched)
        times, line = [visit.when for visit in said.visits], "jar.csv"
    except InputError as err:
        times, line = [], str(err)
    assert times == sorted(times)
    assert line.startswith("jar.csv")
    assert line.isprintable()


def test_a_table_of_20_000_rows_is_read_whole():
    lines = [
        f"{PITCHED + timedelta(hours=n):%d/%m/%Y,%H:%M},{n % 90},1{n % 90:03},ok"
        for n in range(20_000)
    ]
    said = taken("Date,Time,Bubbles,SG,Note\n" + "\n".join(lines))
    assert len(said.visits) == 20_000


# --- a diary taken over --------------------------------------------------------------------------


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.csv")), ids=lambda path: path.stem)
def test_a_diary_is_a_table_too_and_says_the_same(path):
    visits = read(path).visits
    assert taken(path.read_bytes()).visits == visits
    assert fresh(visits, visits).known == len({replace(v, line=0, struck="") for v in visits})


def test_what_the_diary_has_is_not_taken_again_not_even_a_slip():
    here = Visit(when=PITCHED, bubbles=9)
    slip = Visit(when=PITCHED, bubbles=90, struck="2026-10-02")
    other = Visit(when=PITCHED, bubbles=8)
    new = fresh([here, replace(slip, struck=""), other, replace(other, line=9)], [here, slip])
    assert new.visits == (other,)
    assert (new.known, new.twice, new.beside) == (2, 1, 1)


# --- the command ---------------------------------------------------------------------------------


@pytest.fixture
def run(capsys, monkeypatch, tmp_path) -> Callable[..., Said]:
    """Type an import of a table into fig; nobody can be asked."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "92")

    def typed(text: str | bytes, *words: str, into: str = "fig") -> Said:
        Path("kept.csv").write_bytes(text if isinstance(text, bytes) else text.encode())
        with pytest.raises(SystemExit) as end:
            main(["import", "kept.csv", "--into", into, *words], now=lambda: NOW)
        return Said(int(end.value.code or 0), *capsys.readouterr())

    return typed


KEPT = (
    "Fig wine,,,,,\n"
    "Date,Bubbles/min,Temp F,SG,Remarks,pH\n"
    "3/10/2026,30,65,1.084,pitched on Thursday,3.4\n"
    "13/10/2026,12,64,,-,\n"
    "14/10/2026,one every 55 s,-,1004,=SUM(A1),\n"
)


def test_what_is_understood_is_shown_and_written_by_one_command(run, tmp_path):
    said = run(KEPT, "--yes")
    path = tmp_path / "shelf" / "fig.csv"
    assert (said.code, said.err) == (0, "")
    lines = said.out.splitlines()
    into = lines.index(next(line for line in lines if line.startswith("  into")))
    assert lines[:into] == [
        "kept.csv: 3 rows for fig",
        "",
        "  table     UTF-8, separated by commas, headings on line 2",
        '            above that, not used: "Fig wine"',
        '  columns   "Date"         date',
        '            "Bubbles/min"  rate: bubbles in 1 min',
        '            "Temp F"       temperature of the jar or its room, F',
        '            "SG"           gravity',
        '            "Remarks"      note',
        '  not used  "pH"',
        '  dates     day first, as line 4 shows ("13/10/2026")',
        "            no row has a time of day: saved as 21:00",
        '  first     30 in 1 min = 30 a minute, gravity 1.084, 18.3 C, "pitched on Thursday", on 3',
        "            Oct 2026 21:00",
        '  last      1 in 55 s = 1.1 a minute, gravity 1.004, "=SUM(A1)", on 14 Oct 2026 21:00',
        "  check     1 dash read as not counted, never as none",
    ]
    assert lines[-1] == "fig: 3 rows written, from line 2 on."
    assert path.read_bytes().decode().splitlines() == [
        ",".join(BASE_COLUMNS),
        "2026-10-03T21:00:00+00:00,30,60,18.3,,1.084,,,,pitched on Thursday,",
        "2026-10-13T21:00:00+00:00,12,60,17.8,,,,,,,",
        "2026-10-14T21:00:00+00:00,1,55,,,1.004,,,,'=SUM(A1),",
    ]


def test_a_second_import_adds_nothing_and_a_longer_table_only_what_is_new(run, tmp_path):
    run(KEPT, "--yes")
    path = tmp_path / "shelf" / "fig.csv"
    before = path.read_bytes()
    said = run(KEPT)  # nothing to write, so nothing to ask
    assert (said.code, said.err) == (0, "")
    assert "left out  3 rows already in the diary" in said.out
    assert said.out.endswith("\nThere is nothing to write.\n")
    assert path.read_bytes() == before
    assert (
        "fig: 1 row written, from line 5 on." in run(KEPT + "15/10/2026,,,1.002,,\n", "--yes").out
    )
    assert path.read_bytes().startswith(before)
    assert len(read(path).visits) == 4


def test_a_struck_row_does_not_come_back(run, tmp_path):
    run(KEPT, "--yes")
    path = tmp_path / "shelf" / "fig.csv"
    strike(path, 3, at=NOW)
    assert "There is nothing to write." in run(KEPT, "--yes").out


def test_rows_older_than_the_diary_are_said_and_read_in_order_of_time(run, tmp_path):
    path = tmp_path / "shelf" / "fig.csv"
    create(path, Visit(when=datetime(2026, 10, 8, 21, tzinfo=UTC), event="pitched"))
    append(path, Visit(when=datetime(2026, 10, 20, 21, tzinfo=UTC), bubbles=3))
    old = path.read_bytes()
    said = run(KEPT, "--yes")
    assert "1 row before the start, 8 Oct 2026 21:00" in said.out
    assert "3 rows older than the last one in the diary (20 Oct 2026 21:00)" in said.out
    assert path.read_bytes().startswith(old)
    times = [visit.when for visit in read(path).visits]
    assert times == sorted(times)
    assert len(times) == 5


@pytest.mark.parametrize(
    ("text", "words", "message"),
    [
        (KEPT, [], "nothing was written, as there is no one to ask; to write 3 rows, add --yes"),
        (
            "Date,SG\n3/4/2026,1\n",
            ["--yes"],
            'kept.csv:2, column "Date": "3/4/2026" can be 3 Apr 2026 or 4 Mar 2026; '
            "add --dates day-first|month-first",
        ),
        (
            "Date,SG\n24/11/25,1\n",
            [],
            'kept.csv:2, column "Date": "24/11/25" can be 24 Nov 2025 or 25 Nov 2024; '
            "add --dates day-first|year-first",
        ),
        (
            "Date,SG\n24 Nov,1\n",
            ["--yes"],
            'kept.csv:2, column "Date": "24 Nov" has no year; add it, such as --year 2026',
        ),
        (KEPT + "15/10/2026,,,sweet,,\n", ["--yes"], 'kept.csv:6, column "SG": "sweet" is not'),
    ],
)
def test_without_an_answer_or_with_a_bad_cell_nothing_is_written(
    run, tmp_path, text, words, message
):
    said = run(text, *words)
    assert said.code == 2
    assert re.fullmatch(r"bubblerate: [^\n]+\n", said.err)
    assert message in said.err
    assert not (tmp_path / "shelf").exists()


def test_a_diary_that_lacks_a_column_or_cannot_be_read_is_left_as_it_was(run, tmp_path):
    path = tmp_path / "shelf" / "fig.csv"
    path.parent.mkdir()
    for text, message in (
        ("when,bubbles\n", "fig.csv has no columns temp_c, sg and note;"),
        ("when,sg\n2026-11-24T21:30,sweet\n", "fig.csv:2: sg is"),
    ):
        path.write_text(text)
        said = run(KEPT, "--yes")
        assert (said.code, path.read_text()) == (2, text)
        assert message in said.err


def test_files_that_are_not_there_and_vessels_that_are_nearly(run, tmp_path):
    with pytest.raises(SystemExit) as end:
        main(["import", "no.csv", "--into", "fig"])
    assert end.value.code == 2
    create(tmp_path / "shelf" / "Fig.csv", Visit(when=PITCHED))
    assert "there is already a diary Fig" in run(KEPT, "--yes").err


def test_the_option_settles_what_the_rows_leave_open(run, tmp_path):
    said = run(
        "Date,SG\n3/4,1.010\n5/4,1.008\n", "--dates", "month-first", "--year", "2026", "--yes"
    )
    assert "month first, as you say" in said.out
    visits = read(tmp_path / "shelf" / "fig.csv").visits
    assert [f"{visit.when:%d %b %Y}" for visit in visits] == ["04 Mar 2026", "04 May 2026"]


def test_every_line_shown_fits_a_narrow_terminal(run, monkeypatch):
    monkeypatch.setenv("COLUMNS", "60")
    shown = run(KEPT, "--yes").out.splitlines()
    assert max(len(line) for line in shown if "/" not in line) <= 60


# --- on a terminal -------------------------------------------------------------------------------

typist = pytest.importorskip("typist", reason="pseudo-terminals are of POSIX", exc_type=ImportError)


def on_a_terminal(folder: Path, text: str, words: list[str], answers: list[str]) -> Said:
    """Run the command on a terminal of its own, answering whenever it waits for a line."""
    (folder / "kept.csv").write_text(text)
    words = ["import", "kept.csv", "--into", "fig", *words]
    with (
        (folder / "said").open("wb") as said,
        typist.Typist(*words, folder=folder, stderr=said) as person,
    ):
        for answer in answers:
            person.is_asked()
            person.types(answer)
        code = person.ends()
    return Said(code, person.screen.replace("\r\n", "\n"), (folder / "said").read_text())


def test_a_terminal_is_asked_for_the_order_the_year_and_the_go_ahead(tmp_path):
    text = "Date,SG\n3/4,1.010\n5/4,1.008\n"
    said = on_a_terminal(tmp_path, text, [], ["perhaps\n", "Day first\n", "2025\n", "yes\n"])
    assert (said.code, said.err) == (0, "")
    asked = 'Line 2 has "3/4": day first (3 Apr) or month first (4 Mar)? [d/m] '
    assert said.out.count(asked) == 2
    assert 'Line 2 has "3/4". Which year is that? ' in said.out
    assert "Write 2 rows? [y/n] " in said.out
    visits = read(tmp_path / "shelf" / "fig.csv").visits
    assert [f"{visit.when:%d %b %Y}" for visit in visits] == ["03 Apr 2025", "05 Apr 2025"]


def test_with_yes_nothing_is_asked_on_a_terminal_either(tmp_path):
    said = on_a_terminal(tmp_path, KEPT, ["--yes"], [])
    assert (said.code, said.err) == (0, "")
    assert "[y/n]" not in said.out
    assert len(read(tmp_path / "shelf" / "fig.csv").visits) == 3
    said = on_a_terminal(tmp_path, "Date,SG\n3/4/2026,1\n", ["--yes"], [])
    assert "add --dates day-first|month-first" in said.err


@pytest.mark.parametrize(
    ("answer", "code", "message"),
    [("no\n", 0, "Nothing was written."), ("\x04", 2, "stopped; nothing was written")],
)
def test_a_no_or_an_end_of_input_writes_nothing(tmp_path, answer, code, message):
    said = on_a_terminal(tmp_path, KEPT, [], [answer])
    assert said.code == code
    assert message in said.out + said.err
    assert "Traceback" not in said.out + said.err
    assert not (tmp_path / "shelf").exists()


def test_taking_over_a_table_loads_no_heavy_library(tmp_path):
    (tmp_path / "kept.csv").write_text(KEPT)
    code = (
        "import sys; from bubblerate.cli import main\n"
        f"try: main(['import', {str(tmp_path / 'kept.csv')!r}, '--into', 'fig', '--yes'])\n"
        "except SystemExit as end: assert not end.code\n"
        "print('loaded', *{name.split('.')[0] for name in sys.modules})"
    )
    root = str(Path(bubblerate.__file__).parents[1])
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        env=os.environ | {"PYTHONPATH": root},
    )
    loaded = {*done.stdout.rpartition("loaded ")[2].split()}
    assert not {"numpy", "scipy", "pandas", "matplotlib"} & loaded
    assert "typer" in loaded
