import pytest

from bubblerate.diary.stock import stock

from scenes import diary

PITCHED = {"day": 0, "event": "pitched"}
BOTTLED = {"day": 60, "event": "bottled", "bottles": "5x75+1x50", "closure": "cork"}


@pytest.mark.parametrize(
    ("rows", "left"),
    [
        ([PITCHED], None),
        ([PITCHED, {"day": 60, "event": "bottled"}], None),  # nobody counted
        ([PITCHED, BOTTLED], 6),
        ([PITCHED, BOTTLED, {"day": 90, "event": "opened"}, {"day": 91, "event": "tasted"}], 5),
        ([PITCHED, BOTTLED, BOTTLED | {"day": 61, "bottles": "2x75"}], 8),
        ([PITCHED, BOTTLED, *({"day": 90 + n, "event": "opened"} for n in range(7))], 0),
        ([PITCHED, BOTTLED, {"day": 70, "event": "poured-back"}], None),
        ([PITCHED, {"day": 9, "event": "opened"}, BOTTLED], 6),  # of an earlier wine
    ],
)
def test_bottles_left_are_those_filled_less_those_opened(rows, left):
    assert stock(diary(*rows).batch) == left
