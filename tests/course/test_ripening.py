from datetime import date

import pytest

from bubblerate.course.ripening import best_by_months, months_on, ripe_months
from bubblerate.diary.settings import VesselSettings


# Common practice, no source.
@pytest.mark.parametrize(
    ("style", "months"),
    [
        ("cider", (3, 6)),
        ("plum wine", (6, 12)),
        ("elderberry wine", (12, 24)),
        ("parsnip wine", (12, 24)),
        ("mead", (6, 12)),
        ("strong mead", (12, 60)),
        ("beetroot", (6, 12)),
        (None, (6, 12)),
    ],
)
def test_months_to_the_first_and_the_better_glass(style, months):
    assert ripe_months(VesselSettings(style=style)) == months


def test_what_the_maker_sets_goes_before_what_is_usual():
    assert ripe_months(VesselSettings(style="cider", drink_from_months=9.0)) == (9.0, 9.0)
    assert best_by_months(VesselSettings(best_by_months=18.0)) == 18.0
    assert best_by_months(VesselSettings(style="strawberry wine")) == 12.0
    assert best_by_months(VesselSettings(style="sloe wine")) is None


@pytest.mark.parametrize(
    ("day", "months", "then"),
    [
        ((2026, 11, 15), 1, (2026, 12, 15)),
        ((2026, 12, 31), 2, (2027, 2, 28)),
        ((2027, 12, 31), 2, (2028, 2, 29)),
        ((2026, 11, 15), 14, (2028, 1, 15)),
        ((2026, 11, 15), 0, (2026, 11, 15)),
        ((2026, 11, 15), 1.5, (2026, 12, 30)),
    ],
)
def test_months_on_keep_to_the_calendar(day, months, then):
    assert months_on(date(*day), months) == date(*then)
