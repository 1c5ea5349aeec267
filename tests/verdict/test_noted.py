"""Counts by evening: a long one is parted at four in the morning."""

import pytest

from bubblerate.verdict.noted import by_evening

from scenes import diary

FOUR = 7.0 / 24.0  # of the morning, from nine in the evening on


def told(day, bubbles, minutes, **more):
    """Each part as bubbles, minutes, and hours before the row's own moment."""
    row = {"day": day, "bubbles": bubbles, "seconds": 60.0 * minutes, "temp_c": 18.0, **more}
    (visit,) = diary(row).visits
    return [
        (part.bubbles, part.seconds / 60.0, round((visit.when - part.when).total_seconds() / 3600))
        for part in by_evening([visit])
    ]


@pytest.mark.parametrize(
    ("day", "bubbles", "minutes", "expected"),
    [
        (0.0, 12, 5, [(12, 5, 0)]),
        (0.5, 120, 720, [(70, 420, 5), (50, 300, 0)]),  # nine to nine
        (FOUR, 120, 720, [(120, 720, 0)]),  # to four: all of it before
        (FOUR + 2 / 1440, 9, 10, [(9, 10, 0)]),
        (FOUR + 1.0, 2400, 1440, [(2400, 1440, 0)]),
        (FOUR + 1.5, 2400, 1440, [(1200, 720, 12), (1200, 720, 0)]),
        (FOUR + 3 / 24, 1, 720, [(1, 540, 3), (0, 180, 0)]),
    ],
)
def test_a_count_is_parted_where_its_evening_ends(day, bubbles, minutes, expected):
    assert told(day, bubbles, minutes) == expected


def test_what_else_a_row_holds_stays_on_its_own_evening():
    row = {"day": 0.5, "bubbles": 12, "seconds": 43_200.0, "sg": 1.004, "event": "fed", "note": "x"}
    first, last = by_evening(diary(row).visits)
    assert (first.sg, first.event, first.note) == (None, None, "")
    assert (last.sg, last.event, last.note) == (1.004, "fed", "x")
    assert first.line == last.line


def test_a_row_without_a_count_is_left_alone():
    visits = diary({"day": FOUR, "sg": 1.004}).visits
    assert by_evening(visits) == tuple(visits)
