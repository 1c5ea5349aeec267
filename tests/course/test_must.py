"""The start of a must from what was noted, by hand."""

import numpy as np
import pytest

from bubblerate.course.mass import DRAWS, Draws
from bubblerate.course.must import Told, must
from bubblerate.physics.scales import g_per_litre_from_sg

from scenes import diary

PITCHED = {"day": 0, "event": "pitched"}


def started(*rows, litres=4.5, style=None):
    return must(
        diary(*rows).batch,
        Draws(np.random.default_rng(1)),
        read=lambda visit: np.full(DRAWS, visit.sg),
        litres=litres,
        style=style,
    )


def steady(*days):
    """Ten bubbles a minute on these days."""
    return [{"day": day, "bubbles": 10, "seconds": 60.0} for day in days]


# Common practice, no source: two days after pitching a must has hardly fallen.
@pytest.mark.parametrize(("day", "told"), [(0.5, Told.READ), (2.0, Told.READ), (2.1, Told.USUAL)])
def test_a_reading_of_the_first_two_days_is_the_musts(day, told):
    og, basis = started(PITCHED, {"day": day, "sg": 1.110})
    assert basis is told
    assert og[0] == pytest.approx(1.110)


def test_a_reading_of_a_jar_that_nobody_pitched_is_not_the_musts():
    assert started({"day": 0, "sg": 1.050})[1] is Told.USUAL


@pytest.mark.parametrize(
    ("sg", "told"),
    [(1.000, Told.USUAL), (1.001, Told.READ), (1.170, Told.READ), (1.171, Told.USUAL)],
)
def test_what_no_must_reads_is_not_taken_for_one(sg, told):
    og, basis = started(PITCHED | {"sg": sg})
    assert basis is told
    assert og.max() <= 1.170


# Common practice, no source.
@pytest.mark.parametrize(
    ("style", "low", "high"),
    [
        (None, 1.075, 1.100),
        ("dry wine", 1.075, 1.100),
        ("cider", 1.045, 1.060),
        ("perry", 1.045, 1.065),
        ("mead", 1.085, 1.125),
    ],
)
def test_the_usual_must_of_a_style(style, low, high):
    og, told = started(PITCHED, {"day": 40, "sg": 0.995}, style=style)
    assert told is Told.USUAL
    assert og[0] == pytest.approx((low + high) / 2.0)
    assert (og.min(), og.max()) == pytest.approx((low, high), abs=0.0006)


# By hand: 450 g in 4.5 L are 100 g/L; fruit brings 10 to 60 more, honey up to 10, juice 100 to 140.
@pytest.mark.parametrize(
    ("style", "g_per_litre", "wide"),
    [(None, 135.0, 50.0), ("mead", 105.0, 10.0), ("cider", 220.0, 40.0), ("perry", 220.0, 40.0)],
)
def test_the_recipe_and_what_its_fruit_brings(style, g_per_litre, wide):
    og, told = started(PITCHED | {"sugar_g": 450.0}, style=style)
    assert told is Told.RECIPE
    found = g_per_litre_from_sg(og)
    assert found[0] == pytest.approx(g_per_litre, abs=0.1)
    # scales and jug add 3.6 % of the recipe to what fruit may bring
    spread = np.hypot(wide / 12.0**0.5, 3.6)
    assert found.std() == pytest.approx(spread, rel=0.12)


def test_no_recipe_counts_for_more_than_dissolves():
    og, _ = started(PITCHED | {"sugar_g": 2500.0})
    assert g_per_litre_from_sg(og) == pytest.approx(np.full(DRAWS, 400.0), abs=0.1)


def test_a_recipe_without_litres_tells_nothing():
    assert started(PITCHED | {"sugar_g": 450.0}, litres=None) is None
    assert started({"day": 0, "sugar_g": 450.0}) is None  # of a later feeding


# By hand: 10 a minute for 16 days are 230 400 bubbles of 1 mL, 0.56 L a point and litre: 91 points.
def test_all_bubbles_counted_tell_the_fall():
    og, told = started(PITCHED, *steady(0, 8, 16), {"day": 16, "sg": 1.010})
    assert told is Told.BUBBLES
    assert og[0] == pytest.approx(1.010 + 0.0914, abs=0.001)
    assert started(PITCHED, *steady(0, 8, 16))[1] is Told.BUBBLES


@pytest.mark.parametrize(
    ("days", "told"),
    [
        ((0, 8), Told.USUAL),  # two are too few
        ((0, 8, 16), Told.BUBBLES),
        ((0, 8.1, 16), Told.USUAL),  # what was made in a longer gap nobody knows
        ((4, 8, 16), Told.BUBBLES),
        ((4.1, 8, 16), Told.USUAL),
        ((0, 8, 17), Told.USUAL),  # the last came after the reading
    ],
)
def test_bubbles_tell_the_fall_only_where_they_were_counted_often(days, told):
    rows = sorted([*steady(*days), {"day": 16.5, "sg": 1.010}], key=lambda row: row["day"])
    assert started(PITCHED, *rows)[1] is told


def test_bubbles_without_litres_tell_nothing():
    assert started(PITCHED, *steady(0, 8, 16), litres=None) is None


def test_nothing_noted_is_nothing_known():
    assert started(PITCHED) is None
