import math
from dataclasses import replace as changed

import pytest
from statsmodels.stats.proportion import proportion_confint

from bubblerate.shelf.backtest import LeftOut
from bubblerate.shelf.coverage import FEWEST_VESSELS, LEADS_DAYS, in_hindsight, share
from bubblerate.shelf.quiet_day import Omission

from hindsight import asked, vessel

# --- the interval on a share ---------------------------------------------------------------------

# R. G. Newcombe, "Two-sided confidence intervals for the single proportion", Statistics in Medicine
# 17 (1998) 857, table I, method 3 (from memory).
NEWCOMBE = [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611),
            (1, 29, 0.0061, 0.1718)]  # fmt: skip


@pytest.mark.parametrize(("held", "n", "low", "high"), NEWCOMBE)
def test_the_interval_on_a_share_is_the_published_one(held, n, low, high):
    found = share([1.0] * held + [0.0] * (n - held), stated=0.8)
    assert (found.low, found.high) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize("n", [1, 2, 5, 12, 60])
def test_the_interval_on_a_share_is_that_of_another_program(n):
    for held in range(n + 1):
        found = share([1.0] * held + [0.0] * (n - held), stated=0.95)
        theirs = proportion_confint(held, n, method="wilson")
        assert (found.low, found.high) == pytest.approx(theirs, abs=1e-6)


def test_a_thousand_evenings_of_one_vessel_prove_no_more_than_one():
    few = in_hindsight([vessel("fig", asked(2.0))]).whole
    many = in_hindsight([vessel("fig", *[asked(2.0)] * 1000)]).whole
    assert few is not None
    assert many is not None
    assert many.held80 == few.held80


def test_few_vessels_are_too_few_to_judge_by():
    assert not share([1.0] * (FEWEST_VESSELS - 1), stated=0.8).judged
    assert share([1.0] * FEWEST_VESSELS, stated=0.8).judged


# --- the table -----------------------------------------------------------------------------------


def test_the_table_is_the_one_worked_by_hand():
    # fig: three evenings of 1 to 3 days, errors 4, -1, 1 with a reach of 2, so two held of three;
    # pear: one, error 3 with a reach of 1, not held; and one of fig at 5 days, error -2, held
    fig = [asked(3, error=4, reach=2), asked(2, error=-1, reach=2), asked(1.5, error=1, reach=2)]
    found = in_hindsight(
        [
            vessel("pear", asked(2.5, error=3)),
            vessel("fig", asked(5, error=-2, reach=3), *fig),
            LeftOut(vessel="sloe", reason=Omission("not-yet", "it goes on")),
        ]
    )
    near, far = found.rows
    assert (near.from_days, near.to_days, near.evenings, near.vessels) == (1.0, 3.0, 4, 2)
    # pear weighs as much as the three of fig together: -1, 1 are a third of the weight, 3 half
    assert near.error_days == pytest.approx(3.0)
    assert near.bias_days == pytest.approx(3.0)
    assert near.held80.seen == pytest.approx((2 / 3 + 0) / 2)
    assert near.held95.seen == pytest.approx((3 / 3 + 0) / 2)
    assert (far.evenings, far.error_days, far.bias_days) == (1, 2.0, -2.0)
    assert found.whole is not None
    assert (found.whole.evenings, found.whole.vessels) == (5, 2)
    assert [one.vessel for one in found.left_out] == ["sloe"]
    assert [one.vessel for one in found.replays] == ["fig", "pear"]


def test_where_the_weight_parts_evenly_the_median_is_midway():
    found = in_hindsight([vessel("fig", asked(2, error=1)), vessel("pear", asked(2, error=-4))])
    assert found.whole is not None
    assert (found.whole.error_days, found.whole.bias_days) == pytest.approx((2.5, -1.5))


@pytest.mark.parametrize("lead", [0.2, 1.0, 1.01, 3.0, 7.0, 15.0, 15.1, 90.0])
def test_every_lead_has_one_row(lead):
    (row,) = in_hindsight([vessel("fig", asked(lead))]).rows
    assert row.from_days < lead <= row.to_days
    assert row.from_days in LEADS_DAYS


def test_nothing_to_tell_is_an_empty_table():
    found = in_hindsight([])
    assert (found.rows, found.whole, found.evenings) == ((), None, ())


def test_dates_too_far_to_be_given_leave_the_median_where_it_is_or_infinite():
    far = changed(asked(2.0), median=None, high80=None, high95=None)
    most = in_hindsight([vessel("fig", asked(2.0, error=1), asked(2.5, error=1), far)]).whole
    few = in_hindsight([vessel("fig", asked(2.0, error=1), far, far)]).whole
    assert most is not None
    assert few is not None
    assert most.error_days == pytest.approx(1.0)
    assert math.isinf(few.error_days)


def test_two_vessels_of_one_name_are_two():
    found = in_hindsight([vessel("fig", asked(2.0)), vessel("fig", asked(2.5))])
    assert found.whole is not None
    assert found.whole.vessels == 2


def test_no_vessel_has_no_share():
    with pytest.raises(ValueError, match="one vessel at least"):
        share([], stated=0.8)
