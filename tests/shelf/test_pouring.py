"""Which of two wines is less far, and what a spare brings."""

import pytest

from bubblerate.diary.outcomes import Opened
from bubblerate.diary.settings import Settings
from bubblerate.shelf.pouring import Spare, less_far, spare_is

from scenes import diary, evening

PITCHED = {"day": 0, "event": "pitched", "sg": 1.080, "litres": 4.5}
WORKS = tuple({"day": d, "bubbles": 60, "seconds": 300.0, "temp_c": 19} for d in (1, 2, 3, 4))
QUIET = tuple({"day": d, "bubbles": 0, "seconds": 300.0, "temp_c": 19} for d in (20, 22, 24))
DRY, SWEET = {"day": 25, "sg": 0.995}, {"day": 25, "sg": 1.014}
RACKED = {"day": 26, "event": "racked", "litres": 4.3}


def jar(*rows, vessel="fig"):
    return Opened(diary(*rows, vessel=vessel), Settings(), ())


@pytest.mark.parametrize(
    ("rows", "what"),
    [
        ([{"day": 0, "event": "pitched", "litres": 0.7}], Spare.UNREAD),
        ([PITCHED], Spare.SWEET),
        ([PITCHED, *WORKS], Spare.WORKING),
        ([PITCHED, *WORKS, *QUIET, DRY], Spare.WINE),
        ([PITCHED, *WORKS, *QUIET, SWEET], Spare.SWEET),
        ([PITCHED, *WORKS, *QUIET, DRY, {"day": 27, "event": "stabilised"},
          {"day": 28, "event": "sweetened", "sugar_g": 150.0},
          {"day": 29, "sg": 1.012}], Spare.SWEET),
    ],
)  # fmt: skip
def test_what_a_spare_brings_to_a_dry_wine(rows, what):
    into = jar(PITCHED, *WORKS, *QUIET, DRY, RACKED)
    assert spare_is(jar(*rows, vessel="spare"), into, at=evening(30)) is what
    assert what.feeds is (what in (Spare.WORKING, Spare.SWEET))


def test_a_spare_no_sweeter_than_the_jar_is_like_wine():
    perry = [PITCHED, *WORKS, *QUIET, {"day": 25, "sg": 1.009}]
    into = jar(PITCHED, *WORKS, *QUIET, {"day": 25, "sg": 1.008})
    assert spare_is(jar(*perry, vessel="spare"), into, at=evening(30)) is Spare.WINE


@pytest.mark.parametrize(
    ("less", "more"),
    [
        ([PITCHED, *WORKS], [PITCHED, *WORKS, *QUIET, DRY]),
        ([PITCHED, *WORKS, *QUIET, DRY], [PITCHED, *WORKS, *QUIET, DRY, RACKED]),
        ([PITCHED, *WORKS, *QUIET, SWEET], [PITCHED, *WORKS, *QUIET, DRY]),
    ],
)
def test_the_less_far_of_two_wines_comes_first_either_way(less, more):
    one, other = jar(*less, vessel="less"), jar(*more, vessel="more")
    for pair in ((one, other), (other, one)):
        assert [j.diary.vessel for j in less_far(*pair, at=evening(30))] == ["less", "more"]
