from datetime import timedelta
from math import log

import numpy as np
import pytest
from scipy.optimize import isotonic_regression

from bubblerate.diary.reading import read
from bubblerate.diary.visit import Diary
from bubblerate.ferment.made_up import simulate
from bubblerate.shelf.quiet_day import WIDEST_DAYS, Omission, QuietDay, _log_likelihoods, quiet_day

from scenes import EXAMPLES, diary, evening


def rows(rates, **cells):
    """Rows a day apart, each a count of five minutes at a rate."""
    return [{"day": d, "bubbles": round(5 * r), "seconds": 300, **cells} for d, r in rates]


def falling(days=16, *, start=12.0, halves=3.0):
    return [(d, start * 0.5 ** (d / halves)) for d in range(days)]


def seen(known: Diary, threshold=1.0) -> QuietDay:
    found = quiet_day(known, threshold_per_min=threshold)
    assert isinstance(found, QuietDay), found
    return found


def why(known: Diary, threshold=1.0) -> Omission:
    found = quiet_day(known, threshold_per_min=threshold)
    assert isinstance(found, Omission), found
    return found


# --- the sums ------------------------------------------------------------------------------------


def test_likelihoods_are_those_worked_by_hand():
    # four evenings of weight 1, at 3, 2, a half and no times the threshold; a part on the wrong
    # side of the threshold is held at it, where a count of x has log likelihood -1
    three, two, half = 3 * log(3) - 3, 2 * log(2) - 2, 0.5 * log(0.5) - 0.5
    by_hand = [-2 + half, three - 1 + half, three + two + half, three + two - 1, three + two - 2]
    found = _log_likelihoods(np.array([3.0, 2.0, 0.5, 0.0]), np.ones(4))
    assert found == pytest.approx(by_hand)
    assert np.argmax(found) == 2


@pytest.mark.parametrize("seed", range(10))
def test_the_falling_rates_are_those_of_another_program(seed):
    # pooling of adjacent violators by scipy.optimize.isotonic_regression, then held
    rng = np.random.default_rng(seed)
    times, weights = rng.uniform(0.0, 3.0, 12), rng.uniform(0.5, 8.0, 12)

    def likelihood(k):
        def best(some, low, high):
            if not some.any():
                return 0.0
            fitted = isotonic_regression(times[some], weights=weights[some], increasing=False).x
            rate = np.clip(fitted, low, high)
            return weights[some] @ (times[some] * np.log(np.maximum(rate, 1e-300)) - rate)

        first = np.arange(12) < k
        return best(first, 1.0, np.inf) + best(~first, 0.0, 1.0)

    assert _log_likelihoods(times, weights) == pytest.approx([likelihood(k) for k in range(13)])


def test_chances_rise_from_none_to_certain_and_a_moment_is_where_its_chance_is():
    found = seen(diary(*rows(falling(20))))
    assert found.chances[0] == 0.0
    assert found.chances[-1] == 1.0
    assert list(found.chances) == sorted(found.chances)
    assert found.surely_from < found.about < found.surely_by
    day = (found.about - found.since) / timedelta(days=1)
    assert np.interp(day, found.days, found.chances) == pytest.approx(0.5)


@pytest.mark.parametrize("threshold", [0.0, -1.0, float("nan"), float("inf")])
def test_a_threshold_that_no_rate_falls_below_is_refused(threshold):
    with pytest.raises(ValueError, match="a threshold is above 0"):
        quiet_day(diary(*rows(falling())), threshold_per_min=threshold)


# --- the day -------------------------------------------------------------------------------------


def test_a_clean_fall_is_told_between_the_evenings_on_either_side():
    # 12 a minute, halved every three days, is 1 a minute after 3 log2 12 = 10.75 days
    found = seen(diary(*rows(falling(20))))
    assert abs(found.about - evening(10.75)) < timedelta(days=1)
    assert found.surely_from < evening(10.75) < found.surely_by


def test_another_threshold_is_another_day():
    known = diary(*rows(falling(20)))
    assert seen(known, 2.0).about < seen(known, 1.0).about - timedelta(days=2)


@pytest.mark.parametrize(("day", "rate"), [(5, 0.0), (6, 400.0), (14, 60.0), (18, 9.0)])
def test_one_odd_evening_moves_the_day_by_a_day_at_most(day, rate):
    rates = falling(22)
    odd = [(d, rate if d == day else r) for d, r in rates]
    before, after = seen(diary(*rows(rates))).about, seen(diary(*rows(odd))).about
    assert abs(after - before) <= timedelta(days=1)


