import pytest

from bubblerate.course.standing import standing
from bubblerate.course.volumes import bottles, headspace_cm, measure, volumes
from bubblerate.diary.settings import VesselSettings

from scenes import diary

PITCHED = {"day": 0, "event": "pitched", "sg": 1.085, "litres": 4.5}


def litres_of(*rows, known=None, clear=False):
    known = known if known is not None else VesselSettings()
    return volumes(standing(diary(PITCHED, *rows), known=known), clear=clear)


# Common practice, no source: bottles of 75 cl, before losses.
@pytest.mark.parametrize(
    ("litres", "count"), [(4.5, 6), (3.785411784, 5), (5.0, 6), (23.0, 30), (0.74, 0), (0.75, 1)]
)
def test_bottles_are_as_many_as_makers_reckon(litres, count):
    assert bottles(litres, 75) == count


# Common practice, no source: 1.5 in in a gallon jar, 2 in at 10 to 11 L, 3 in at 19 to 23 L.
@pytest.mark.parametrize(
    ("litres", "inches"), [(3.8, 1.5), (4.5, 1.5), (10.5, 2.0), (19.0, 3.0), (23.0, 3.0)]
)
def test_headspace_is_what_makers_leave(litres, inches):
    assert headspace_cm(litres) == pytest.approx(2.54 * inches, abs=0.5)


# UK Weights and Measures Act 1985 (gallon 4.54609 L of 160 fl oz); NIST Handbook 44 (gallon of
# 231 cubic inches, 128 fl oz).
@pytest.mark.parametrize(
    ("litres", "text"),
    [
        (4.54609, "4.5 L (1.00 UK gal, 1.20 US gal)"),
        (231 * 2.54**3 / 1000, "3.8 L (0.83 UK gal, 1.00 US gal)"),
        (0.568261, "0.57 L (20.0 UK fl oz, 19.2 US fl oz)"),  # an imperial pint
        (0.473176, "0.47 L (16.7 UK fl oz, 16.0 US fl oz)"),  # a US pint
    ],
)
def test_measures_of_both_countries_are_shown(litres, text):
    assert measure(litres) == text


def test_a_jar_loses_to_lees_and_samples_and_must_be_topped_up():
    found = litres_of({"day": 30, "event": "racked", "litres": 4.3})
    assert [(loss.event, round(loss.litres, 3)) for loss in found.lost] == [("racked", 0.2)]
    assert found.top_up_litres == pytest.approx(0.2)
    assert (found.rackings, found.samples) == (2, 2)
    # from memory: 100 to 300 mL at a racking of 4.5 L, 100 to 250 mL a sample
    assert found.to_lose == pytest.approx(
        (2 * 0.1 * 4.3 / 4.5 + 0.2, 2 * 0.3 * 4.3 / 4.5 + 0.5), abs=1e-9
    )
    assert sum(found.to_lose) + sum(found.in_bottle) == pytest.approx(2 * 4.3)


@pytest.mark.parametrize(
    ("rows", "clear", "rackings"),
    [
        ([], False, 3),
        ([{"day": 20, "event": "racked"}], False, 2),
        ([{"day": d, "event": "racked"} for d in (10, 20, 30, 40)], False, 0),
        ([{"day": 20, "event": "racked"}], True, 0),
        ([{"day": 20, "event": "racked"}, {"day": 40, "event": "fined"}], True, 1),
    ],
)
def test_rackings_to_come_follow_what_was_done_and_seen(rows, clear, rackings):
    assert litres_of(*rows, clear=clear).rackings == rackings


def test_a_row_between_that_says_no_litres_or_more_of_them_is_no_loss():
    rows = [
        {"day": 20, "event": "racked"},
        {"day": 21, "event": "topped-up", "litres": 4.6},
        {"day": 30, "event": "filtered", "litres": 4.4},
    ]
    assert [loss.event for loss in litres_of(*rows).lost] == ["filtered"]


def test_without_litres_nothing_is_made_up():
    known = VesselSettings()
    assert volumes(standing(diary({"day": 0, "bubbles": 3}), known=known), clear=False) is None
