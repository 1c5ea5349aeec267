import csv
from pathlib import Path

import numpy as np
import pytest

from bubblerate.physics.alcohol import Finish, abv_from_sg, expected_finish
from bubblerate.physics.ethanol import (
    abv_from_mass_fraction,
    ethanol_water_kg_m3,
    mass_fraction_from_abv,
)
from bubblerate.physics.scales import sg_from_brix

REFERENCE = Path(__file__).parent.parent / "reference"
POINT = 0.001

# A litre at 12 % vol and 20 C: the formula of OIML R 22 weighs the mixture (982.3548), and 12 % of
# its pure ethanol (789.2391) is the alcohol in it. Balling's yields: 2.0665 g of extract for each
# gram of ethanol, of which 1.0665 g leave as gas and yeast.
MIXTURE_KG_M3, ETHANOL_G = 982.3548, 0.12 * 789.2391
WATER_KG_M3, AIR_KG_M3 = 998.20, 1.2


def table(name):
    with (REFERENCE / name).open(encoding="utf-8") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def apparent_sg(kg_m3):
    return (kg_m3 - AIR_KG_M3) / (WATER_KG_M3 - AIR_KG_M3)


def og_by_hand(wine_kg_m3, extract_g):
    """Gravity of the must of a litre at 12 % vol that weighs this and holds so much extract."""
    must_g = wine_kg_m3 + 1.0665 * ETHANOL_G
    return sg_from_brix(100.0 * (2.0665 * ETHANOL_G + extract_g) / must_g)


# OIML R 22: cells printed to 0.01 kg/m3.
@pytest.mark.parametrize(
    "row",
    [r for r in table("ethanol_water_density.csv") if r["printed_kg_m3"]],
    ids=lambda r: f"{r['abv']} % vol {r['temp_c']} C",
)
def test_alcohol_weighs_what_the_table_prints(row):
    weighed = ethanol_water_kg_m3(float(row["mass_pct"]) / 100.0, float(row["temp_c"]))
    assert weighed == pytest.approx(float(row["printed_kg_m3"]), abs=0.005)


# Its formula worked out apart from this project, to 4 decimals, from the strength by volume.
@pytest.mark.parametrize("temp_c", range(0, 41, 5))
def test_alcohol_weighs_what_the_formula_gives_elsewhere(temp_c):
    rows = [r for r in table("ethanol_water_density.csv") if float(r["temp_c"]) == temp_c]
    abv = np.array([float(r["abv"]) for r in rows])
    expected = [float(r["formula_kg_m3"]) for r in rows]
    weighed = ethanol_water_kg_m3(mass_fraction_from_abv(abv), float(temp_c))
    assert weighed == pytest.approx(expected, abs=5.1e-5)


def test_the_coefficients_are_those_of_the_recommendation():
    # Summed here term by term, as printed: A_k p^(k-1), B_k s^k, C_i,k p^k s^i.
    def by_terms(p, s):
        total = 0.0
        for row in table("ethanol_water_coefficients.csv"):
            k, value, family = int(row["k"]), float(row["value"]), row["family"]
            if family == "A":
                total += value * p ** (k - 1)
            elif family == "B":
                total += value * s**k
            else:
                total += value * p**k * s ** int(family[1:])
        return total

    for p, s in [(0.0, -40.0), (0.1, 15.0), (0.4, -33.0), (0.7, 20.0), (0.9, -7.0), (1.0, 20.0)]:
        assert ethanol_water_kg_m3(p, 20.0 + s) == pytest.approx(by_terms(p, s), abs=1e-8)


def test_alcohol_agrees_with_an_independent_library():
    # CoolProp, ethanol and water after Melinder: 0.5 kg/m3 apart at most where it is valid.
    properties = pytest.importorskip("CoolProp.CoolProp")
    for fraction in (0.11, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6):
        for temp_c in (0.0, 10.0, 20.0, 30.0, 40.0):
            other = properties.PropsSI(
                "D", "T", 273.15 + temp_c, "P", 101325, f"INCOMP::MEA[{fraction}]"
            )
            assert ethanol_water_kg_m3(fraction, temp_c) == pytest.approx(other, abs=0.5)


# OIML R 22 through the same independent sums: % mass to 5 decimals.
def test_strength_by_mass_is_what_the_formula_gives_elsewhere():
    rows = table("ethanol_water_density.csv")
    abv, mass_pct = (np.array([float(r[c]) for r in rows]) for c in ("abv", "mass_pct"))
    assert 100.0 * mass_fraction_from_abv(abv) == pytest.approx(mass_pct, abs=5.1e-6)


