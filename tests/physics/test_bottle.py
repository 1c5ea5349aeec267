import numpy as np
import pytest

from bubblerate.physics.bottle import CELLAR_C, WARM_C, bottle_pressure, sparkle
from bubblerate.physics.constants import CO2_PER_HEXOSE
from bubblerate.physics.gas import (
    co2_from_points_g,
    saturated_g_per_litre,
    wine_holds_g_per_litre_bar,
)

from scenes import reference

WATER_KG_M3 = dict(reference("water_density.csv").itertuples(index=False))
HEXOSE_PER_SUCROSE = 2 * 180.156 / 342.297


def wine(points_left=0.0, *, temp_c=CELLAR_C, abv_pct=12.0, dissolved=None, **other):
    if dissolved is None:
        dissolved = saturated_g_per_litre(20.0, abv_pct=abv_pct)
    return bottle_pressure(
        points_left, temp_c=temp_c, abv_pct=abv_pct, dissolved_g_per_litre=dissolved, **other
    )


# Common practice, no source: added bar at 20 C, 12 %, reckoned without a headspace.
@pytest.mark.parametrize(
    ("points", "added_bar"), [(1, 0.7), (2, 1.4), (3, 2.0), (5, 3.4), (8, 5.5), (10, 6.8)]
)
def test_points_left_add_the_pressure_that_makers_reckon(points, added_bar):
    added = wine(float(points)).over_bar - wine().over_bar
    assert added == pytest.approx(added_bar, abs=0.06 + 0.01 * added_bar)


# Common practice, no source: cider of 6 % about 0.63 bar a point; 3 % more for each degree.
def test_cider_and_warmth_press_as_makers_reckon():
    assert wine(1.0, abv_pct=6.0).co2_bar - wine(abv_pct=6.0).co2_bar == pytest.approx(
        0.63, abs=0.01
    )
    per_degree = (wine(3.0, temp_c=WARM_C).co2_bar / wine(3.0).co2_bar - 1.0) / 10.0
    assert per_degree == pytest.approx(0.03, abs=0.003)


# Common practice, no source: a well degassed wine has about 1 bar less.
def test_a_degassed_wine_presses_about_a_bar_less():
    assert wine(4.0).over_bar - wine(4.0, dissolved=0.0).over_bar == pytest.approx(1.0, abs=0.06)


# Liger-Belair et al., Sci. Rep. 7 (2017), table 1, printed to 0.1 bar: filled so as to press 5.8
# bar at 12 C, the same bottle at 6 and 20 C. Strength, sugar and headspace are from memory; each
# of the two pressures is rounded by 0.05, and the temperatures carry a measurement of their own.
def test_one_champagne_bottle_presses_as_found_at_three_temperatures():
    def pressure(temp_c, co2_g):
        return wine(temp_c=temp_c, abv_pct=12.5, dissolved=co2_g, sugar_g_per_litre=10.0).co2_bar

    cool, middle, warm = reference("champagne.csv").itertuples(index=False)
    co2_g = middle.co2_bar / (pressure(middle.temp_c, 1.0))
    assert pressure(cool.temp_c, co2_g) == pytest.approx(cool.co2_bar, rel=0.02)
    assert pressure(warm.temp_c, co2_g) == pytest.approx(warm.co2_bar, rel=0.02)


# Trade glossary and Oxford Companion to Wine 2006: 4 g/L a bar or atm, 24 g/L five to six; no
# temperature is printed, 10 C is from memory, so 10 %.
@pytest.mark.parametrize("row", list(reference("sparkling_rule.csv").itertuples(index=False)))
def test_sugar_for_sparkling_wine_makes_the_pressure_of_the_rule(row):
    made_g = row.sucrose_g_per_litre * HEXOSE_PER_SUCROSE * CO2_PER_HEXOSE
    atm = wine(temp_c=10.0, abv_pct=12.5, dissolved=made_g).co2_bar / 1.01325
    assert row.low_atm * 0.9 <= atm <= row.high_atm * 1.1


