"""Wine in draws: what sugar, doses, other wine and a fall of gravity make of it, by hand."""

import numpy as np
import pytest

from bubblerate.course.mass import DRAWS, Draws, Wine, readable
from bubblerate.physics.alcohol import abv_from_sg, driest_sg


def alike(value):
    return np.full(DRAWS, value)


def wine(litres=4.5, abv=12.0, sg=0.995, so2=50.0, sorbic=100.0):
    return Wine(*map(alike, (litres, abv, sg, so2, sorbic)))


def middle(found):
    return [
        float(part[0])
        for part in (
            *(found.litres, found.abv_pct, found.sg),
            *(found.so2_mg_per_litre, found.sorbic_mg_per_litre),
        )
    ]


@pytest.fixture
def draws():
    return Draws(np.random.default_rng(1))


# Common practice, no source: a mark on the jar is good to 3 %, kitchen scales to 2 % with sugar and
# to 10 % with a dose or a broken tablet. Of 400 draws a spread is good to 7 %, twice its error.
@pytest.mark.parametrize(("of", "share"), [("litres", 0.03), ("grams", 0.02), ("dose", 0.1)])
def test_what_is_measured_is_as_wrong_as_its_measure(draws, of, share):
    found = getattr(draws, of)(4.5)
    assert found.shape == (401,)
    assert found[0] == 4.5
    assert np.log(found[1:] / 4.5).std() == pytest.approx(share, rel=0.1)


def test_what_lies_between_two_ends_has_its_middle_first(draws):
    found = draws.between(1.0, 3.0)
    assert found[0] == 2.0
    assert (found.min(), found.max()) == pytest.approx((1.0, 3.0), abs=0.02)
    assert 1.0 <= found.min() <= found.max() <= 3.0


def test_a_gravity_stays_within_what_a_hydrometer_shows(draws):
    found = draws.gravity(1.299, 0.002)
    assert found[0] == 1.299
    assert found.std() > 0.0005
    assert found.max() <= 1.3
    assert readable(np.array([0.2, 1.05, 1.7])) == pytest.approx([0.7, 1.05, 1.3], abs=1e-5)


# By hand: 300 g fill 0.185 L (CRC Handbook), so 4.5 L of 4.470 kg are 4.685 L of 4.770 kg: 1.020.
def test_sugar_adds_its_volume_and_thins_the_rest():
    found = middle(wine().with_sugar(alike(300.0)))
    thinner = 4.5 / 4.685
    wanted = [4.685, 12.0 * thinner, 1.0199, 50.0 * thinner, 100.0 * thinner]
    assert found == pytest.approx(wanted, rel=0.0003)


def test_more_sugar_than_dissolves_counts_as_half_a_kilogram_a_litre():
    most = middle(wine().with_sugar(alike(2250.0)))
    assert most[0] == pytest.approx(4.5 * (1.0 + 500.0 * 0.6163e-3), rel=1e-6)
    assert middle(wine().with_sugar(alike(9000.0))) == most


def test_sugar_for_what_no_must_reads_ends_in_a_gravity():
    assert middle(wine(sg=1.25).with_sugar(alike(2250.0)))[2] < 1.3


# By hand: 1 g of powder holds 0.5763 g of SO2, 128.1 mg/L in 4.5 L; 1 g of sorbate 0.7464 g of
# acid, 165.9 mg/L.
def test_a_dose_comes_on_top_of_what_was_there():
    found = middle(wine().dosed(sulphite_g=alike(1.0), sorbate_g=alike(1.0)))
    assert found == pytest.approx([4.5, 12.0, 0.995, 178.1, 265.9], abs=0.1)


# By hand: 4.5 L and 1.5 L are 6 L, of which the latter is a quarter.
def test_two_wines_mix_by_volume():
    found = middle(wine().with_wine(wine(1.5, 8.0, 1.015, 10.0, 0.0)))
    assert found == pytest.approx([6.0, 11.0, 1.0, 40.0, 75.0])


def test_what_is_left_is_the_same_wine():
    assert middle(wine().left(alike(2.0))) == pytest.approx([2.0, 12.0, 0.995, 50.0, 100.0])


@pytest.mark.parametrize(("read", "then"), [(1.010, 1.010), (0.990, 0.995)])
def test_sugar_that_was_not_weighed_shows_in_the_reading_alone(read, then):
    found = middle(wine().sugared_to(alike(read)))
    assert found == pytest.approx([4.5, 12.0, then, 50.0, 100.0])


# Must of 1.080 has no alcohol and makes what the tables of strength say; half way down, half.
def test_a_fall_makes_the_strength_of_the_tables():
    must = wine(abv=0.0, sg=1.080)
    half = must.fermented_to(alike(1.030))
    assert half.abv_pct[0] == pytest.approx(abv_from_sg(1.080, 1.030))
    dry = half.fermented_to(alike(0.995))
    assert dry.abv_pct[0] == pytest.approx(abv_from_sg(1.080, 0.995), abs=0.001)
    assert dry.sg[0] == 0.995
    assert dry.must[0] == pytest.approx(1.080, abs=1e-5)


def test_a_reading_above_the_must_or_below_all_alcohol_goes_no_further():
    must = wine(abv=0.0, sg=1.080)
    assert middle(must.fermented_to(alike(1.090)))[1:3] == pytest.approx([0.0, 1.080])
    dry = must.fermented_to(alike(0.9))
    assert dry.sg[0] == pytest.approx(driest_sg(1.080), abs=2e-6)
    assert dry.sg[0] > driest_sg(1.080)


@pytest.mark.parametrize("sg", [0.99, 1.0, 1.01])
def test_water_makes_no_alcohol_whatever_is_read(sg):
    found = wine(abv=0.0, sg=1.0).fermented_to(alike(sg))
    assert middle(found)[1:3] == pytest.approx([0.0, 1.0], abs=1e-5)


# By hand: 18 % at 1.09 would be must beyond the sugar tables; ten points more make 1.3 to 1.5 %.
def test_a_fall_from_beyond_the_tables_adds_to_the_strength_that_was_there():
    found = wine(abv=18.0, sg=1.090).fermented_to(alike(1.080))
    assert 19.3 < found.abv_pct[0] < 19.6
    assert wine(abv=24.0, sg=1.090).fermented_to(alike(1.040)).abv_pct[0] == 24.9
