import csv
from pathlib import Path

import numpy as np
import pytest

from bubblerate.physics.hydrometer import (
    corrected_sg,
    kg_m3_from_sg,
    offset_in_water,
    sg_from_kg_m3,
)
from bubblerate.physics.scales import (
    brix_from_sg,
    g_per_litre_from_sg,
    oechsle_from_sg,
    sg_from_brix,
    sg_from_g_per_litre,
    sg_from_oechsle,
)
from bubblerate.physics.water import water_density_kg_m3

REFERENCE = Path(__file__).parent.parent / "reference"
POINT = 0.001


def table(name):
    with (REFERENCE / name).open(encoding="utf-8") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def corrections(source):
    rows = [row for row in table("hydrometer.csv") if row["source"] == source]
    return [(float(r["calibration_c"]), float(r["temp_c"]), float(r["points"])) for r in rows]


# Tanaka et al., Metrologia 38 (2001) 301: all 41 printed values, 4 decimals.
@pytest.mark.parametrize("row", table("water_density.csv"), ids=lambda row: row["temp_c"])
def test_water_weighs_what_the_table_prints(row):
    assert water_density_kg_m3(float(row["temp_c"])) == pytest.approx(
        float(row["kg_m3"]), abs=5.1e-5
    )


@pytest.mark.parametrize("temp_c", [-0.1, 40.1, float("nan")])
def test_water_outside_the_formula_is_refused_with_value_and_range(temp_c):
    with pytest.raises(ValueError, match=rf"temperature {temp_c:g} is outside 0 to 40 C"):
        water_density_kg_m3(temp_c)


def test_one_bad_temperature_among_many_is_the_one_named():
    with pytest.raises(ValueError, match="temperature 68 is outside"):
        water_density_kg_m3(np.array([20.0, 68.0, 21.0]))


# Pure water reads low when warm by the correction printed: reading + correction = 1.000.
@pytest.mark.parametrize(
    ("calibration_c", "temp_c", "points"), [c for c in corrections("computed") if c[1] <= 40.0]
)
def test_water_at_any_temperature_is_brought_back_to_one(calibration_c, temp_c, points):
    reading = 1.0 - points * POINT
    assert corrected_sg(reading, temp_c, calibration_c=calibration_c) == pytest.approx(
        1.0, abs=1.1e-6
    )


# Leaflet of a 60 F hydrometer, printed to half a point and steeper than water when hot.
@pytest.mark.parametrize(
    ("calibration_c", "temp_c", "points"), [c for c in corrections("leaflet") if c[1] <= 40.0]
)
def test_the_correction_agrees_with_a_leaflet(calibration_c, temp_c, points):
    added = (corrected_sg(1.0, temp_c, calibration_c=calibration_c) - 1.0) / POINT
    assert added == pytest.approx(points, abs=0.3 if temp_c < 29 else 0.6)


def test_the_leaflets_hottest_row_lies_beyond_what_we_correct():
    (hottest,) = (c for c in corrections("leaflet") if c[1] > 40.0)
    with pytest.raises(ValueError, match=r"temperature 40\.56 is outside"):
        corrected_sg(1.0, hottest[1], calibration_c=hottest[0])


# G. S. Kell, J. Chem. Eng. Data 20 (1975) 97, equation 16: water on an older scale and older data,
# at most 0.0033 kg/m3 from ours.
def kell_kg_m3(temp_c):
    powers = [-280.54253e-12, 105.56302e-9, -46.170461e-6, -7.9870401e-3, 16.945176, 999.83952]
    return np.polyval(powers, temp_c) / (1.0 + 16.879850e-3 * temp_c)


@pytest.mark.parametrize("calibration_c", [15.0, 15.56, 20.0])
@pytest.mark.parametrize("temp_c", [0.0, 10.0, 15.0, 21.0, 30.0, 40.0])
def test_a_true_stem_of_any_calibration_reads_one_in_water(calibration_c, temp_c):
    glass = 1.0 + 25e-6 * (temp_c - calibration_c)  # ISO 1768:1975
    reading = kell_kg_m3(temp_c) * glass / kell_kg_m3(calibration_c)
    assert corrected_sg(reading, temp_c, calibration_c=calibration_c) == pytest.approx(
        1.0, abs=7e-6
    )
    assert offset_in_water(reading, temp_c, calibration_c=calibration_c) == pytest.approx(
        0.0, abs=7e-6
    )


