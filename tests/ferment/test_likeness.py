"""Whole ferments of the atlas that are like a jar."""

from dataclasses import replace

import numpy as np
import pytest

from bubblerate.ferment.atlas import DAYS as HELD
from bubblerate.ferment.atlas import load_atlas
from bubblerate.ferment.chances import quantiles
from bubblerate.ferment.likeness import find_likeness
from bubblerate.ferment.whole import Clock, Whole

from scenes import START

ATLAS = load_atlas()
DAYS = np.array([1.4, 2.4, 3.4, 4.4, 6.4, 7.4, 8.4, 9.4])
NONE = np.empty(0)


def jar(**more):
    """A jar that has just begun to slow."""
    known = Whole(
        clock=Clock.of(START, DAYS, np.zeros(8)),
        pitched_within_days=0.0,
        days=DAYS,
        bubbles=np.array([5, 17, 22, 21, 19, 15, 14, 11], float),
        seconds=np.full(8, 60.0),
        trust=np.ones(8),
        reading_days=NONE,
        reading_points=NONE,
        og_points=None,
        finish_points=None,
        litres=None,
    )
    return replace(known, **more)


def crossing(whole, threshold=1.0, levels=(0.1, 0.5, 0.9)):
    found = find_likeness(ATLAS, whole)
    return quantiles(found.crossing_days(threshold), found.weights, levels)


def width(whole):
    low, _, high = crossing(whole)
    return high - low


def test_each_thing_known_narrows_the_range():
    litres = jar(litres=5.0)
    start = replace(litres, og_points=85.0)
    read = replace(start, reading_days=DAYS[-1:], reading_points=np.array([24.0]))
    widths = [width(whole) for whole in (jar(), litres, start, read)]
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < 0.5 * widths[0]


def test_the_more_is_known_the_fewer_curves_are_alike():
    start = jar(litres=5.0, og_points=85.0)
    read = replace(start, reading_days=DAYS[-1:], reading_points=np.array([24.0]))
    worth = [find_likeness(ATLAS, whole).effective_curves for whole in (jar(), start, read)]
    assert worth == sorted(worth, reverse=True)
    assert 1.0 <= worth[-1] < worth[0] < len(ATLAS)


def test_more_sugar_left_means_a_later_end():
    def end(points):
        return crossing(
            jar(
                litres=5.0,
                og_points=85.0,
                reading_days=DAYS[-1:],
                reading_points=np.array([points]),
            )
        )[1]

    assert end(10.0) < end(25.0) < end(45.0)


def test_the_rate_is_that_which_was_counted():
    found = find_likeness(ATLAS, jar(litres=5.0))
    rate = quantiles(
        np.exp(found.log_per_min(np.array([9.4])))[:, 0], found.weights, [0.1, 0.5, 0.9]
    )
    assert rate[0] < 11.0 < rate[2]
    assert rate[1] == pytest.approx(11.0, rel=0.2)


def test_gravity_goes_from_its_start_to_its_finish():
    found = find_likeness(ATLAS, jar(litres=5.0, og_points=85.0))
    total = found.points_to_fall(0.0) + found.like.finish
    np.testing.assert_allclose(total, 85.0, atol=1e-6)
    assert np.all(found.points_to_fall(9.4) < found.points_to_fall(2.0) + 1e-6)


def test_a_reading_moves_the_gravity_to_itself():
    read = jar(litres=5.0, og_points=85.0, reading_days=DAYS[-1:], reading_points=np.array([24.0]))
    found = find_likeness(ATLAS, read)
    now = found.points_to_fall(9.4) + found.like.finish
    assert quantiles(now, found.weights, [0.5])[0] == pytest.approx(24.0, abs=1.5)


def test_one_wild_count_or_reading_moves_little():
    sane = jar(litres=5.0, og_points=85.0, reading_days=DAYS[-2:], reading_points=np.full(2, 24.0))
    wild = replace(sane, bubbles=np.where(DAYS == 7.4, 150.0, sane.bubbles))
    misread = replace(sane, reading_points=np.array([44.0, 24.0]))
    usual = crossing(sane)[1]
    assert crossing(wild)[1] == pytest.approx(usual, rel=0.15)
    assert crossing(misread)[1] == pytest.approx(usual, rel=0.3)


