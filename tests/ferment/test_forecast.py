"""Dates, chances and bands read off a fit."""

from datetime import timedelta

import numpy as np
import pytest

from bubblerate.diary.settings import Hydrometer
from bubblerate.ferment.bands import rate_bands, rates_ahead
from bubblerate.ferment.crossing import crossing_days
from bubblerate.ferment.curve import as_curve
from bubblerate.ferment.evidence import gather_evidence
from bubblerate.ferment.fit import FEWEST_COUNTS, fit_curve
from bubblerate.ferment.forecast import Basis, forecast, whole_share
from bubblerate.ferment.gravity import corrected_readings
from bubblerate.ferment.priors import PER_MIN_PER_POINT_DAY, choose_priors
from bubblerate.ferment.tail import find_tail
from bubblerate.ferment.theta import column_names, to_theta
from bubblerate.ferment.whole import gather_whole

from scenes import START, evening, known, visits


def fitted(rates, seconds=60.0, litres=4.5, **more):
    rows = [
        {"day": float(d), "bubbles": round(r * seconds / 60.0), "seconds": seconds, **more}
        for d, r in enumerate(rates)
    ]
    return fit_curve(known(*rows, litres=litres), rng=np.random.default_rng(1))


HALVING = [40.0 * 0.5 ** (d / 2.0) for d in range(7)]  # 1 a minute on day 10.6


def at_threshold(result, day, threshold=1.0):
    return forecast(result, at=evening(day), threshold_per_min=threshold)


def test_times_and_limits_come_in_order():
    c = at_threshold(fitted(HALVING), 6.0).crossing
    assert c.low95 < c.low80 < c.median < c.high80 < c.high95


def test_a_halving_every_two_days_crosses_when_it_should():
    c = at_threshold(fitted(HALVING), 6.0).crossing
    assert c.low95 < evening(10.6) < c.high95
    assert c.p_already < 0.01


def test_a_lower_threshold_is_crossed_later():
    result = fitted(HALVING)
    medians = [at_threshold(result, 6.0, t).crossing.median for t in (4.0, 2.0, 1.0, 0.5)]
    assert medians == sorted(medians)


def test_the_chance_of_being_below_grows_while_nothing_is_counted():
    result = fitted(HALVING)
    chances = [at_threshold(result, day).crossing.p_already for day in (6.0, 10.0, 14.0, 40.0)]
    assert chances == sorted(chances)
    assert chances[-1] > 0.9


def test_a_time_more_than_60_days_ahead_is_not_given():
    c = at_threshold(fitted([9.0, 9.0, 9.0, 9.0, 9.0]), 4.0, threshold=0.001).crossing
    assert c.high95 is None
    assert c.p_not_in_60_days > 0.02


def test_more_evenings_narrow_the_window():
    few, many = fitted(HALVING[:4]), fitted([*HALVING, 3.6, 2.5, 1.8])
    widths = [
        (c.high80 - c.low80)
        for c in (at_threshold(few, 3.0).crossing, at_threshold(many, 9.0).crossing)
    ]
    assert widths[1] < widths[0]


def test_longer_counts_narrow_the_window():
    short, long = fitted(HALVING, seconds=30.0), fitted(HALVING, seconds=600.0)
    widths = [(c.high80 - c.low80) for c in (at_threshold(f, 6.0).crossing for f in (short, long))]
    assert widths[1] < widths[0]


def test_the_threshold_in_points_a_day_is_the_arithmetic_of_the_gas():
    # 1 point frees 0.56 L of gas a litre: at 1.05 mL a bubble, one a minute in a jar of 4.5 L
    f = at_threshold(fitted(HALVING), 6.0)
    expected = 1.05 / (PER_MIN_PER_POINT_DAY * 4.5)
    assert f.threshold_points_per_day.low80 < expected < f.threshold_points_per_day.high80


