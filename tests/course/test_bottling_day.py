"""A bottling evening: litres, bottles, the spare, and who must wait."""

import pytest

from bubblerate.course.bottling_day import bottling_day
from bubblerate.course.figures import figures
from bubblerate.course.judgement import judge
from bubblerate.diary.settings import Settings, VesselSettings

from kept import Kept, event
from scenes import diary, evening

ASKED = evening(128.2)


def jar(vessel, *more, litres=4.5):
    rows = sorted([*Kept(litres=litres).rows, *more], key=lambda row: row["day"])
    said = Settings(vessels={vessel: VesselSettings(finish=0.996, style="dry wine", ph=3.4)})
    judged = judge(diary(*rows, vessel=vessel), at=ASKED, settings=said)
    return judged, figures(judged, settings=said)


# By hand: two jars of 4.5 L are 9 L; 0.1 to 0.3 L of lees each leave 8.4 to 8.8 L: 11 bottles of
# 75 cl. A dozen takes 9.0 L: 0.2 to 0.6 L of a spare. Two topped-up jars give a dozen: common
# practice, no source.
def test_two_topped_up_jars_give_a_dozen_with_a_spare():
    day = bottling_day([jar("plum"), jar("damson")], size_cl=75, filtered=False)
    assert (day.litres, day.bottles, day.most) == (9.0, (11, 11), 12)
    assert day.spare_litres == pytest.approx((0.2, 0.6))
    assert day.left_litres == pytest.approx((0.15, 0.55))
    assert [one.go for one in day.jars] == [True, True]
    assert day.jars[0].stop_above_sg == pytest.approx(0.995)


# By hand: 4.5 L less 0.1 + 0.1 to 0.3 + 0.3 are 3.9 to 4.3 L: 5 bottles of 75 cl, 7 to 8 of 50.
@pytest.mark.parametrize(("size", "number"), [(75, (5, 5)), (50, (7, 8))])
def test_a_filter_takes_its_share(size, number):
    assert bottling_day([jar("plum")], size_cl=size, filtered=True).bottles == number


def test_a_jar_that_must_wait_says_what_is_next():
    day = bottling_day(
        [jar("plum"), jar("damson", event(28.1, "cloudy"))], size_cl=75, filtered=False
    )
    assert [one.go for one in day.jars] == [True, False]
    assert day.jars[1].wait != ""
    assert day.jars[0].wait == ""


def test_without_litres_no_bottles_are_promised():
    judged, shown = jar("plum", litres=None)
    assert bottling_day([(judged, shown)], size_cl=75, filtered=False).bottles is None