def test_water_agrees_with_an_independent_library():
    # CoolProp, IAPWS-95: within 0.005 kg/m3 of Tanaka's table.
    properties = pytest.importorskip("CoolProp.CoolProp")
    for temp_c in (0.5, 5.0, 10.0, 15.0, 15.56, 20.0, 25.0, 30.0, 39.9):
        other = properties.PropsSI("D", "T", 273.15 + temp_c, "P", 101325, "Water")
        assert water_density_kg_m3(temp_c) == pytest.approx(other, abs=0.005)


@pytest.mark.parametrize("calibration_c", [15.0, 15.56, 20.0])
def test_the_offset_found_in_water_makes_the_stem_read_true(calibration_c):
    water_c, reading = 12.0, 1.0031
    offset = offset_in_water(reading, water_c, calibration_c=calibration_c)
    assert corrected_sg(
        reading, water_c, calibration_c=calibration_c, offset=offset
    ) == pytest.approx(1.0, abs=1e-12)


def test_an_offset_is_taken_off_before_the_temperature_is_allowed_for():
    plain = corrected_sg(1.010, 25.0)
    assert corrected_sg(1.012, 25.0, offset=0.002) == pytest.approx(plain, abs=1e-12)


def test_a_sample_at_the_stems_own_temperature_is_left_alone():
    assert corrected_sg(1.086, 15.56, calibration_c=15.56) == pytest.approx(1.086, abs=1e-12)


def test_readings_are_corrected_as_an_array_as_one_by_one():
    sg, sample_c = np.array([1.086, 1.010, 0.996]), np.array([12.0, 20.0, 27.5])
    singly = [corrected_sg(*pair) for pair in zip(sg, sample_c, strict=True)]
    assert corrected_sg(sg, sample_c) == pytest.approx(singly, abs=1e-15)


# CRC Handbook, densities printed to 0.1 kg/m3; the formula departs from them by 0.097 at most.
@pytest.mark.parametrize(
    ("brix", "kg_m3"),
    [(r["brix"], r["crc_kg_m3"]) for r in table("sucrose_brix_sg.csv") if r["crc_kg_m3"]],
)
def test_sugar_solutions_weigh_what_the_handbook_prints(brix, kg_m3):
    water, air = 998.2, 1.2  # apparent gravity is weighed in air
    apparent = (float(kg_m3) - air) / (water - air)
    assert sg_from_brix(float(brix)) == pytest.approx(apparent, abs=0.1 / 998.0)


# CRC Handbook: sucrose in a litre of solution, printed to 0.1 g/L. The density it comes from is
# printed to 0.1 and departs from ours by a last digit, so g/L may too: 0.068 at most, at 36 %.
@pytest.mark.parametrize(
    ("brix", "g_per_litre"),
    [(r["brix"], r["crc_g_per_litre"]) for r in table("sucrose_brix_sg.csv") if r["crc_kg_m3"]],
)
def test_a_litre_holds_the_sugar_the_handbook_prints(brix, g_per_litre):
    sg = sg_from_brix(float(brix))
    assert g_per_litre_from_sg(sg) == pytest.approx(float(g_per_litre), abs=0.07)
    assert sg_from_g_per_litre(float(g_per_litre)) == pytest.approx(sg, abs=3e-5)


@pytest.mark.parametrize(
    ("brix", "kg_m3"),
    [(r["brix"], r["crc_kg_m3"]) for r in table("sucrose_brix_sg.csv") if r["crc_kg_m3"]],
)
def test_gravity_to_density_is_what_the_handbook_prints(brix, kg_m3):
    assert kg_m3_from_sg(sg_from_brix(float(brix))) == pytest.approx(float(kg_m3), abs=0.11)


def test_sugar_in_a_litre_to_gravity_and_back_is_where_it_began():
    g_per_litre = np.linspace(0.0, 470.0, 471)
    assert g_per_litre_from_sg(sg_from_g_per_litre(g_per_litre)) == pytest.approx(
        g_per_litre, abs=1e-9
    )


def test_gravity_to_density_and_back_is_where_it_began():
    sg = np.linspace(0.9, 1.2, 31)
    assert sg_from_kg_m3(kg_m3_from_sg(sg)) == pytest.approx(sg, abs=1e-12)


