import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bubblerate.diary import units
from bubblerate.diary.counts import whole
from bubblerate.errors import InputError


def refusal(read, text, *args, **options) -> str:
    with pytest.raises(InputError) as caught:
        read(text, *args, **options)
    assert "\n" not in str(caught.value)
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "bubbles"), [("12", 12), (" 0 ", 0), ("None", 0), ("nothing", 0), ("1000000", 10**6)]
)
def test_a_count_is_read_as_people_write_it(text, bubbles):
    assert whole(text) == bubbles
    assert type(whole(text)) is int


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("3.2", 'cannot read "3.2" as a count; write a whole number, or none'),
        ("-3", 'cannot read "-3" as a count; write a whole number, or none'),
        ("few", 'cannot read "few" as a count; write a whole number, or none'),
        ("", 'cannot read "" as a count; write a whole number, or none'),
        ("1e3", 'cannot read "1e3" as a count; write a whole number, or none'),
        ("\N{SUPERSCRIPT TWO}", 'cannot read "²" as a count; write a whole number, or none'),
        ("1000001", '"1000001" is more bubbles than anyone can count; check the number'),
    ],
)
def test_what_is_no_count_is_refused_with_what_would_do(text, message):
    assert refusal(whole, text) == message


def test_a_count_of_thousands_of_digits_is_refused_in_a_short_message():
    assert len(refusal(whole, "9" * 6000)) < 120


@pytest.mark.parametrize(
    ("text", "spell"),
    [
        ("55s", 55.0),
        ("90", 90.0),
        (" 5M ", 300.0),
        ("5 min", 300.0),
        ("5 minutes", 300.0),
        ("1m30s", 90.0),
        ("1 min 30 sec", 90.0),
        ("1:30", 90.0),
        ("1.5m", 90.0),
        ("1,5 min", 90.0),
        ("2h", 7200.0),
        ("1h 5m 2s", 3902.0),
        ("24h", 86_400.0),
    ],
)
def test_a_spell_is_read_as_people_write_it(text, spell):
    assert units.seconds(text) == spell


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (text, f'cannot read "{text}" as a time span; write 55s, 5m or 1m30s')
        for text in ["", "soon", "2h30", "1:75", "1:30:20", "-5m", "5x", "s"]
    ]
    + [
        (text, f'"{text}" is not from 1 s to 24 hours; write 55s, 5m or 1m30s')
        for text in ["0", "0s", "24h 1s", "9" * 30]
    ],
)
def test_what_is_no_spell_is_refused_with_what_would_do(text, message):
    assert refusal(units.seconds, text) == message


# 212 F = 100 C and 32 F = 0 C define the scale, so 50 F = 10 C and 68 F = 20 C exactly.
@pytest.mark.parametrize(
    ("text", "celsius"),
    [
        ("18.5", 18.5),
        ("18C", 18.0),
        ("18,5", 18.5),
        ("18 °c", 18.0),
        ("-2", -2.0),
        ("\N{MINUS SIGN}2 ºC", -2.0),  # an ordinal sign, as many keyboards give
        ("50F", 10.0),
        ("68 f", 20.0),
        ("32°F", 0.0),
        ("50", 50.0),
    ],
)
def test_a_temperature_is_read_in_celsius_or_fahrenheit(text, celsius):
    assert units.temp_c(text) == pytest.approx(celsius, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("65", '"65" is too warm for Celsius; did you mean Fahrenheit? Then write 65F'),
        ("51", '"51" is too warm for Celsius; did you mean Fahrenheit? Then write 51F'),
        ("120", '"120" is too warm for Celsius; did you mean Fahrenheit? Then write 120F'),
        ("121", '"121" is outside -10 to 50 C; write it like 18.5 or 65F'),
        ("-11", '"-11" is outside -10 to 50 C; write it like 18.5 or 65F'),
        ("130F", '"130F" is outside -10 to 50 C; write it like 18.5 or 65F'),
        ("60C", '"60C" is outside -10 to 50 C; write it like 18.5 or 65F'),
        ("warm", 'cannot read "warm" as a temperature; write 18.5 or 65F'),
        ("291K", 'cannot read "291K" as a temperature; write 18.5 or 65F'),
        ("nan", 'cannot read "nan" as a temperature; write 18.5 or 65F'),
    ],
)
def test_what_is_no_temperature_is_refused_with_what_would_do(text, message):
    assert refusal(units.temp_c, text) == message


@pytest.mark.parametrize(
    ("text", "gravity"),
    [
        ("1.004", 1.004),
        ("1004", 1.004),
        (".996", 0.996),
        ("996", 0.996),
        ("1,004", 1.004),
        ("0,996", 0.996),
        (" 1.086 ", 1.086),
        ("1086", 1.086),
        ("1", 1.0),
        ("700", 0.7),
        ("1300", 1.3),
    ],
)
def test_a_gravity_is_read_as_people_write_it(text, gravity):
    assert units.sg(text) == gravity


@pytest.mark.parametrize(
    "text", ["4", "10.04", "0.699", "1.301", "699", "1301", "-1.004", "1.0.0", "nan", "", "sweet"]
)
def test_what_is_no_gravity_is_refused_with_what_would_do(text):
    assert refusal(units.sg, text) == (
        f'"{text}" is not a gravity; write it like 1.004 or 1004 (4 Oechsle is 1.004)'
    )


