"""Three wines typed from the fruit to the last bottle: what the screens say on the way."""

import re

import pytest

from bubblerate.diary.reading import read
from bubblerate.diary.stock import stock

import three_lives


@pytest.fixture(scope="module")
def keeper(tmp_path_factory):
    return three_lives.live(tmp_path_factory.mktemp("lives"), draw=False)


@pytest.fixture(scope="module")
def said(keeper):
    """What was printed for a command that begins with these words; the last of several."""

    def of(words):
        found = [text for text in keeper.printed if f"$ bubblerate {words}" in text]
        assert found, words
        return " ".join(found[-1].split())

    return of


def test_the_bucket_is_parted_and_both_diaries_name_the_other(keeper, said):
    assert "plum: split, 5.2 litres, other jar plum-2" in said("split plum --into plum-2")
    assert "It is the spare for plum" in said("split plum --into spare")
    rows = read(keeper.shelf / "spare.csv").visits
    assert rows[0].sg == 1.084  # its history went along
    assert {row.other for row in rows} == {"", "plum", "plum-2"}


def test_racking_and_bottling_are_go_when_they_are_due(said):
    for jar in ("plum", "plum-2", "perry", "mead"):
        assert "bottle it? Yes." in said(f"verdict {jar}")


# By hand: 0.7 L less twice 0.25 L and once 0.2 L is nothing.
def test_the_spare_is_used_up_to_the_last(keeper):
    assert read(keeper.shelf / "spare.csv").visits[-1].litres == 0.0


# By hand: 2.5 mL in 4.5 L; the packet goes first.
def test_the_finings_are_dosed_for_the_jar(said):
    assert "2.5 mL of each in 4.5 L" in said("dose plum-2 finings")


# By hand: 9 L less 0.1 to 0.3 L of lees a jar are 8.4 to 8.8 L, 11 bottles; a dozen takes 9 L.
def test_a_dozen_is_promised_with_a_spare(said):
    text = said("bottling-day plum plum-2")
    assert "Bottles: 11 of 75 cl, from 9 L" in text
    assert "12 with 0.2 to 0.6 L of a similar wine" in text


def test_what_the_label_must_name_it_names(said):
    text = said("label plum-2")
    assert "Contains shellfish" in text  # chitosan
    assert "75 cl" in text
    assert "Contains sulphite" in said("label mead")


def test_still_bottles_are_refused_and_made_ones_dosed(said):
    text = said("dose perry sparkle --bar 2 --bottle beer")
    grams = float(re.search(r"(\d+) g in all", text)[1])
    assert 8.0 < grams < 20.0
    assert "Up to 2." in text
    assert "STOP" not in said("after perry")


# By hand: 16 points at 2.6 g/L a point in 4.3 L are 180 g.
def test_the_mead_is_sweetened_by_weight(said):
    low, high = map(int, re.search(r"sugar (\d+) to (\d+) g", said("dose mead sweeten")).groups())
    assert low < 180 < high
    assert high - low < 30


def test_a_working_mead_is_refused_the_sorbate(keeper):
    early = [text for text in keeper.printed if "$ bubblerate dose mead stabilise" in text]
    assert "nothing stops an active ferment" in early[0]
    assert "potassium sorbate" in early[1]


# By hand: 1180 g in 4.5 L are 262 g/L, 1.100; to 0.999 that is 13.3 % vol by 131 x drop.
def test_the_strength_of_the_mead_comes_from_its_recipe(said):
    text = said("bottling-day mead")
    assert "start worked out from the recipe's sugar" in text
    assert 12.0 < float(re.search(r"; (\d+\.\d) \(", text)[1]) < 14.5


@pytest.mark.parametrize(("jar", "filled"), [("plum", 6), ("perry", 8), ("mead", 6)])
def test_the_last_bottle_ends_the_life(keeper, said, jar, filled):
    assert stock(read(keeper.shelf / f"{jar}.csv").batch).left == 0
    assert "empty" in said(f"after {jar}")
    opened = [t for t in keeper.printed if f"$ bubblerate event {jar} opened" in t]
    left = [re.search(r"(\d+|No) bottles? left", text)[1] for text in opened]
    assert left == [*map(str, range(filled - 1, 0, -1)), "No"]


# By hand: 0.44 g hold 0.2536 g of SO2, 59 mg/L in 4.3 L; 188 g of sugar make 4.416 L of it: 57. A
# gram of sorbate is 0.746 g of sorbic acid, 174 mg/L, and 169 after the sugar.
def test_the_doses_of_the_mead_go_along_to_its_bottling(said):
    text = said("bottling-day mead")
    assert "57 (" in text
    assert "169 (" in text
    assert "4.42 L; 1.015" in text
    assert "5 of 75 cl, 1 of 37.5 cl" not in said("event mead opened")  # the small one went first


def test_no_line_of_any_screen_is_too_long(keeper):
    lines = [line for text in keeper.printed for line in text.splitlines()[1:]]
    printed = [line for line in lines if not line.startswith(("bubblerate: ", "  Drawn"))]
    own = [line for line in printed if not re.match(r"[\w-]+: |  [A-Z]", line)]
    assert max(map(len, own)) <= 92