def test_strength_by_volume_to_mass_and_back_is_where_it_began():
    abv = np.linspace(0.0, 100.0, 401)
    assert abv_from_mass_fraction(mass_fraction_from_abv(abv)) == pytest.approx(abv, abs=1e-9)


def test_the_ends_of_the_scale_are_water_and_ethanol():
    assert mass_fraction_from_abv(0.0) == 0.0
    assert mass_fraction_from_abv(100.0) == pytest.approx(1.0, abs=1e-12)
    assert mass_fraction_from_abv(100.0) <= 1.0


def test_a_wine_of_12_percent_by_hand_is_one_of_12_percent():
    # all sugar gone: nothing is left but alcohol and water
    sg = apparent_sg(MIXTURE_KG_M3) + 2e-5  # R 22 and Tanaka differ by 0.006 kg/m3 in water
    assert abv_from_sg(og_by_hand(MIXTURE_KG_M3, 0.0), sg) == pytest.approx(12.0, abs=0.01)


# CRC Handbook: a sugar solution of 20.1 g/L weighs 1006.0 kg/m3, one of 103.8 g/L 1038.1.
@pytest.mark.parametrize(("extract_g", "solution_kg_m3"), [(20.1, 1006.0), (103.8, 1038.1)])
def test_extract_that_stays_behind_is_not_taken_for_alcohol(extract_g, solution_kg_m3):
    wine_kg_m3 = MIXTURE_KG_M3 + solution_kg_m3 - WATER_KG_M3
    og = og_by_hand(wine_kg_m3, extract_g)
    assert abv_from_sg(og, apparent_sg(wine_kg_m3)) == pytest.approx(12.0, abs=0.02)


# HM Revenue and Customs, Excise Notice 226: from memory, and made for beer; hence 0.2 % vol.
@pytest.mark.parametrize("row", table("alcohol_bands.csv"), ids=lambda r: r["abv_per_point"])
@pytest.mark.parametrize("sg", [1.0, 1.005, 1.010])
def test_strength_agrees_with_the_factors_of_the_uk_beer_duty(row, sg):
    points = (float(row["fall_low"]) + float(row["fall_high"])) / 2.0
    duty_abv = points * float(row["abv_per_point"])
    assert abv_from_sg(sg + points * POINT, sg) == pytest.approx(duty_abv, abs=0.2)


# Rules of thumb (common practice, no source).
@pytest.mark.parametrize("abv_per_point", [0.131, 1.0 / 7.36])
@pytest.mark.parametrize(
    ("og", "sg"), [(1.050, 1.000), (1.055, 1.007), (1.070, 0.995), (1.085, 0.993), (1.100, 1.003)]
)
def test_strength_agrees_with_the_rules_of_thumb(og, sg, abv_per_point):
    assert abv_from_sg(og, sg) == pytest.approx((og - sg) / POINT * abv_per_point, abs=0.5)


# OIV and EU tables: 16.83 g/L of sugar for 1 % vol, read as a constant only; a glossary says 16 to
# 17. Balling's yield gives 7.892 x 2.0665 = 16.31 of what is used; 1.085 holds 221 g/L.
def test_a_must_gives_the_alcohol_its_sugar_promises():
    sg = expected_finish(1.085, "dry wine").sg
    used_g_per_litre = 221.0 * 0.885
    assert used_g_per_litre / 17.0 < abv_from_sg(1.085, sg) < used_g_per_litre / 16.0


def test_nothing_fermented_is_no_alcohol():
    og = np.linspace(1.0, 1.17, 35)
    strength = abv_from_sg(og, og)
    assert np.all((strength >= 0.0) & (strength < 1e-10))


def test_a_lower_gravity_is_always_more_alcohol():
    strength = abv_from_sg(np.full(50, 1.100), np.linspace(1.100, 0.980, 50))
    assert np.all(np.diff(strength) > 0.0)


def test_gravities_are_turned_to_strength_as_an_array_as_one_by_one():
    og, sg = np.array([1.050, 1.085, 1.120]), np.array([1.000, 0.993, 1.020])
    singly = [abv_from_sg(*pair) for pair in zip(og, sg, strict=True)]
    assert abv_from_sg(og, sg) == pytest.approx(singly, abs=1e-12)


