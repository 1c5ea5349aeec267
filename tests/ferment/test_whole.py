"""Tests what of a jar can be compared with the atlas, and when nothing can."""

from datetime import timedelta

import numpy as np
import pytest

from bubblerate.diary.settings import Hydrometer
from bubblerate.ferment.gravity import corrected_readings
from bubblerate.ferment.whole import gather_whole

from scenes import START, evening, visits

PITCHED = {"day": -2.0, "event": "pitched", "sg": 1.085}
RISEN = [{"day": float(d), "bubbles": n} for d, n in enumerate((4, 15, 24, 21, 17, 13))]


def whole(*rows, pitched=None, litres=5.0, finish_sg=None, usual_c=None):
    rows = sorted(rows, key=lambda row: row["day"])
    seen = visits(*rows)
    read = corrected_readings(seen, Hydrometer())
    return gather_whole(
        seen, read, pitched=pitched, usual_c=usual_c, litres=litres, finish_sg=finish_sg
    )


def test_days_run_from_pitching_and_the_start_is_no_reading_beside_it():
    found = whole(PITCHED, *RISEN, {"day": 4.5, "sg": 1.040})
    np.testing.assert_allclose(found.days, np.arange(6) + 2.0)
    assert found.og_points == pytest.approx(85.0)
    np.testing.assert_allclose(found.reading_days, [6.5])
    np.testing.assert_allclose(found.reading_points, [40.0], atol=1e-6)
    assert found.pitched_within_days == 0.0


@pytest.mark.parametrize(
    "event", ["fed", "sweetened", "joined", "diluted", "starter", "stabilised", "chilled"]
)
def test_a_ferment_that_was_fed_stopped_or_helped_is_like_none(event):
    assert whole(PITCHED, *RISEN) is not None
    assert whole(PITCHED, *RISEN, {"day": 3.5, "event": event}) is None


@pytest.mark.parametrize("event", ["strained", "airlock", "moved", "racked"])
def test_only_bubbles_of_todays_airlock_take_part_and_all_of_the_gravity(event):
    found = whole(PITCHED, *RISEN, {"day": 3.5, "event": event}, {"day": 1.2, "sg": 1.070})
    np.testing.assert_allclose(found.days, [6.0, 7.0])
    assert found.og_points is not None
    assert len(found.reading_days) == 1


def test_counts_just_after_a_disturbance_are_trusted_less():
    found = whole(PITCHED, *RISEN, {"day": 3.5, "event": "stirred"})
    np.testing.assert_allclose(found.trust, [1, 1, 1, 1, 0.2, 1])


def test_a_resting_yeast_says_nothing():
    warm = [row | {"temp_c": 20.0} for row in RISEN]
    cold = {"day": 6.0, "bubbles": 0, "temp_c": 5.0}
    assert len(whole(PITCHED, *warm, cold).days) == len(RISEN)


def test_warm_days_are_longer_and_their_minutes_too():
    # 10 C above the usual all goes twice as fast; halfway there on the way down
    warm = [row | {"temp_c": 28.0 if row["day"] < 2.5 else 18.0} for row in RISEN]
    found = whole(PITCHED, *warm, {"day": 1.0, "sg": 1.070}, usual_c=18.0)
    np.testing.assert_allclose(found.days, [4.0, 6.0, 8.0, 9.5, 10.5, 11.5])
    np.testing.assert_allclose(found.seconds, [120.0] * 3 + [60.0] * 3)
    np.testing.assert_allclose(found.reading_days, [6.0])
    assert found.day_of(evening(6.0)) == pytest.approx(12.5)
    ahead = found.days_ahead(np.array([12.5, 10.5, 6.0, np.inf]), evening(5.0))
    np.testing.assert_allclose(ahead, [1.0, -1.0, -4.0, np.inf])


def test_without_a_usual_temperature_warmth_takes_no_part():
    warm = [row | {"temp_c": 20.0 + row["day"]} for row in RISEN]
    np.testing.assert_allclose(whole(PITCHED, *warm).days, np.arange(6) + 2.0)
    np.testing.assert_allclose(whole(PITCHED, *RISEN, usual_c=20.0).days, np.arange(6) + 2.0)


def test_where_no_row_says_when_it_was_pitched_the_settings_may():
    found = whole(*RISEN, pitched=START - timedelta(days=1))
    np.testing.assert_allclose(found.days[0], 1.0)


def test_where_nobody_says_it_a_rise_shows_that_it_began_lately():
    assert whole(*RISEN).pitched_within_days == 3.0
    assert whole(*RISEN[2:]) is None


def test_pitching_after_the_first_count_is_a_slip_and_helps_nothing():
    assert whole(*RISEN, pitched=evening(3.0)) is None


@pytest.mark.parametrize("sg", [1.010, 1.190])
def test_a_start_that_no_must_has_is_not_taken_for_one(sg):
    assert whole(PITCHED | {"sg": sg}, *RISEN).og_points is None


def test_a_reading_days_after_pitching_is_not_the_start():
    found = whole(PITCHED | {"sg": None}, *RISEN, {"day": 1.5, "sg": 1.080})
    assert found.og_points is None
    assert len(found.reading_days) == 1


def test_of_very_many_counts_neighbours_are_taken_together():
    many = [{"day": d / 20.0, "bubbles": 20} for d in range(500)]
    found = whole(PITCHED, *many)
    assert len(found.days) == 100
    assert found.bubbles.sum() == 500 * 20


def test_without_a_count_nothing_is_laid_beside_it():
    assert whole(PITCHED) is None


def test_until_a_new_airlock_is_counted_the_old_one_speaks():
    assert len(whole(PITCHED, *RISEN, {"day": 6.0, "event": "airlock"}).days) == len(RISEN)