def test_without_litres_counts_say_nothing_of_gravity():
    f = at_threshold(fitted(HALVING, litres=None), 6.0)
    assert f.threshold_points_per_day is None
    assert f.points_to_fall is None


def test_the_bands_hold_the_counts_they_were_fitted_to():
    result = fitted(HALVING, seconds=600.0)
    low, median, high = rate_bands(result, result.tail.days, [0.025, 0.5, 0.975])
    assert np.all(low < median)
    assert np.all(median < high)
    assert np.mean((low < HALVING) & (high > HALVING)) > 0.7


def test_the_rate_at_the_median_crossing_is_the_threshold():
    result = fitted(HALVING)
    c = at_threshold(result, 6.0).crossing
    day = (c.median - START) / timedelta(days=1)
    found = rates_ahead(result, None, START, np.array([day]), [0.5])
    assert found[0, 0] == pytest.approx(1.0, rel=0.1)


def test_a_cold_evening_is_not_a_slower_ferment():
    warm = fitted(HALVING, temp_c=20.0)
    rows = [
        {"day": float(d), "bubbles": round(r / (2.0 if d == 6 else 1.0)), "temp_c": t}
        for (d, r), t in zip(enumerate(HALVING), [20.0] * 6 + [10.0], strict=True)
    ]
    cold = fit_curve(known(*rows), rng=np.random.default_rng(1))
    one, two = (at_threshold(f, 6.0).per_min.median for f in (warm, cold))
    assert two == pytest.approx(one, rel=0.2)


def test_two_counts_at_the_same_moment_do_no_harm():
    rows = [
        {"day": float(d), "bubbles": n} for d, n in ((0, 40), (1, 30), (1, 28), (2, 21), (2, 20))
    ]
    result = fit_curve(known(*rows), rng=np.random.default_rng(1))
    assert at_threshold(result, 2.0).crossing.median > evening(2.0)


@pytest.mark.parametrize("threshold", [0.0, -1.0, float("nan")])
def test_a_threshold_that_is_not_above_0_is_refused(threshold):
    with pytest.raises(ValueError, match="threshold_per_min must be above 0"):
        at_threshold(fitted(HALVING), 6.0, threshold)


def test_a_moment_before_the_last_count_is_refused():
    with pytest.raises(ValueError, match="later than the moment asked about"):
        at_threshold(fitted(HALVING), 5.0)


def test_intervals_hold_the_truth_as_often_as_they_say_on_ferments_of_their_own_kind():
    # Ferments drawn from the priors, counts from the model: the share inside is binomial, and 48
    # of 60 is what is expected of an 80 % interval; 39 to 57 leaves three standard deviations.
    rng = np.random.default_rng(20)
    table = choose_priors(known({"day": 0.0, "bubbles": 9}))
    held = tried = 0
    while tried < 60:
        theta = np.log([p.centre for p in table]) + 0.7 * rng.normal(size=len(table)) * [
            p.spread for p in table
        ]
        c = as_curve(to_theta(theta[None, :], table), column_names(table))
        truth = float(crossing_days(1.0 / np.exp(c.log_per_point), **c.gas)[0, 0])
        if not 4.0 < truth < 60.0:
            continue
        days = np.arange(0.0, 0.7 * truth, 1.0)
        rate = np.exp(c.log_per_min(days)[0])
        overdispersion = float(c.overdispersion[0, 0])
        bubbles = rng.poisson(
            rate * rng.gamma(1.0 / overdispersion**2, overdispersion**2, len(days))
        )
        rows = [{"day": d, "bubbles": int(n)} for d, n in zip(days, bubbles, strict=True)]
        of_it = known(*rows)
        if of_it.tail.trusted < 3:
            continue
        tried += 1
        result = fit_curve(of_it, rng=np.random.default_rng(1))
        crossing = at_threshold(result, float(days[-1])).crossing
        limit = evening(truth)
        held += crossing.low80 <= limit and (crossing.high80 is None or limit <= crossing.high80)
    assert 39 <= held <= 57


# --- fit and whole ferments together -------------------------------------------------------------