def test_a_cold_week_is_no_end():
    rates = [(d, 0.0 if 5 <= d < 10 else r) for d, r in falling(22)]
    cold = [row | {"temp_c": 7.0 if 5 <= row["day"] < 10 else 18.0} for row in rows(rates)]
    found = seen(diary(*cold))
    assert found.surely_from < evening(10.75) < found.surely_by
    assert abs(found.about - evening(10.75)) < timedelta(days=2)


def test_a_winter_in_the_shed_does_not_become_the_usual_warmth():
    warm = rows(falling(20), temp_c=19.0)
    winter = rows([(d, 0.0) for d in range(20, 70)], temp_c=6.0)
    without, found = seen(diary(*warm)), seen(diary(*warm, *winter))
    assert abs(found.about - without.about) < timedelta(hours=12)


def test_a_jar_that_rises_again_has_not_fallen_before():
    again = [(d + 16, r) for d, r in falling(22, start=6.0)]
    found = seen(diary(*rows([*falling(16), *again])))
    assert found.about > evening(20)


def test_after_another_airlock_the_watch_begins_anew():
    known = diary(*rows(falling(6)), {"day": 5.5, "event": "airlock"}, *rows(falling(20)[6:]))
    assert seen(known).watched_from == evening(5.5)


@pytest.mark.parametrize("event", ["racked", "bottled", "sulphited"])
def test_what_is_done_after_the_fall_changes_nothing(event):
    base = rows(falling(20))
    done = [*base, {"day": 19.5, "event": event}, *rows([(d, 9.0) for d in range(20, 24)])]
    assert seen(diary(*done)).about == seen(diary(*base)).about


@pytest.mark.parametrize("kind", ["kinetic", "power_tail", "exponential", "growing", "stuck"])
def test_the_true_day_of_simulated_ferments_lies_within(kind, tmp_path):
    told = []
    for seed in range(300, 312):
        ferment = simulate(kind, seed)
        path = tmp_path / f"{seed}.csv"
        path.write_text(ferment.csv, encoding="utf-8", newline="")
        known = read(path)
        found = quiet_day(known, threshold_per_min=1.0)
        if isinstance(found, QuietDay):
            true = known.live[0].when + timedelta(days=ferment.crossing_day(1.0))
            told.append(found.surely_from <= true <= found.surely_by)
    assert len(told) >= 6
    assert sum(told) >= len(told) - 1


# --- the reasons ---------------------------------------------------------------------------------

QUIET = [(d, 0.2) for d in range(12)]
SLOW = [(d, 4.0 * 0.5 ** (d / 40)) for d in range(0, 170, 4)]


@pytest.mark.parametrize(
    ("known", "code", "words"),
    [
        (diary(), "no-counts", "no bubbles"),
        (diary({"day": 0, "sg": 1.08}), "no-counts", "no bubbles"),
        (diary(*rows(falling(4))), "few-counts", "4; 6 needed"),
        (diary(*rows(QUIET)), "quiet-from-start", "1.0 a minute"),
        (diary(*rows(falling(9))), "not-yet", "below 1.0 a minute for good"),
        (diary(*rows(falling(13))), "not-yet", "for good"),
        (diary(*rows(falling(9)), {"day": 8.5, "event": "racked"}), "broken-off",
         "racked on 10 Oct 2026"),
        (diary(*rows(falling(9)), {"day": 9, "event": "fed", "bubbles": 8}), "broken-off", "fed"),
        (diary(*rows(falling(9)), {"day": 8.5, "event": "bottled"}), "broken-off", "bottled"),
        (diary(*rows(SLOW)), "blurred", "leave a doubt of"),
    ],
)  # fmt: skip
def test_a_day_that_cannot_be_told_has_its_reason(known, code, words):
    found = why(known)
    assert found.code == code
    assert words in found.text
    assert "\n" not in found.text


def test_evenings_in_the_cold_are_said_to_tell_nothing():
    warm, cold = rows(falling(9), temp_c=18.0), rows([(d, 0.0) for d in range(9, 15)], temp_c=5.0)
    found = why(diary(*warm, *cold))
    assert found.code == "not-yet"
    assert "6 in the cold" in found.text


def test_no_window_is_wider_than_is_let_pass():
    for name in ("quince", "medlar", "damson"):
        found = seen(read(EXAMPLES / f"{name}.csv"))
        assert (found.surely_by - found.surely_from) / timedelta(days=1) <= WIDEST_DAYS
