"""Doses by published tables and by hand."""

import pytest

from bubblerate.physics.bottle import bottle_pressure
from bubblerate.physics.constants import TABLET_G
from bubblerate.physics.doses import (
    finings_ml,
    lifted_sg,
    priming_g_per_litre,
    sorbate_g,
    sweetening_g,
)
from bubblerate.physics.gas import saturated_g_per_litre
from bubblerate.physics.hydrometer import sg_from_kg_m3

from scenes import reference

CRC = reference("sucrose_brix_sg.csv").dropna(subset=["crc_kg_m3"]).query("1 <= brix <= 15")


# CRC Handbook, sucrose: of a litre of solution the water is its weight less the sugar's.
@pytest.mark.parametrize("row", CRC.to_dict("records"), ids=lambda row: f"{row['brix']} Brix")
def test_sugar_to_sweeten_water_agrees_with_the_sucrose_table(row):
    grams, kg_m3 = row["crc_g_per_litre"], row["crc_kg_m3"]
    water_litres = (kg_m3 - grams) / 998.2
    found = sweetening_g(litres=water_litres, sg=1.0, wanted_sg=sg_from_kg_m3(kg_m3))
    assert found == pytest.approx(grams, rel=0.01, abs=0.3)


@pytest.mark.parametrize(("sg", "wanted"), [(0.994, 1.000), (0.996, 1.010), (1.002, 1.030)])
def test_the_gravity_after_the_sugar_is_the_one_that_was_wanted(sg, wanted):
    grams = sweetening_g(litres=4.5, sg=sg, wanted_sg=wanted)
    assert lifted_sg(sg, g_per_litre=grams / 4.5) == pytest.approx(wanted)


def test_a_wanted_gravity_below_the_wines_own_is_refused():
    with pytest.raises(ValueError, match="wanted SG"):
        sweetening_g(litres=4.5, sg=1.010, wanted_sg=1.000)


# By hand: 200 mg/L of sorbic acid (112.13) are 268 mg/L of its potassium salt (150.22).
def test_sorbate_keeps_to_the_limit_of_the_code():
    low, high = sorbate_g(1.0)
    assert high == pytest.approx(0.268, abs=0.001)
    assert low == pytest.approx(0.1675, abs=0.0005)
    assert sorbate_g(4.5)[1] == pytest.approx(4.5 * high)


# By hand, in a litre: with 50 to 100 mg of acid in it 75 mg lack at least and 100 at most may go
# in, 100 and 134 mg of the salt; with 100 to 190 only 10 mg, 13 of the salt; above 200 none.
@pytest.mark.parametrize(
    ("there", "grams"),
    [
        ((50.0, 100.0), (0.1005, 0.1340)),
        ((100.0, 190.0), (0.0134, 0.0134)),
        ((130.0, 180.0), (0.0, 0.0268)),
        ((190.0, 210.0), (0.0, 0.0)),
    ],
)
def test_sorbate_in_it_already_is_taken_off(there, grams):
    assert sorbate_g(1.0, there_mg_per_litre=there) == pytest.approx(grams, abs=0.0002)


# A tablet of 0.44 g in a UK gallon is 50 to 75 mg/L (Univ. of California Cooperative Extension).
def test_a_tablet_is_what_handbooks_reckon():
    mg_per_litre = 1000.0 * TABLET_G * 2 * 64.064 / 222.32 / 4.546
    assert 50.0 <= mg_per_litre <= 75.0


# A trade glossary and the Oxford Companion to Wine: 24 g/L make 5 to 6 atm in a cool cellar.
def test_the_usual_tirage_makes_the_pressure_the_trade_knows():
    rule = reference("sparkling_rule.csv").query("sucrose_g_per_litre == 24")
    points = 24.0 * 0.9565 / 2.0665 / 0.998
    cool = bottle_pressure(points, temp_c=10.0, abv_pct=11.0, dissolved_g_per_litre=1.4)
    assert rule["low_atm"].min() <= cool.co2_bar / 1.01325 <= rule["high_atm"].max() + 0.2


# A bar at 20 C takes the CO2 that a litre of wine and its headspace hold of it: 1.43 g by the EU
# method and 0.04 g, and 2.16 g of sugar for each gram: 3.2 g/L.
def test_each_bar_takes_the_sugar_of_its_gas():
    full = saturated_g_per_litre(20.0, abv_pct=11.0)
    five, six = (
        priming_g_per_litre(bar, abv_pct=11.0, dissolved_g_per_litre=full) for bar in (5.0, 6.0)
    )
    assert six - five == pytest.approx(3.2, abs=0.15)
    assert five == pytest.approx(4.0 * 3.2, abs=0.6)  # the first bar is there without any


def test_wine_full_of_gas_needs_none_for_its_own_pressure():
    assert priming_g_per_litre(0.5, abv_pct=6.0, dissolved_g_per_litre=1.6) == 0.0


@pytest.mark.parametrize("bar", [0.4, 6.1])
def test_a_pressure_out_of_reach_is_refused(bar):
    with pytest.raises(ValueError, match="pressure"):
        priming_g_per_litre(bar, abv_pct=6.0, dissolved_g_per_litre=1.6)


@pytest.mark.parametrize(
    ("call", "most", "beyond"),
    [
        (sorbate_g, 10_000.0, 10_001.0),
        (sorbate_g, 0.001, 0.0009),
        (lambda litres: sweetening_g(litres=litres, sg=1.0, wanted_sg=1.01), 10_000.0, 10_001.0),
        (lambda litres: sweetening_g(litres=litres, sg=1.0, wanted_sg=1.01), 0.001, 0.0009),
        (lambda wanted: sweetening_g(litres=1.0, sg=1.0, wanted_sg=wanted), 1.17, 1.171),
        (lambda grams: lifted_sg(1.0, g_per_litre=grams), 500.0, 501.0),
        (lambda grams: lifted_sg(1.0, g_per_litre=grams), 0.0, -0.1),
    ],
)
def test_what_no_jar_holds_is_refused(call, most, beyond):
    call(most)
    with pytest.raises(ValueError, match="is outside"):
        call(beyond)


# Common practice, no source: half a teaspoon in a jar.
def test_finings_go_by_the_litre():
    assert finings_ml(4.5) == pytest.approx(2.5)
    assert finings_ml(23.0) == pytest.approx(12.8, abs=0.05)