def test_a_dry_wine_of_12_percent_ends_where_the_densities_put_it():
    # Pure alcohol of 12 % vol is 0.984; a dry wine's extract of 17 to 30 g/L (common practice, no
    # source) brings that to 0.991 - 0.996 at 0.386 kg/m3 for each g/L (CRC: 20.1 g/L, 1006.0).
    low, high = (apparent_sg(MIXTURE_KG_M3 + 0.386 * g) for g in (17.0, 30.0))
    finish = expected_finish(1.084, "dry wine").sg
    assert abv_from_sg(1.084, finish) == pytest.approx(12.0, abs=0.05)
    assert low < finish < high


def test_a_stronger_wine_ends_lower():
    finishes = [expected_finish(og, "dry wine").sg for og in (1.060, 1.080, 1.100)]
    assert finishes == sorted(finishes, reverse=True)
    assert finishes[0] - finishes[-1] > POINT


# Finishes in use for each style (common practice, no source), good to a point.
@pytest.mark.parametrize(
    ("style", "og", "low", "high"),
    [
        ("dry wine", 1.085, 0.990, 0.998),
        ("cider", 1.050, 0.998, 1.005),
        ("perry", 1.055, 1.000, 1.015),
        ("mead", 1.100, 0.996, 1.010),
    ],
)
def test_each_style_ends_in_its_usual_range(style, og, low, high):
    finish = expected_finish(og, style)
    assert finish.low == pytest.approx(low, abs=POINT)
    assert finish.high == pytest.approx(high, abs=POINT)
    assert finish.low < finish.sg < finish.high


@pytest.mark.parametrize("limit_abv", [8.0, 12.0, 14.0])
def test_a_yeast_that_gives_up_ends_it_at_its_limit(limit_abv):
    finish = expected_finish(1.140, "mead", limit_abv=limit_abv)
    assert abv_from_sg(1.140, finish.sg) == pytest.approx(limit_abv, abs=1e-9)
    assert abv_from_sg(1.140, finish.low) == pytest.approx(limit_abv + 1.0, abs=1e-9)
    assert abv_from_sg(1.140, finish.high) == pytest.approx(limit_abv - 1.0, abs=1e-9)


def test_a_limit_that_is_never_reached_changes_nothing():
    assert expected_finish(1.050, "cider", limit_abv=18.0) == expected_finish(1.050, "cider")


def test_water_ends_as_water():
    finish = expected_finish(1.0, "cider")
    assert (finish.low, finish.sg, finish.high) == pytest.approx((1.0, 1.0, 1.0), abs=1e-12)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: ethanol_water_kg_m3(0.1, -300.0), "temperature -300 is outside -20 to 40 C"),
        (lambda: ethanol_water_kg_m3(-0.1, 20.0), "mass fraction -0.1 is outside 0 to 1 g/g"),
        (lambda: abv_from_mass_fraction(12.0), "mass fraction 12 is outside 0 to 1 g/g"),
        (lambda: mass_fraction_from_abv(101.0), "strength 101 is outside 0 to 100 % vol"),
        (lambda: abv_from_sg(10.04, 1.0), r"OG 10\.04 is outside 1 to 1\.17"),
        (lambda: abv_from_sg(float("nan"), 1.0), r"OG nan is outside 1 to 1\.17"),
        (lambda: abv_from_sg(1.050, 1.051), r"SG 1\.051 is outside 0\.9889 to 1\.05, all that"),
        (lambda: abv_from_sg(1.050, 0.980), r"SG 0\.98 is outside 0\.9889 to 1\.05, all that"),
        (lambda: expected_finish(0.99, "cider"), r"OG 0\.99 is outside 1 to 1\.17"),
        (lambda: expected_finish(1.05, "tea"), "style 'tea' is none of dry wine, cider, perry"),
        (
            lambda: expected_finish(1.05, "cider", limit_abv=-1.0),
            "yeast's limit -1 is outside 1 to 25 % vol",
        ),
        (lambda: Finish(sg=1.0, low=1.001, high=1.002), "outside its own"),
    ],
)
def test_nonsense_is_refused_with_the_quantity_the_value_and_the_range(call, message):
    with pytest.raises(ValueError, match=message):
        call()


def test_the_one_gravity_that_cannot_be_is_named_with_its_own_range():
    with pytest.raises(ValueError, match=r"SG 1\.08 is outside 0\.9869 to 1\.06"):
        abv_from_sg(np.array([1.050, 1.060, 1.070]), np.array([1.000, 1.080, 1.000]))
