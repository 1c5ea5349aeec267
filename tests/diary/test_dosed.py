"""Doses as people type them."""

import re

import pytest

from bubblerate.diary.dosed import FININGS, finings, sorbate_g, sulphite_g
from bubblerate.errors import InputError


@pytest.mark.parametrize(
    ("text", "grams"),
    [
        ("1 tablet", 0.44),
        ("2 tablets", 0.88),
        ("1.5 tabs", 0.66),
        ("1/2 tablet", 0.22),
        ("half a tablet", 0.22),
        ("a tablet", 0.44),
        ("0.3g", 0.3),
        ("0,3 G", 0.3),
        ("440 mg", 0.44),
        ("50 g", 50.0),
    ],
)
def test_sulphite_is_weighed_or_counted_in_tablets(text, grams):
    assert sulphite_g(text) == pytest.approx(grams)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("1", 'could be grams or tablets; write "1g" or "1 tablet"'),
        ("some", 'write 0.44g or "1 tablet"'),
        ("a pinch", "cannot read"),
        ("half tablet of it", "cannot read"),
        ("1/0 tablet", "cannot read"),
        ("0.001g", "not between"),
        ("20 kg", "not between"),
        ("", "cannot read"),
    ],
)
def test_what_is_no_dose_of_sulphite_is_refused(text, why):
    with pytest.raises(InputError, match=re.escape(why)):
        sulphite_g(text)


def test_sorbate_is_weighed():
    assert (sorbate_g("1.2"), sorbate_g("1.2 g"), sorbate_g("900mg")) == (1.2, 1.2, 0.9)
    for text in ("half a teaspoon", "1 tablet", "-1"):
        with pytest.raises(InputError, match="weigh it"):
            sorbate_g(text)


@pytest.mark.parametrize(
    ("text", "form"),
    [("2.5 mL", "2.5ml"), ("2,5ml", "2.5ml"), ("5 grams", "5g"), ("0.01 l", "10ml"), ("3g", "3g")],
)
def test_finings_keep_their_unit(text, form):
    assert finings(text) == form
    assert re.fullmatch(FININGS, form)


@pytest.mark.parametrize("text", ["2.5", "bentonite", "a spoon", "0 ml", "5 oz"])
def test_what_is_no_amount_of_finings_is_refused(text):
    with pytest.raises(InputError, match=r"such as 2\.5ml"):
        finings(text)
