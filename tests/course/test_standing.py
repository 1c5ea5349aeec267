"""What the maker has seen holds until something undoes it."""

from datetime import date

import pytest

from bubblerate.course.standing import standing
from bubblerate.diary.settings import VesselSettings

from scenes import diary, evening

PITCHED = {"day": 0, "event": "pitched", "sg": 1.085, "litres": 4.5}
DAY_30, DAY_40, DAY_50 = (evening(d).date() for d in (30, 40, 50))


def seen_at(rows, known, *, on=DAY_50):
    return standing(diary(PITCHED, *rows), on=on, known=known)


@pytest.mark.parametrize(
    ("event", "day", "clear", "degassed"),
    [
        # what was done      when  still clear  still degassed
        ("racked", 45, True, True),
        ("sulphited", 45, True, True),
        ("fined", 45, False, True),
        ("stirred", 45, False, True),
        ("fed", 45, False, False),
        ("topped-up", 45, True, True),  # with like wine it stays the same wine
        ("pitched", 45, False, False),
        ("stirred", 40, False, True),  # the same day: which came first is not told
        ("stirred", 39, True, True),
    ],
)
def test_what_was_seen_holds_until_an_event_undoes_it(event, day, clear, degassed):
    known = VesselSettings(clear_since=DAY_40, degassed_on=DAY_40, malolactic_settled_on=DAY_40)
    stands = seen_at([{"day": day, "event": event}], known)
    assert (stands.clear.on == DAY_40) == clear
    assert (stands.degassed.on == DAY_40) == degassed
    assert stands.malolactic.on == stands.degassed.on
    assert clear or stands.clear.undone == (event, evening(day).date())


def test_nothing_said_is_nothing_seen():
    stands = seen_at([], VesselSettings())
    assert (stands.clear.on, stands.degassed.on, stands.malolactic.on) == (None, None, None)
    assert stands.clear.undone is None


def test_what_is_seen_later_or_was_seen_of_an_earlier_wine_is_not_known():
    known = VesselSettings(clear_since=DAY_40)
    assert seen_at([], known, on=DAY_30).clear.said_on is None
    again = [{"day": 42, "event": "bottled"}, {"day": 45, "event": "pitched", "sg": 1.090}]
    assert seen_at(again, known).clear.said_on is None


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
