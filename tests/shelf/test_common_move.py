import math
from datetime import timedelta

import numpy as np
import pytest

from bubblerate.shelf.common_move import common_move, departure

from scenes import diary, evening

NOW = evening(8) + timedelta(hours=1)


def moved(diaries, *, at):
    found = [departure(one, at=at) for one in diaries]
    return common_move([one for one in found if one is not None], at=at)


def jar(name, *, times=1.0, per_min=12.0, falls=0.15, seconds=300, temps=(None, None), last=None):
    """Eight steady evenings, and a ninth that is so many times what they forecast."""
    rows = []
    for day in range(9):
        rate = per_min * math.exp(-falls * day) * (times if day == 8 else 1.0)
        bubbles = round(rate * seconds / 60.0) if day < 8 or last is None else last
        row = {"day": day, "bubbles": bubbles, "seconds": seconds, "temp_c": temps[day == 8]}
        rows.append({key: value for key, value in row.items() if value is not None})
    return diary(*rows, vessel=name)


@pytest.mark.parametrize("times", [0.3, 0.5, 2.0, 3.0])
@pytest.mark.parametrize("jars", [3, 4, 6])
def test_jars_that_move_together_are_seen(times, jars):
    shelf = [jar(f"jar-{n}", times=times, per_min=12.0 + 3.0 * n) for n in range(jars)]
    move = moved(shelf, at=NOW)
    assert move is not None
    assert move.on == evening(8).date()
    assert (len(move.jars), move.compared) == (jars, jars)
    assert move.times == pytest.approx(times, rel=0.25)  # bubbles are whole, and lines are bent
    assert move.warmer_c is None


def test_one_jar_that_does_not_follow_is_not_named():
    shelf = [jar(name, times=2.2) for name in ("fig", "sloe", "pear")] + [jar("quince")]
    move = moved(shelf, at=NOW)
    assert move is not None
    assert (move.jars, move.compared) == (("fig", "sloe", "pear"), 4)


@pytest.mark.parametrize(
    "times",
    [
        (1.0, 1.0, 1.0, 1.0),
        (2.5, 0.4, 2.5, 0.4),
        (5.0, 1.0, 1.0, 1.0),  # one jar alone, however far
        (0.01, 1.0, 1.0, 1.0),
        (2.5, 2.5, 0.9, 0.9),
        (1.1, 1.1, 1.1, 1.1),  # no more than chance makes
    ],
)
def test_jars_that_go_their_own_ways_are_left_in_peace(times):
    assert moved([jar(f"jar-{t}-{i}", times=t) for i, t in enumerate(times)], at=NOW) is None


def test_two_jars_are_too_few():
    shelf = [jar(name, times=2.5) for name in ("fig", "sloe", "pear")]
    assert moved(shelf, at=NOW) is not None
    assert moved(shelf[:2], at=NOW) is None
    assert moved([], at=NOW) is None


def test_silence_in_every_jar_at_once_is_a_move_down():
    move = moved([jar(n, per_min=20.0, last=0) for n in ("fig", "sloe", "pear")], at=NOW)
    assert move is not None
    assert move.times < 0.1


def test_jars_that_have_long_been_silent_say_nothing():
    shelf = [jar(name, per_min=0.0) for name in ("fig", "sloe", "pear")]
    assert moved(shelf, at=NOW) is None
    one = [jar(name, per_min=0.0, last=1) for name in ("fig", "sloe", "pear")]
    assert moved(one, at=NOW) is None  # a bubble each is chance


@pytest.mark.parametrize(("now_c", "warmer"), [(22.0, 4.0), (18.0, 0.0), (15.5, -2.5)])
def test_temperatures_say_how_much_warmer_it_was(now_c, warmer):
    shelf = [jar(name, times=2.0, temps=(18.0, now_c)) for name in ("fig", "sloe", "pear")]
    move = moved(shelf, at=NOW)
    assert move is not None
    assert move.warmer_c == warmer


def test_a_temperature_in_one_jar_of_three_is_not_enough():
    shelf = [jar("fig", times=2.0, temps=(18.0, 22.0)), jar("sloe", times=2.0)]
    move = moved([*shelf, jar("pear", times=2.0)], at=NOW)
    assert move is not None
    assert move.warmer_c is None


def test_an_evening_of_three_days_ago_is_no_news():
    shelf = [jar(name, times=2.5) for name in ("fig", "sloe", "pear")]
    assert moved(shelf, at=NOW + timedelta(days=1.5)) is not None
    assert moved(shelf, at=NOW + timedelta(days=3)) is None


def test_only_jars_counted_on_the_last_evening_are_compared():
    late = jar("pear", times=2.5).until(evening(7) + timedelta(hours=1))
    shelf = [jar(name, times=2.5) for name in ("fig", "sloe", "quince")]
    move = moved([*shelf, late], at=NOW)
    assert move is not None
    assert move.compared == 3
    assert moved([*shelf[:2], late], at=NOW) is None


@pytest.mark.parametrize("event", ["racked", "fed", "sampled", "moved"])
def test_a_jar_that_was_opened_is_left_out(event):
    shelf = [jar(name, times=0.4) for name in ("fig", "sloe")]
    rows = [{"day": d, "bubbles": 60, "seconds": 300} for d in range(8)]
    opened = diary(
        *rows,
        {"day": 7.9, "event": event},
        {"day": 8, "bubbles": 10, "seconds": 300},
        vessel="pear",
    )
    assert moved([*shelf, opened], at=NOW) is None


def test_jars_that_share_nothing_are_seldom_called_together():
    rng = np.random.default_rng(7)
    said = 0
    for _ in range(400):
        shelf = []
        for n in range(5):
            rate = rng.uniform(2, 15) * np.exp(-rng.uniform(0.05, 0.4) * np.arange(9))
            means = rate * 2.0 * rng.lognormal(0.0, 0.17, 9)
            counts = [
                {"day": day, "bubbles": int(bubbles), "seconds": 120}
                for day, bubbles in enumerate(rng.poisson(means))
            ]
            shelf.append(diary(*counts, vessel=f"jar-{n}"))
        said += moved(shelf, at=NOW) is not None
    assert said <= 0.04 * 400
