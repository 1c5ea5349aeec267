"""What sugar left would press in a closed bottle."""

import pytest

from bubblerate.course.pressure import pressure
from bubblerate.diary.settings import Settings, VesselSettings
from bubblerate.physics.bottle import bottle_pressure
from bubblerate.physics.gas import saturated_g_per_litre
from bubblerate.verdict.judgement import situation

from cases import STEADY, read
from scenes import diary, evening


@pytest.mark.parametrize(
    ("gravity", "points"),
    [
        (STEADY, 2.0),  # below its finish: only the error of a reading
        (read((0, 1.003)), 7.0),
        (read((0, 1.024)), 28.0),
    ],
)
def test_the_pressure_is_that_of_the_points_above_the_finish_and_of_the_error(gravity, points):
    found = pressure(gravity, abv_pct=None)
    expected = [
        bottle_pressure(
            points,
            temp_c=temp_c,
            abv_pct=12.0,
            dissolved_g_per_litre=saturated_g_per_litre(20.0, abv_pct=12.0),
        ).over_bar
        for temp_c in (20.0, 30.0)
    ]
    assert [found.cellar_bar, found.warm_bar] == pytest.approx(expected)
    assert found.points == pytest.approx(points)
    assert not found.abv_known


# Common practice, no source: 2 points add 1.4 bar at 20 C, to a wine that holds its gas.
def test_two_points_press_as_makers_reckon():
    without = bottle_pressure(
        0.0,
        temp_c=20.0,
        abv_pct=12.0,
        dissolved_g_per_litre=saturated_g_per_litre(20.0, abv_pct=12.0),
    ).over_bar
    assert pressure(STEADY, abv_pct=None).cellar_bar - without == pytest.approx(1.4, abs=0.1)


@pytest.mark.parametrize(
    ("abv", "used", "known"),
    [(9.0, 9.0, True), (None, 12.0, False), (21.5, 20.0, True)],
)
def test_the_strength_is_the_wines_own_where_it_is_known(abv, used, known):
    found = pressure(STEADY, abv_pct=abv)
    assert (found.abv_known, found.abv_pct) == (known, used)


@pytest.mark.parametrize("said", [None, 1.000, 1.012])
def test_a_dry_wine_at_1_000_may_fall_six_points_whatever_finish_is_typed_for_it(said):
    rows = {"day": 0, "sg": 1.086, "event": "pitched"}, {"day": 60, "sg": 1.000}
    own = {"fig": VesselSettings(style="dry wine", litres=4.5, finish=said)}
    asked = situation(diary(*rows), evening(60), Settings(vessels=own))
    read = asked.gravity_check("bottling")
    assert read.said_finish_sg is None  # neither is where 1.086 ends
    assert pressure(read, abv_pct=11.3).points == pytest.approx(8.0, abs=0.7)


def test_a_finish_said_within_reason_is_shown_and_lowers_no_pressure():
    high = pressure(read((0, 1.003), finish=1.002), abv_pct=None)
    low = pressure(read((0, 1.003), finish=0.996), abv_pct=None)
    assert [high.points, low.points] == pytest.approx([7.0, 9.0])


def test_without_gravity_no_pressure_is_made_up():
    assert pressure(None, abv_pct=12.0) is None