def test_a_ferment_that_ends_at_once_is_believed():
    # from 11 a minute to silence within an evening: the last count is no outlier
    falls = jar(litres=5.0, bubbles=np.array([5, 17, 22, 21, 19, 15, 11, 1], float))
    stays = jar(litres=5.0, bubbles=np.array([5, 17, 22, 21, 19, 15, 11, 9], float))
    found = find_likeness(ATLAS, falls)
    rate = np.exp(found.log_per_min(np.array([9.4])))[:, 0]
    assert quantiles(rate, found.weights, [0.5])[0] < 5.0
    assert crossing(falls)[1] < 0.7 * crossing(stays)[1]


def test_a_jar_that_strayed_from_every_curve_is_forecast_from_where_it_is():
    # three days at half of what any curve has, after a year's worth of counts on one: whatever
    # curves are like the jar, the rate today is near what was counted today
    sank = jar(litres=5.0, bubbles=np.array([5, 17, 22, 21, 19, 8, 7, 6], float))
    found = find_likeness(ATLAS, sank)
    curve = np.exp(found.like.log_share(DAYS[-1:])[:, 0] + found.log_gain)
    rate = np.exp(found.log_per_min(DAYS[-1:]))[:, 0]
    off = [abs(np.log(quantiles(r, found.weights, [0.5])[0] / 6.0)) for r in (rate, curve)]
    assert off[0] < off[1]
    assert off[0] < 0.2


def test_longer_silence_says_more():
    days = np.append(DAYS, [12.4, 13.4])
    short, long = (
        jar(
            days=days,
            bubbles=np.append(jar().bubbles, [0.0, 0.0]),
            seconds=np.append(np.full(8, 60.0), [seconds, seconds]),
            trust=np.ones(10),
            litres=5.0,
        )
        for seconds in (20.0, 600.0)
    )
    assert crossing(long, 0.5)[1] < crossing(short, 0.5)[1]


def test_counts_without_trust_hardly_take_part():
    half = replace(jar(litres=5.0), bubbles=jar().bubbles * np.where(DAYS > 8.0, 0.3, 1.0))
    doubted = replace(half, trust=np.where(DAYS > 8.0, 0.05, 1.0))
    believed, cautious, usual = (crossing(w)[1] for w in (half, doubted, jar(litres=5.0)))
    assert believed < cautious
    assert abs(cautious - usual) < abs(believed - usual)


def test_a_lower_threshold_is_passed_later():
    ends = [crossing(jar(litres=5.0), threshold)[1] for threshold in (5.0, 2.0, 1.0, 0.3)]
    assert ends == sorted(ends)


def test_a_start_not_known_to_the_day_costs_little():
    sure, unsure = jar(litres=5.0), jar(litres=5.0, pitched_within_days=3.0)
    assert crossing(unsure)[1] == pytest.approx(crossing(sure)[1], rel=0.25)


def test_what_the_maker_says_of_the_end_is_heard():
    sweet = find_likeness(ATLAS, jar(litres=5.0, og_points=85.0, finish_points=10.0))
    dry = find_likeness(ATLAS, jar(litres=5.0, og_points=85.0, finish_points=-5.0))
    ends = [quantiles(f.like.finish, f.weights, [0.5])[0] for f in (sweet, dry)]
    assert ends[0] > 4.0 > -1.0 > ends[1]


def test_a_curve_of_the_atlas_is_found_again():
    # 40 of them, kept as a diary each, without scatter: the atlas must hold their own end
    found = []
    for i in range(0, 2400, 60):
        rate = np.exp(ATLAS.log_share[i]) * ATLAS.fall[i] * 0.388 * 5.0 / 1.05
        peak = HELD[np.argmax(rate)]
        end = HELD[np.flatnonzero(rate > 1.0)[-1]] if rate.max() > 5.0 else 0.0
        now = peak + 0.4 * (end - peak)
        days = np.arange(0.4, now, 1.0)
        if end < peak + 5.0 or len(days) < 4:
            continue
        counts = np.round(np.interp(days, HELD, rate) * 2.0)
        whole = jar(days=days, bubbles=counts, seconds=np.full(len(days), 120.0), litres=5.0)
        whole = replace(whole, trust=np.ones(len(days)), og_points=float(ATLAS.og[i]))
        low, _, high = crossing(whole)
        found.append(low <= end <= high)
    assert len(found) > 15
    assert np.mean(found) > 0.8