def test_a_plain_number_is_read_with_either_decimal_sign():
    assert [units.number(text, "brix") for text in ("12.5", " 12,5 ", "-4", "+.5")] == [
        12.5,
        12.5,
        -4.0,
        0.5,
    ]


@pytest.mark.parametrize("text", ["", "ten", "nan", "inf", "1e5", "1.000,5", "0x10"])
def test_what_is_no_plain_number_is_refused_by_name(text):
    assert refusal(units.number, text, "brix") == (
        f'brix is "{text}"; write a plain number such as 12.5'
    )


def test_a_number_too_long_for_a_float_is_refused():
    assert refusal(units.number, "9" * 400, "brix").startswith("brix is")


# UK gallon: exactly 4.54609 L (UK Weights and Measures Act 1985, schedule 1; from memory).
# US gallon: exactly 231 cubic inches of 2.54 cm each = 3.785411784 L.
@pytest.mark.parametrize(
    ("text", "volume"),
    [
        ("4.5", 4.5),
        ("4.5L", 4.5),
        ("4.5 litres", 4.5),
        ("1 liter", 1.0),
        ("4,5 l", 4.5),
        ("750ml", 0.75),
        ("75 cl", 0.75),
        ("1 UK gal", 4.54609),
        ("2 uk gallons", 9.09218),
        ("1 US gal", 231 * 2.54**3 / 1000),
        ("5 us gallons", 5 * 231 * 2.54**3 / 1000),
        ("10000", 10_000.0),
    ],
)
def test_a_volume_is_read_in_litres_or_gallons(text, volume):
    assert units.litres(text) == pytest.approx(volume, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("1 gal", '"1 gal" could be UK or US gallons; write 1 UK gal or 1 US gal'),
        ("2 gallons", '"2 gallons" could be UK or US gallons; write 2 UK gal or 2 US gal'),
        ("0", '"0" is not between 0.05 and 10000 litres; check the unit'),
        ("10001", '"10001" is not between 0.05 and 10000 litres; check the unit'),
        ("6 pints", 'cannot read "6 pints" as a volume; write 4.5, 750ml, 1 UK gal or 1 US gal'),
        ("full", 'cannot read "full" as a volume; write 4.5, 750ml, 1 UK gal or 1 US gal'),
        ("-1", 'cannot read "-1" as a volume; write 4.5, 750ml, 1 UK gal or 1 US gal'),
    ],
)
def test_what_is_no_volume_is_refused_with_what_would_do(text, message):
    assert refusal(units.litres, text) == message


def understood(read, text, **options):
    """Value read, or the message of the refusal."""
    try:
        return read(text, **options)
    except InputError as err:
        return str(err)


def brix(text):
    return units.number(text, "brix")


@pytest.mark.parametrize(
    ("read", "text", "meant"),
    [
        (whole, "1O", "10"),
        (whole, "1oo", "100"),
        (whole, "l2", "12"),
        (whole, "I2", "12"),
        (units.seconds, "9Os", "90s"),
        (units.seconds, "5 min 3O s", "5 min 30 s"),
        (units.temp_c, "l8.5", "18.5"),
        (units.temp_c, "-1O C", "-10 c"),
        (units.sg, "1.O04", "1.004"),
        (units.sg, "I.OO4", "1.004"),
        (units.sg, "lO04", "1004"),
        (brix, "1O,5", "10,5"),
        (units.litres, "1Ol", "10l"),
        (units.litres, "1O litres", "10 litres"),
    ],
)
def test_a_letter_typed_for_a_digit_is_refused_with_what_was_meant(read, text, meant):
    assert refusal(read, text) == (f'"{text}" has a letter where a digit should be; write {meant}')
    assert math.isfinite(read(meant))


@pytest.mark.parametrize(
    ("read", "text"),
    [(whole, "oil"), (whole, "1l"), (units.temp_c, "68oF"), (units.sg, "2.O04")],
)
def test_a_letter_is_no_digit_where_that_makes_no_sense(read, text):
    assert "has a letter" not in refusal(read, text)


# International avoirdupois pound of 1959, exact: NIST Handbook 44, appendix C (from memory).
@pytest.mark.parametrize(
    ("text", "grams"),
    [
        ("200", 200.0),
        ("200 g", 200.0),
        ("0,2kg", 200.0),
        ("7 oz", 198.446661875),
        ("2 lbs", 907.18474),
    ],
)
def test_sugar_is_weighed_in_grams_or_pounds(text, grams):
    assert units.grams(text) == pytest.approx(grams, rel=1e-12)


@pytest.mark.parametrize("text", ["", "some", "200 ml", "0", "1e3", "-5", "2000 kg"])
def test_what_is_no_weight_of_sugar_is_refused(text):
    assert refusal(units.grams, text)


def test_what_was_put_in_may_be_a_spoonful():
    assert units.added_l("5 ml") == pytest.approx(0.005)
    assert "is not between 0.001 and 10000 litres" in refusal(units.added_l, "0.5 ml")


@pytest.mark.parametrize("read", [whole, units.seconds, units.temp_c, units.sg, units.litres])
@given(text=st.text(max_size=60))
def test_any_text_is_read_or_refused_in_one_printable_line(read, text):
    answer = understood(read, text)
    assert answer.isprintable() if isinstance(answer, str) else math.isfinite(answer)