@pytest.mark.parametrize("temp_c", [2.0, 20.0, 35.0])
@pytest.mark.parametrize("share", [0.01, 0.04, 0.5])
def test_no_gas_is_lost_between_wine_and_headspace(temp_c, share):
    bottle = wine(6.0, temp_c=temp_c, abv_pct=8.0, dissolved=1.2, headspace_share=share)
    in_wine = bottle.co2_bar * wine_holds_g_per_litre_bar(temp_c, abv_pct=8.0)
    # by Tanaka 2001 the wine swells like water; CO2 at 1 bar and 20 C weighs 1.8056 g/L (ideal gas)
    swelling = 998.2067 / WATER_KG_M3[temp_c] - 1.0
    in_headspace = bottle.co2_bar * 1.8056 * 293.15 / (temp_c + 273.15) * (share - swelling)
    made = co2_from_points_g(6.0, litres=1.0) + 1.2
    assert in_wine + in_headspace == pytest.approx(made, rel=1e-5)


def test_a_flat_wine_closed_under_air_has_no_over_pressure_at_closing():
    assert wine(dissolved=0.0).over_bar == pytest.approx(0.0, abs=1e-12)


# By hand: a wine that swells as water does (Tanaka 2001) takes 2.6 mL of the 20 of a litre; so at
# 30 C the dry air of 0.990 bar is pressed to 1.174, and water vapour is 0.042 bar (IAPWS SR1-86).
def test_the_air_closed_in_is_squeezed_by_the_swelling_wine():
    warm = wine(temp_c=WARM_C, headspace_share=0.02)
    assert warm.air_bar == pytest.approx(1.174 + 0.042, abs=0.001)
    assert warm.over_bar == pytest.approx(warm.co2_bar + 0.203, abs=0.001)


def test_more_sugar_warmth_or_a_fuller_bottle_presses_more():
    usual = wine(2.0, temp_c=25.0).over_bar
    assert wine(2.1, temp_c=25.0).over_bar > usual
    assert wine(2.0, temp_c=26.0).over_bar > usual
    assert wine(2.0, temp_c=25.0, headspace_share=0.015).over_bar > usual


def test_draws_of_points_left_give_draws_of_pressure():
    points = np.array([0.0, 1.5, 4.0])
    expected = [wine(float(p)).absolute_bar for p in points]
    assert wine(points).absolute_bar == pytest.approx(expected)


# CETIE bottling guide 1; Regulation (EC) 1493/1999 and its successors: EU words first.
@pytest.mark.parametrize(
    ("over_bar", "word"),
    [
        (0.0, "still"),
        (0.99, "still"),
        (1.0, "semi-sparkling"),
        (2.5, "semi-sparkling"),
        (2.51, "between semi-sparkling and sparkling"),
        (2.99, "between semi-sparkling and sparkling"),
        (3.0, "sparkling"),
    ],
)
def test_words_change_where_the_definitions_do(over_bar, word):
    assert sparkle(over_bar) == word


@pytest.mark.parametrize(
    "row", list(reference("bottle_definitions.csv").fillna(-1.0).itertuples(index=False))
)
def test_each_definition_is_honoured_within_its_limits(row):
    low = max(row.from_bar, 0.0)
    high = row.to_bar - 0.01 if row.to_bar > 0 else 12.0
    assert {sparkle(float(p)) for p in np.linspace(low, high, 20)} == {row.word}


# CETIE: a still wine holds less than 1.2 g/L and presses less than 1 bar, two ways to say it.
def test_gas_and_pressure_of_a_still_wine_go_together():
    assert sparkle(wine(dissolved=1.2).over_bar) == "still"


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: wine(-1.0), "fall of gravity -1 is outside 0 to 200 points"),
        (lambda: wine(temp_c=60.0), "temperature 60 is outside 0 to 40 C"),
        (lambda: wine(dissolved=-0.1), "dissolved CO2 -0.1 is outside 0 to 15 g/L"),
        (lambda: wine(headspace_share=0.0), "headspace 0 is outside 0.01 to 0.5 of the wine"),
        (
            lambda: wine(abv_pct=120.0, dissolved=1.0),
            "alcohol 120 is outside 0 to 20 % vol",
        ),
        (lambda: sparkle(float("nan")), "over-pressure nan is outside -1 to 200 bar"),
    ],
)
def test_nonsense_is_refused_with_quantity_value_and_range(call, message):
    with pytest.raises(ValueError) as refused:  # noqa: PT011 - the whole message is compared
        call()
    assert str(refused.value) == message
