from dataclasses import replace

import pytest

from bubblerate.course.balance import Balance, Middle
from bubblerate.course.must import Told
from bubblerate.show.balance_text import strength_text, sugar_text

PLAIN = Balance(
    litres=4.5,
    abv_pct=Middle(11.3, 11.86, 12.4),
    sg=Middle(0.998, 1.000, 1.002),
    sugar_g_per_litre=Middle(3.0, 8.0, 14.0),
    start=Told.READ,
    end=Told.READ,
    unknown=(),
    so2_mg_per_litre=Middle(0.0, 0.0, 0.0),
    sorbic_mg_per_litre=Middle(0.0, 0.0, 0.0),
    unweighed=(),
)


def test_a_strength_by_readings_is_told_with_its_range():
    assert strength_text(PLAIN) == "11.9 (11.3 to 12.4) % vol"


@pytest.mark.parametrize(
    ("told", "words"),
    [
        (Told.RECIPE, "start worked out from the recipe's sugar"),
        (Told.BUBBLES, "start worked out from all bubbles counted: rough"),
        (Told.USUAL, "start never read, assumed from the style: rough"),
    ],
)
def test_what_stands_in_for_the_start_is_said(told, words):
    assert strength_text(replace(PLAIN, start=told)).endswith(f"; {words}")


def test_what_was_taken_as_usual_is_named():
    text = strength_text(replace(PLAIN, end=Told.USUAL, unknown=("spare", "fed")))
    assert "not read since: usual finish assumed" in text
    assert text.endswith("assumed: spare, fed")


@pytest.mark.parametrize(
    ("sg", "sugar", "words"),
    [
        (1.000, (3.0, 8.0, 14.0), "3 to 14 g/L, dry to semi-sweet"),
        (1.010, (30.0, 35.0, 40.0), "30 to 40 g/L, semi-sweet"),
        (0.994, (0.0, 2.0, 9.0), "up to 9 g/L, dry by its gravity"),
    ],
)
def test_sugar_has_a_word(sg, sugar, words):
    found = replace(PLAIN, sg=Middle(sg, sg, sg), sugar_g_per_litre=Middle(*sugar))
    assert sugar_text(found) == words