def test_a_refractometer_is_believed_before_there_is_alcohol_and_a_hydrometer_always():
    assert sg_from_brix(20.0, instrument="refractometer") == sg_from_brix(20.0)
    assert sg_from_brix(8.0, alcohol_formed=True) == sg_from_brix(8.0)


def test_a_refractometer_is_refused_with_the_reason_once_there_is_alcohol():
    with pytest.raises(ValueError, match=r"Brix 8 by refractometer .* there is alcohol, which"):
        sg_from_brix(8.0, instrument="refractometer", alcohol_formed=True)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: corrected_sg(10.04, 20.0), r"SG 10\.04 is outside 0\.7 to 1\.3"),
        (lambda: corrected_sg(1.004, -300.0), "temperature -300 is outside 0 to 40 C"),
        (lambda: offset_in_water(10.0, 20.0), r"SG 10 is outside 0\.7 to 1\.3"),
        (lambda: sg_from_g_per_litre(-1.0), r"sugar -1 is outside 0 to 470\.6 g/L"),
        (lambda: g_per_litre_from_sg(0.996), r"SG 0\.996 is outside 1 to 1\.179"),
        (lambda: kg_m3_from_sg(1086.0), r"SG 1086 is outside 0\.7 to 1\.3"),
        (lambda: sg_from_kg_m3(1.004), r"density 1\.004 is outside 699\.1 to 1297 kg/m3"),
        (lambda: oechsle_from_sg(float("nan")), r"SG nan is outside 0\.7 to 1\.3"),
    ],
)
def test_nonsense_is_refused_with_the_quantity_the_value_and_the_range(call, message):
    with pytest.raises(ValueError, match=message):
        call()


# USDA AMS file 135-A-50, apparent gravity 20/20 C: within 2e-5 of ICUMSA, and half a last digit.
@pytest.mark.parametrize(
    ("brix", "sg"),
    [(r["brix"], r["usda_sg"]) for r in table("sucrose_brix_sg.csv") if r["usda_sg"]],
)
def test_gravity_of_sugar_agrees_with_the_usda_table(brix, sg):
    assert sg_from_brix(float(brix)) == pytest.approx(float(sg), abs=2.5e-5)


def test_brix_agrees_with_the_polynomial_fitted_to_nbs_circular_c440():
    # Coefficients as reprinted in an encyclopaedia and many codes; ICUMSA drifts to 1.1e-4 SG.
    sg = np.linspace(1.0, 1.178, 90)
    nbs_brix = np.polyval([182.4601, -775.6821, 1262.7794, -669.5622], sg)
    assert sg_from_brix(np.maximum(nbs_brix, 0.0)) == pytest.approx(sg, abs=1.2e-4)


def test_brix_at_1040_is_the_printed_pin():
    # 9.99249 % is printed beside the ICUMSA formula; evaluations differ in the fourth decimal.
    assert brix_from_sg(1.040) == pytest.approx(9.99249, abs=3e-4)


def test_water_holds_no_sugar():
    assert brix_from_sg(1.0) == 0.0
    assert sg_from_brix(0.0) == 1.0


def test_brix_to_gravity_and_back_is_where_it_began():
    brix = np.linspace(-5.0, 40.0, 181)
    assert brix_from_sg(sg_from_brix(brix)) == pytest.approx(brix, abs=1e-10)


@pytest.mark.parametrize("brix", [-5.1, 40.1])
def test_brix_beyond_the_tables_is_refused(brix):
    with pytest.raises(ValueError, match=f"Brix {brix} is outside -5 to 40 g per 100 g"):
        sg_from_brix(brix)


@pytest.mark.parametrize("sg", [0.98, 1.18, 1086.0])
def test_a_gravity_beyond_the_tables_is_refused(sg):
    with pytest.raises(ValueError, match=f"SG {sg:g} is outside 0.981 to 1.179"):
        brix_from_sg(sg)


# The definition of the degree: points above water (common practice, no source).
@pytest.mark.parametrize(("oechsle", "sg"), [(86.0, 1.086), (0.0, 1.0), (-4.0, 0.996)])
def test_oechsle_counts_points_above_water(oechsle, sg):
    assert sg_from_oechsle(oechsle) == pytest.approx(sg, abs=1e-12)
    assert oechsle_from_sg(sg) == pytest.approx(oechsle, abs=1e-9)
