import pytest

from bubblerate.diary.stock import Stock, stock

from scenes import diary

PITCHED = {"day": 0, "event": "pitched"}
BOTTLED = {"day": 60, "event": "bottled", "bottles": "5x75+1x50", "closure": "cork"}


def opened(*sizes):
    return [{"day": 90 + n, "event": "opened", "bottles": size} for n, size in enumerate(sizes)]


@pytest.mark.parametrize(
    ("rows", "left"),
    [
        ([PITCHED], None),
        ([PITCHED, {"day": 60, "event": "bottled"}], None),  # nobody counted
        ([PITCHED, BOTTLED], 6),
        ([PITCHED, BOTTLED, {"day": 90, "event": "opened"}, {"day": 91, "event": "tasted"}], 5),
        ([PITCHED, BOTTLED, BOTTLED | {"day": 61, "bottles": "2x75"}], 8),
        ([PITCHED, BOTTLED, *opened(*[""] * 7)], 0),
        ([PITCHED, BOTTLED, {"day": 70, "event": "poured-back"}], None),
        ([PITCHED, {"day": 9, "event": "opened"}, BOTTLED], 6),  # of an earlier wine
        ([PITCHED, BOTTLED, *opened("2x75")], 4),
        ([PITCHED, BOTTLED, *opened("1x20")], 5),  # of a size that was never filled
    ],
)
def test_bottles_left_are_those_filled_less_those_opened(rows, left):
    found = stock(diary(*rows).batch)
    assert (found if found is None else found.left) == left


@pytest.mark.parametrize(
    ("sizes", "left"),
    [
        (["1x50"], Stock({"75": 5, "50": 0})),
        (["1x50", ""], Stock({"75": 4, "50": 0})),  # there is only one size left to take it from
        ([""], Stock({"75": 5, "50": 1}, 1)),
        (["", "1x75", "1x75"], Stock({"75": 3, "50": 1}, 1)),
        (["1x50", "1x50"], Stock({"75": 5, "50": 0})),
        (["", "1x50"], Stock({"75": 4, "50": 0})),  # the first was no 50
        (["1x20", "1x50"], Stock({"75": 4, "50": 0})),
    ],
)
def test_bottles_left_are_told_apart_by_size(sizes, left):
    assert stock(diary(PITCHED, BOTTLED, *opened(*sizes)).batch) == left


def test_the_size_is_asked_where_two_lie_there():
    assert stock(diary(PITCHED, BOTTLED).batch).to_ask == ("75", "50")
    assert stock(diary(PITCHED, BOTTLED, *opened("1x50")).batch).to_ask == ()
    assert stock(diary(PITCHED, BOTTLED | {"bottles": "6x75"}).batch).to_ask == ()
