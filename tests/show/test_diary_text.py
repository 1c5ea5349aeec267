from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest

from bubblerate.diary.visit import Visit
from bubblerate.show.diary_text import diary_text, visit_text

from scenes import diary, visits

EVENING = datetime(2026, 11, 24, 21, 30, tzinfo=timezone(timedelta(hours=1)))


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({"bubbles": 12, "seconds": 90.0, "temp_c": 18.5}, "12 in 90 s = 8.0 a minute, 18.5 C"),
        ({"bubbles": 0, "seconds": 300.0}, "0 in 5 min = 0 a minute"),
        ({"bubbles": 1, "seconds": 1200.0}, "1 in 20 min = one in 20 min"),
        ({"sg": 1.004, "sample_c": 17.0, "event": "sampled"}, "sampled, gravity 1.004 at 17 C"),
        ({"sg": 1.0039}, "gravity 1.0039"),
        ({"sg": 0.99}, "gravity 0.990"),
        ({"event": "racked", "litres": 4.3}, "racked, 4.3 litres"),
        ({"note": "cold,\n very"}, '"cold, very"'),
    ],
)
def test_a_row_is_told_in_words(cells, words):
    assert visit_text(Visit(when=EVENING, **cells)) == f"{words}, on 24 Nov 2026 21:30"


def test_a_diary_is_shown_with_its_rates_and_its_struck_rows():
    rows = visits(
        {"day": 0, "event": "pitched", "sg": 1.084, "litres": 4.5, "line": 2},
        {"day": 1, "bubbles": 12, "seconds": 90.0, "temp_c": 18.5, "note": "froth", "line": 3},
        {"day": 2, "bubbles": 31, "note": "another jar", "struck": "yes", "line": 5},
        {"day": 3, "bubbles": 0, "seconds": 300.0, "note": "two\nlines", "line": 4},
    )
    assert diary_text(replace(diary(), visits=rows)).splitlines() == [
        "line  when              count        a minute  C     gravity  event    litres  note",
        "2     1 Oct 2026 21:00                               1.084    pitched  4.5",
        "3     2 Oct 2026 21:00  12 in 90 s   8.00      18.5                            froth",
        f"5     3 Oct 2026 21:00  31 in 1 min  31.00{'':37}STRUCK another jar",
        f"4     4 Oct 2026 21:00  0 in 5 min   0.00{'':38}two lines",
    ]


def test_columns_that_hold_nothing_are_not_shown():
    text = diary_text(diary({"day": 0, "bubbles": 9}))
    assert text.splitlines()[0].split() == ["line", "when", "count", "a", "minute"]


def test_a_diary_without_rows_says_so():
    assert diary_text(diary()) == "fig: nothing has been written down yet"


def test_times_are_shown_in_the_offset_they_were_written_in():
    late = datetime(2026, 11, 24, 23, 30, tzinfo=UTC)
    assert visit_text(Visit(when=late, bubbles=1)).endswith("on 24 Nov 2026 23:30")


def test_a_table_too_wide_for_the_screen_has_its_notes_below_or_is_told_in_words():
    rows = diary({"day": 0, "event": "pitched", "note": "pears " * 9}, {"day": 1, "bubbles": 9})
    for width, first in ((60, "line  when"), (30, "  0    pitched")):
        told = diary_text(rows, width=width).splitlines()
        assert max(map(len, told)) <= width
        assert told[0].startswith(first)
    assert diary_text(rows, width=200) == diary_text(rows)
