import pytest

from bubblerate.physics.airlock import Air, air_pressure_hpa, bubble_size, weather_gas

from scenes import reference

COMMON = Air(temp_c=18.0, pressure_hpa=1013.0)


def jar(before, after, **other):
    given = {"litres": 4.5, "headspace_litres": 0.1, "abv_pct": 12.0} | other
    return weather_gas(before, after, **given)


# ISO 2533, printed to 0.1 Pa.
@pytest.mark.parametrize("row", list(reference("pressure_altitude.csv").itertuples(index=False)))
def test_air_presses_as_the_standard_atmosphere_prints(row):
    assert 100.0 * air_pressure_hpa(row.geopotential_m) == pytest.approx(row.pa, abs=0.051)


# Common practice, no source: bubbles of 1.3 mL from a saturated jar. The estimates left out water
# vapour and headspace, worth 3 to 8 %.
@pytest.mark.parametrize(
    ("after", "bubbles", "share"),
    [
        ((15.0, 20.0), 450, 0.09),
        ((18.0, 20.0), 165, 0.11),
    ],
)
def test_warmth_frees_about_the_bubbles_that_makers_reckon(after, bubbles, share):
    gas = jar(Air(temp_c=after[0]), Air(temp_c=after[1]))
    assert gas.bubbles(bubble_ml=1.3) == pytest.approx(bubbles, rel=share)


# Common practice, no source: 25 to 30 bubbles of 1.3 mL for a fall of 10 hPa.
def test_a_falling_barometer_frees_about_the_bubbles_that_makers_reckon():
    gas = jar(COMMON, Air(temp_c=18.0, pressure_hpa=1003.0))
    assert 25 <= gas.bubbles(bubble_ml=1.3) <= 31


# Boyle: wet gas over water at 18 C (20.65 hPa of vapour, IAPWS) from 1013 to 1003 hPa.
def test_an_empty_vessel_breathes_by_boyles_law():
    gas = jar(COMMON, Air(temp_c=18.0, pressure_hpa=1003.0), headspace_litres=10.0, litres=0.01)
    assert gas.headspace_ml == pytest.approx(10_000 * 10.0 / (1003.0 - 20.65), rel=1e-4)


# Water of 15 C fills 0.0898 % more at 20 C (Tanaka 2001: 999.1026 to 998.2067 kg/m3).
def test_a_brim_full_vessel_pushes_out_what_its_wine_swells_by():
    gas = jar(Air(temp_c=15.0), Air(temp_c=20.0), headspace_litres=0.0)
    assert gas.headspace_ml == pytest.approx(4500 * (999.1026 / 998.2067 - 1.0), rel=2e-4)


def test_nothing_changes_when_nothing_changes():
    assert jar(COMMON, COMMON).total_ml == 0.0


def test_cooling_and_a_rising_barometer_draw_the_airlock_in():
    cold = jar(COMMON, Air(temp_c=14.0, pressure_hpa=1013.0))
    high = jar(COMMON, Air(temp_c=18.0, pressure_hpa=1030.0))
    for gas in (cold, high):
        assert gas.headspace_ml < 0 > gas.dissolved_ml
        assert gas.per_min(bubble_ml=1.3, hours=12.0) < 0


def test_twice_the_wine_frees_twice_the_dissolved_gas():
    warm = Air(temp_c=21.0, pressure_hpa=1008.0)
    assert jar(COMMON, warm, litres=9.0).dissolved_ml == pytest.approx(
        2 * jar(COMMON, warm).dissolved_ml
    )


def test_what_goes_out_on_warming_comes_back_on_cooling():
    warm = Air(temp_c=21.0, pressure_hpa=1013.0)
    out, back = jar(COMMON, warm), jar(warm, COMMON)
    # the same moles fill 1.7 % less when measured at the cooler end, and a little more when drier
    assert back.total_ml == pytest.approx(-out.total_ml, rel=0.02)


def test_bubbles_a_minute_spread_the_total_over_the_hours():
    gas = jar(Air(temp_c=18.0), Air(temp_c=20.0))
    total = gas.headspace_ml + gas.dissolved_ml
    assert gas.per_min(bubble_ml=1.3, hours=24.0) == pytest.approx(total / 1.3 / 1440.0)


# Common practice, no source: 0.54 L of gas a point and litre, in bubbles of 0.9 to 1.7 mL.
def test_a_bubble_is_the_gas_of_the_fall_shared_out():
    size = bubble_size(10.0, 20_000, litres=4.5)
    assert size.ml == pytest.approx(10 * 4.5 * 540.0 / 20_000, rel=0.04)
    assert size.sd_ml / size.ml == pytest.approx(0.1414, abs=1e-4)


def test_a_longer_fall_pins_the_bubble_better():
    short, long = (bubble_size(n, 2000.0 * n, litres=4.5) for n in (4.0, 16.0))
    assert long.ml == pytest.approx(short.ml)
    assert long.sd_ml == pytest.approx(short.sd_ml / 4.0)


# Water by the library of IAPWS, which swells as Tanaka's does.
def test_an_independent_library_swells_alike():
    iapws = pytest.importorskip("iapws")
    cool, warm = (iapws.IAPWS97(T=t + 273.15, P=0.101325).v for t in (12.0, 22.0))
    gas = jar(Air(temp_c=12.0), Air(temp_c=22.0), headspace_litres=0.0)
    assert gas.headspace_ml == pytest.approx(4500 * (warm / cool - 1.0), rel=2e-3)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: air_pressure_hpa(12_000.0), "altitude 12000 is outside -500 to 9000 m"),
        (lambda: bubble_size(0.0, 500, litres=4.5), "fall of gravity 0 is outside 0.1 to 200"),
        (lambda: bubble_size(5.0, 0, litres=4.5), "bubbles 0 is outside 1 to inf"),
        (lambda: jar(COMMON, COMMON, litres=-4.5), "volume -4.5 is outside 0.01 to 1e+04 litres"),
        (lambda: jar(COMMON, COMMON, headspace_litres=-1.0), "headspace -1 is outside 0 to 1e+04"),
        (lambda: jar(Air(temp_c=-300.0), COMMON), "temperature -300 is outside 0 to 40 C"),
        (
            lambda: jar(COMMON, Air(temp_c=18.0, pressure_hpa=29.9)),
            "pressure 29.9 is outside 500 to 1100 hPa",
        ),
        (
            lambda: jar(COMMON, COMMON).bubbles(bubble_ml=0.0),
            "gas a bubble 0 is outside 0.01 to 100 mL",
        ),
        (
            lambda: jar(COMMON, COMMON).per_min(bubble_ml=1.3, hours=0.0),
            "spread 0 is outside 0.1 to 1000 hours",
        ),
    ],
)
def test_nonsense_is_refused_with_quantity_value_and_range(call, message):
    with pytest.raises(ValueError) as refused:  # noqa: PT011 - compared below
        call()
    assert str(refused.value).startswith(message)
