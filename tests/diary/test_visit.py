from dataclasses import FrozenInstanceError, replace
from datetime import datetime, timedelta

import pytest

from bubblerate.diary.events import Event
from bubblerate.diary.visit import COLUMNS, Diary, Visit, bottled

from scenes import EVENING, HEADER, LATER


def test_columns_stand_in_the_agreed_order():
    assert HEADER == "when,bubbles,seconds,temp_c,pressure_hpa,sg,sample_c,event,litres,note,struck"
    later = (
        "added_l,sugar_g,bottles,closure,other,refractometer_brix,sulphite_g,sorbate_g,"
        "finings_amount"
    )
    assert ",".join(COLUMNS) == f"{HEADER},{later}"


def test_a_count_that_says_no_time_is_a_minutes_and_no_count_takes_none():
    assert Visit(when=EVENING, bubbles=12).seconds == 60.0
    assert Visit(when=EVENING, bubbles=0, seconds=300.0).seconds == 300.0
    assert Visit(when=EVENING, sg=1.004).seconds is None


def test_a_visit_takes_the_word_of_an_event_and_holds_the_event():
    assert Visit(when=EVENING, event="racked").event is Event.RACKED
    assert Visit(when=EVENING, event=Event.RACKED) == Visit(when=EVENING, event="racked")
    assert Visit(when=EVENING).event is None


def test_a_wine_is_in_bottles_until_they_are_poured_back():
    rows = [
        Visit(when=EVENING + timedelta(days=day), event=word)
        for day, word in enumerate(("racked", "bottled", "poured-back", "bottled-sparkling"))
    ]
    assert [len(bottled(rows[:n])) for n in (1, 2, 3, 4)] == [0, 1, 0, 1]


def test_a_visit_knows_its_rate_and_cannot_be_changed():
    assert Visit(when=EVENING, bubbles=1, seconds=55.0).per_min == pytest.approx(60 / 55)
    assert Visit(when=EVENING, bubbles=0).per_min == 0.0
    assert Visit(when=EVENING, sg=1.004).per_min is None
    with pytest.raises(FrozenInstanceError):
        Visit(when=EVENING).bubbles = 3


@pytest.mark.parametrize(
    ("nonsense", "message"),
    [
        ({"when": datetime(2026, 11, 24, 21, 30)}, "UTC offset"),
        ({"bubbles": -1}, "bubbles is -1"),
        ({"bubbles": 3.2}, "bubbles is 3.2"),
        ({"bubbles": float("nan")}, "bubbles is nan"),
        ({"seconds": 0.0}, "seconds is 0.0"),
        ({"seconds": float("inf")}, "seconds is inf"),
        ({"temp_c": -10.1}, "temp_c is -10.1"),
        ({"temp_c": 50.1}, "temp_c is 50.1"),
        ({"pressure_hpa": 799.0}, "pressure_hpa is 799.0"),
        ({"pressure_hpa": 1101.0}, "pressure_hpa is 1101.0"),
        ({"sg": 0.69}, "sg is 0.69"),
        ({"sg": float("nan")}, "sg is nan"),
        ({"sg": 1004.0}, "sg is 1004.0"),
        ({"sample_c": -0.1}, "sample_c is -0.1"),
        ({"sample_c": 40.1}, "sample_c is 40.1"),
        ({"litres": 10_001.0}, "litres is 10001.0"),
        ({"added_l": 0.0009}, "added_l is 0.0009"),
        ({"added_l": 10_001.0}, "added_l is 10001.0"),
        ({"sugar_g": 0.0}, "sugar_g is 0.0"),
        ({"sugar_g": float("nan")}, "sugar_g is nan"),
        ({"bottles": "six"}, "bottles is 'six'"),
        ({"bottles": "6"}, "bottles is '6'"),
        ({"closure": "wax"}, "closure is 'wax'; a row needs one of cork, tapered, cap, crown"),
        ({"other": "a\0b"}, "NUL"),
        ({"event": "drunk"}, "event is 'drunk'"),
        ({"note": "a\0b"}, "NUL"),
        ({"note": "x" * 131_073}, "131072 characters"),
        ({"note": "\ud800"}, "surrogates not allowed"),
    ],
)
def test_a_visit_refuses_nonsense(nonsense, message):
    with pytest.raises(ValueError, match=message):
        Visit(**{"when": EVENING, **nonsense})


def test_a_diary_tells_what_is_live_and_what_was_last_known(quince):
    visits = (
        Visit(when=EVENING, event="pitched", litres=4.5),
        Visit(when=EVENING + timedelta(hours=1), event="pitched", litres=9.0, struck="slip"),
        Visit(when=LATER, bubbles=40),
    )
    diary = Diary(path=quince, vessel="quince", visits=visits)
    assert diary.live == (visits[0], visits[2])
    assert (diary.pitched, diary.litres) == (EVENING, 4.5)
    assert diary.until(EVENING).visits == visits[:1]
    assert diary.until(EVENING - timedelta(seconds=1)).pitched is None
    again = replace(diary, visits=(*visits, Visit(when=LATER, event="pitched", litres=5.0)))
    assert (again.pitched, again.litres) == (LATER, 5.0)


def test_a_diary_without_a_pitching_counts_from_its_first_live_row(quince):
    visits = (Visit(when=EVENING, struck="slip"), Visit(when=LATER))
    diary = Diary(path=quince, vessel="quince", visits=visits)
    assert (diary.pitched, diary.litres) == (LATER, None)
