import re

import pytest

from bubblerate.diary.bottles import FILLING, Closure, closure, filling
from bubblerate.errors import InputError


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("6x75", "6x75"),
        ("6x75cl", "6x75"),
        ("6 X 750 ml", "6x75"),
        ("12\N{MULTIPLICATION SIGN}0,375 l", "12x37.5"),
        ("5x75cl + 1x50cl", "5x75+1x50"),
        ("5x75 and 2x37.5", "5x75+2x37.5"),
    ],
)
def test_a_filling_is_kept_as_number_and_size(text, wanted):
    assert filling(text) == wanted
    assert re.fullmatch(FILLING, wanted)
    assert filling(wanted) == wanted


@pytest.mark.parametrize(
    "text", ["", "6", "six", "0x75", "6x", "6x75 pints", "6x1", "6x75+", "x75"]
)
def test_what_is_no_filling_is_refused_with_what_would_do(text):
    with pytest.raises(InputError, match="such as 6x75"):
        filling(text)


@pytest.mark.parametrize("known", Closure)
def test_a_closure_is_known_by_its_word_and_its_plural(known):
    assert closure(known.upper()) is closure(f"{known}s") is known
    with pytest.raises(InputError, match="write cork, tapered, cap, crown"):
        closure(f"no {known}")
