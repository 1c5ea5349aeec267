from dataclasses import replace

import pytest

from bubblerate.course.standing import standing
from bubblerate.course.volumes import (
    BOTTLES_CL,
    FILTER_LITRES,
    bottles,
    headspace_cm,
    measure,
    volumes,
)
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


def test_bottles_that_are_just_full_count_whatever_the_last_digit_of_a_float_is():
    assert [bottles(count * 33 / 100.0, 33) for count in range(1, 60)] == [*range(1, 60)]


# Common practice, no source: wine bottles and half litres; a pad and hoses keep a glass or two.
def test_the_usual_bottles_and_what_a_filter_keeps():
    assert BOTTLES_CL == (75, 50)
    assert FILTER_LITRES == (0.1, 0.3)


# Common practice, no source: 1.5 in in a gallon jar, 2 in at 10 to 11 L, 3 in at 19 to 23 L.
@pytest.mark.parametrize(
    ("litres", "inches"),
    [(3.8, 1.5), (4.5, 1.5), (8.0, 2.0), (10.5, 2.0), (15.0, 3.0), (19.0, 3.0), (23.0, 3.0)],
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
        (0.99, "0.99 L (34.8 UK fl oz, 33.5 US fl oz)"),
        (1.0, "1.0 L (0.22 UK gal, 0.26 US gal)"),
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


# Common practice, no source: at the threshold, some days later, before bottling.
@pytest.mark.parametrize(
    ("rows", "clear", "samples", "first"),
    [
        ([], False, 3, True),
        ([], True, 3, False),  # none is to come
        ([{"day": 40, "event": "fined"}], True, 3, True),
        ([{"day": 20, "event": "racked"}], False, 2, False),
        ([{"day": 20, "event": "racked"}], True, 1, False),
    ],
)
def test_samples_to_come_follow_what_was_done_and_seen(rows, clear, samples, first):
    found = litres_of(*rows, clear=clear)
    assert (found.samples, found.first) == (samples, first)


# By hand: a racking leaves 0.2 L of 4.5 with the lees, so 4.5 L lose 0.6 at three: a bottle of
# 0.75. 23 L lose 3.07: five. 20 L in a jar of 23, racked once, lose 1.78 and lack 3: seven.
@pytest.mark.parametrize(
    ("rows", "clear", "spare"),
    [
        ([], False, 1),
        ([{"day": 1, "event": "moved", "litres": 23.0}], False, 5),
        (
            [
                {"day": 1, "event": "moved", "litres": 23.0},
                {"day": 20, "event": "racked", "litres": 20.0},
            ],
            False,
            7,
        ),
        ([{"day": 20, "event": "racked"}], True, 1),  # one in any case
    ],
)
def test_spare_wine_replaces_what_the_lees_take(rows, clear, spare):
    assert litres_of(*rows, clear=clear).spare_bottles == spare


# By hand: two rackings of 0.2 L take 9 to 27 mL, two samples 200 to 500 mL.
def test_a_jar_too_small_for_its_losses_leaves_nothing():
    found = litres_of({"day": 1, "event": "racked", "litres": 0.2})
    assert found.to_lose == pytest.approx((0.209, 0.527), abs=0.001)
    assert found.in_bottle == (0.0, 0.0)


@pytest.mark.parametrize(("full", "short"), [(4.8, 0.3), (4.5, 0.0), (4.3, 0.0), (None, 0.0)])
def test_a_jar_is_filled_to_what_it_holds_and_never_emptied_to_it(full, short):
    stands = replace(
        standing(diary(PITCHED), known=VesselSettings()), full_litres=full, full_said=True
    )
    assert volumes(stands, clear=False).top_up_litres == pytest.approx(short)


@pytest.mark.parametrize("event", ["racked", "filtered", "sampled", "fined", "fined-two-part"])
def test_what_an_act_took_is_shown_under_its_name(event):
    found = litres_of({"day": 30, "event": event, "litres": 4.25})
    assert [(loss.event, loss.litres) for loss in found.lost] == [(event, 0.25)]


@pytest.mark.parametrize(("event", "litres"), [("racked", 4.5), ("moved", 4.2)])
def test_an_act_that_took_nothing_or_is_none_of_these_shows_no_loss(event, litres):
    assert litres_of({"day": 30, "event": event, "litres": litres}).lost == ()


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
