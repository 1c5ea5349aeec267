import pytest

from bubblerate.diary.gravity_scales import Reading, gravity, reading
from bubblerate.errors import InputError


def refusal(act, *args, **options) -> str:
    with pytest.raises(InputError) as caught:
        act(*args, **options)
    assert "\n" not in str(caught.value)
    return str(caught.value)


# CRC Handbook, sucrose at 20 C (reference/sucrose_brix_sg.csv): 1002.1 / 998.2 kg/m3 at 1.0 Brix.
@pytest.mark.parametrize(
    ("text", "scale", "sg"),
    [
        ("1.004", "sg", 1.004),
        ("1004", "sg", 1.004),
        ("SG 1.004", "oechsle", 1.004),
        ("4", "oechsle", 1.004),
        ("-4,5", "oechsle", 0.9955),
        ("4 Oe", "sg", 1.004),
        ("84 \u00b0Oe", "brix", 1.084),
        ("1.0", "brix", 1.0039),
        ("1.0 Brix", "sg", 1.0039),
        ("1.0\u00b0Bx", "sg", 1.0039),
        ("1 plato", "oechsle", 1.0039),
    ],
)
def test_a_gravity_is_read_in_the_scale_it_names_or_else_the_one_asked_for(text, scale, sg):
    assert gravity(text, scale=scale) == sg
    assert reading(text, scale=scale) == Reading(sg)


@pytest.mark.parametrize(
    ("text", "sample", "wanted"),
    [
        ("1.004 at 17C", None, (1.004, 17.0)),
        ("1.004 AT 63F", None, (1.004, 17.2)),
        ("4 Oe at 17", None, (1.004, 17.0)),
        ("1.004", "17", (1.004, 17.0)),
        ("1.00412", None, (1.00412, None)),
    ],
)
def test_the_temperature_of_the_sample_may_stand_behind_or_apart(text, sample, wanted):
    assert reading(text, sample=sample) == wanted


@pytest.mark.parametrize(
    ("text", "scale", "advice"),
    [
        ("4", "sg", "4 Oechsle is 1.004"),
        ("l.004", "sg", "has a letter where a digit should be"),
        ("400", "oechsle", "Oechsle 400 is outside -300 to 300"),
        ("90", "brix", "Brix 90 is outside -5 to 40"),
        ("sweet", "brix", 'Brix is "sweet"; write a plain number'),
        ("1.004 at", "sg", "4 Oechsle is 1.004"),
        ("1.004 at warm", "sg", "as a temperature"),
    ],
)
def test_what_is_no_gravity_is_refused_with_what_would_do(text, scale, advice):
    assert advice in refusal(reading, text, scale=scale)


def test_two_temperatures_of_one_sample_are_refused():
    assert "already says its temperature" in refusal(reading, "1.004 at 17C", sample="18")
