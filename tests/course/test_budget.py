"""A forecast that does not spend the sugar that there is gives no date."""

from dataclasses import replace
from datetime import timedelta

import pytest

from bubblerate.course.budget import Budget, budget
from bubblerate.course.judgement import judge, quiet_by
from bubblerate.ferment.chances import Span
from bubblerate.show.verdict_text import as_text

from cases import bubbling
from scenes import diary, evening

END = (0.990, 0.999)


def ends(low, high):
    return replace(bubbling(0.1, 3.0), finish_sg=Span(low80=low, median=low, high80=high))


@pytest.mark.parametrize(
    ("low", "high", "found"),
    [
        (0.992, 0.998, Budget.CLOSED),
        (0.9995, 1.010, Budget.CLOSED),  # a stem reads a point off
        (1.0001, 1.010, Budget.SHORT),
        (0.970, 0.9891, Budget.CLOSED),
        (0.970, 0.9889, Budget.OVER),
    ],
)
def test_a_curve_that_ends_outside_the_range_of_the_wine_does_not_close(low, high, found):
    assert budget(ends(low, high), end_sg=END, start_sg=1.080) is found


def test_by_the_start_alone_it_can_only_be_seen_to_spend_too_much():
    bare = replace(bubbling(0.1, 3.0), finish_sg=None)
    for points, found in ((80.0, Budget.CLOSED), (92.0, Budget.OVER), (2.0, Budget.CLOSED)):
        told = replace(bare, points_to_fall=Span(low80=points, median=points, high80=points + 5))
        assert budget(told, end_sg=END, start_sg=1.080) is found
    assert budget(told, end_sg=END, start_sg=None) is Budget.CLOSED
    assert budget(None, end_sg=END, start_sg=1.080) is Budget.CLOSED


def test_where_the_gravity_has_further_to_fall_no_screen_gives_a_date():
    """Bubbles that die away at 1.030: a curve of them ends where the wine cannot."""
    works = [
        {"day": d, "bubbles": round(900 * 0.80**d) + 6, "seconds": 300.0} for d in range(2, 22)
    ]
    read = [{"day": 14, "sg": 1.034}, {"day": 20, "sg": 1.030}]
    known = diary({"day": 0, "event": "pitched", "sg": 1.085, "litres": 4.5}, *works, *read)
    judged = judge(known, at=evening(21))
    assert not judged.gravity.leak
    assert judged.budget is Budget.SHORT
    text = as_text(judged, more=True)
    assert "Should fall below" not in text
    assert "the gravity has further to fall than the bubbles show" in text
    assert quiet_by(judged, evening(21) + timedelta(days=20)) is None
