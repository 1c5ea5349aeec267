"""What was done to a jar, and how full it is."""

from datetime import date

import pytest

from bubblerate.course.standing import standing
from bubblerate.diary.settings import VesselSettings

from scenes import diary

PITCHED = {"day": 0, "event": "pitched", "sg": 1.085, "litres": 4.5}


def seen_at(rows, known):
    return standing(diary(PITCHED, *rows), known=known)


@pytest.mark.parametrize(
    ("rows", "known", "litres", "full"),
    [
        ([], {}, 4.5, 4.5),
        ([{"day": 9, "event": "racked", "litres": 4.2}], {}, 4.2, 4.5),
        ([{"day": 9, "event": "racked", "litres": 4.2}], {"full_litres": 4.7}, 4.2, 4.7),
    ],
)
def test_a_jar_is_as_full_as_it_has_been_unless_the_maker_says_more(rows, known, litres, full):
    stands = seen_at(rows, VesselSettings(**known))
    assert (stands.litres, stands.full_litres) == (litres, full)
    assert stands.full_said == bool(known)


def test_wine_stands_on_its_finings_until_it_is_racked():
    fined = {"day": 20, "event": "fined"}
    assert seen_at([fined], VesselSettings()).on_finings
    assert not seen_at([fined, {"day": 30, "event": "racked"}], VesselSettings()).on_finings
    assert seen_at([fined], VesselSettings()).last_day("fined") == date(2026, 10, 21)
