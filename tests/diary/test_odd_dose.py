"""A dose beside the wine it goes into."""

from datetime import timedelta

import pytest

from bubblerate.diary.odd_dose import odd_dose
from bubblerate.diary.visit import Visit

from scenes import EVENING

BEFORE = [Visit(when=EVENING, event="pitched", litres=4.5)]


def asked(before=BEFORE, **dose):
    event = "stabilised" if "sorbate_g" in dose else "sulphited"
    return odd_dose(before, Visit(when=EVENING + timedelta(days=90), event=event, **dose))


# By hand: 200 mg/L of SO2 in 4.5 L are 0.9 g, in 1.56 g of powder; 125 to 200 mg/L of sorbic acid
# are 0.75 to 1.21 g of its salt.
@pytest.mark.parametrize(
    ("dose", "told"),
    [
        ({"sulphite_g": 1.5}, None),
        ({"sulphite_g": 1.6}, "205 mg/L of SO2 in 4.5 L"),
        ({"sorbate_g": 0.8}, None),
        ({"sorbate_g": 1.2}, None),
        ({"sorbate_g": 0.7}, "too little to hold yeast back"),
        ({"sorbate_g": 1.3}, "above the 200"),
        ({}, None),
    ],
)
def test_a_dose_that_does_not_fit_the_wine_is_asked_about(dose, told):
    found = asked(**dose)
    assert found is None if told is None else told in found


def test_nothing_is_asked_where_nobody_noted_the_litres():
    assert asked(before=[], sulphite_g=50.0) is None