PITCHED = {"day": -2.0, "event": "pitched", "sg": 1.085}
RISEN = [{"day": float(d), "bubbles": n} for d, n in enumerate((4, 15, 24, 21, 17, 13, 11, 9))]
READ = {"day": 7.1, "sg": 1.025}


def both(*rows):
    """The fit and the whole of a jar of 4.5 L."""
    seen = visits(PITCHED, *rows)
    read = corrected_readings(seen, Hydrometer())
    said = {"litres": 4.5, "finish_sg": None}
    tail = find_tail(seen)
    few = tail.trusted < FEWEST_COUNTS
    evidence = None if few else gather_evidence(tail, seen, read, **said)
    fit = None if few else fit_curve(evidence, rng=np.random.default_rng(1))
    return fit, gather_whole(seen, read, pitched=None, usual_c=None, **said)


def ahead(fit, whole, day=7.2, threshold=1.0):
    return forecast(fit, whole, at=evening(day), threshold_per_min=threshold)


@pytest.mark.parametrize(("reading", "most"), [([READ], 2.0 / 3.0), ([], 0.25)])
def test_whole_ferments_weigh_the_more_the_more_of_them_are_alike(reading, most):
    fit, whole = both(*RISEN, *reading)
    pooled, tail, others = ahead(fit, whole), ahead(fit, None), ahead(None, whole)
    assert [f.basis for f in (pooled, tail, others)] == [Basis.BOTH, Basis.TAIL, Basis.WHOLE]
    curves = whole.likeness.effective_curves
    share = most * curves / (curves + 4.0)
    assert whole_share(fit, whole) == pytest.approx(share)
    for days in (10.0, 15.0, 25.0, 40.0):
        each = [f.crossing.cdf(evening(days)) for f in (pooled, tail, others)]
        assert each[0] == pytest.approx((1.0 - share) * each[1] + share * each[2], abs=0.003)
    assert pooled.bubble_ml == tail.bubble_ml
    assert others.bubble_ml is None


def test_beside_a_fit_that_no_reading_speaks_to_whole_ferments_tell_no_finish():
    fit, whole = both(*RISEN)
    assert ahead(fit, whole).finish_sg is None
    assert ahead(None, whole).finish_sg is not None


def test_alone_each_has_all_the_weight():
    fit, whole = both(*RISEN, READ)
    assert (whole_share(fit, None), whole_share(None, whole)) == (0.0, 1.0)


def test_before_three_counts_past_the_peak_whole_ferments_speak_alone():
    fit, whole = both(*RISEN[:3])
    found = ahead(fit, whole, 2.1)
    assert fit is None
    assert found.basis is Basis.WHOLE
    assert found.distrust == ""
    assert found.crossing.low80 < found.crossing.high80
    assert found.finish_sg.low80 < 1.0 < found.finish_sg.high80 + 0.01
    assert found.per_min.low80 < 24.0 < found.per_min.high80


def test_where_neither_can_speak_there_is_no_forecast():
    assert ahead(None, None) is None


def test_without_litres_or_gravity_whole_ferments_say_nothing_of_points():
    seen = visits(PITCHED | {"sg": None}, *RISEN[:3])
    whole = gather_whole(seen, (), pitched=None, usual_c=None, litres=None, finish_sg=None)
    found = ahead(None, whole, 2.1)
    assert found.threshold_points_per_day is None
    assert found.points_to_fall is None
    assert found.finish_sg is None


def test_the_rates_ahead_are_those_of_the_forecast():
    fit, whole = both(*RISEN, READ)
    c = ahead(fit, whole).crossing
    days = (c.median - evening(7.0)) / timedelta(days=1)
    found = rates_ahead(fit, whole, evening(7.0), np.array([0.0, days]), [0.1, 0.5, 0.9])
    assert found[0, 0] < 9.0 < found[2, 0]
    assert found[1, 1] == pytest.approx(1.0, rel=0.15)
