"""The terms of the log density, against scipy.stats and hand-made sums."""

import numpy as np
import pytest
from scipy import stats

from bubblerate.ferment.counting import log_negative_binomial
from bubblerate.ferment.curve import as_curve, thermal_days, thermal_days_at
from bubblerate.ferment.decay import points_left
from bubblerate.ferment.evidence import evening_weights
from bubblerate.ferment.likelihood import log_density, log_gravity, log_prior, log_tallies
from bubblerate.ferment.priors import GRAVITY_FREEDOM, READING_SD_POINTS, choose_priors
from bubblerate.ferment.tail import find_tail
from bubblerate.ferment.theta import column_names, to_theta

from scenes import known, visits

NINE = ({"day": 0.0, "bubbles": 9},)


@pytest.mark.parametrize("overdispersion", [0.05, 0.17, 1.0])
def test_the_negative_binomial_is_that_of_scipy(overdispersion):
    counts, mean = np.array([0, 1, 7, 300]), np.array([0.2, 3.0, 7.0, 250.0])
    size = 1.0 / overdispersion**2
    expected = stats.nbinom.logpmf(counts, size, size / (size + mean))
    np.testing.assert_allclose(
        log_negative_binomial(counts, np.log(mean), overdispersion), expected, rtol=1e-9
    )


@pytest.mark.parametrize("overdispersion", [0.0, 1e-5, 1e-4])
def test_without_scatter_it_is_poisson(overdispersion):
    counts, mean = np.array([0, 1, 7, 300]), np.array([0.2, 3.0, 7.0, 250.0])
    np.testing.assert_allclose(
        log_negative_binomial(counts, np.log(mean), overdispersion),
        stats.poisson.logpmf(counts, mean),
        rtol=1e-4,
    )


def test_the_rate_stands_in_for_the_gas_of_a_point():
    table = choose_priors(known(*NINE))
    assert table[0].name == "gas"
    assert column_names(table)[0] == "rate"
    assert len(column_names(table)) == len(table)


def test_parameters_come_in_only_where_something_can_be_said_of_them():
    plain = {p.name for p in choose_priors(known(*NINE))}
    warm = known(
        *NINE, {"day": 1.0, "bubbles": 8, "temp_c": 15.0}, {**NINE[0], "day": 2, "temp_c": 20.0}
    )
    read = known(*NINE, {"day": 1.0, "sg": 1.004})
    moved = known(*NINE, {"day": 1.0, "event": "moved"}, {"day": 2.0, "bubbles": 8})
    assert {p.name for p in choose_priors(warm)} - plain == {"q10"}
    assert {p.name for p in choose_priors(read)} - plain == {"finish"}
    assert {p.name for p in choose_priors(moved)} - plain == {"bubbles 0"}


def test_knowing_the_litres_narrows_the_gas_of_a_point():
    unknown, told = choose_priors(known(*NINE, litres=None))[0], choose_priors(known(*NINE))[0]
    assert told.spread < unknown.spread
    # one bubble a minute in a jar is half to one point a day, arithmetic of the trade
    assert 0.5 < 1.0 / told.centre < 1.0


def test_a_finish_that_the_maker_gives_is_believed_more_than_the_usual():
    row = {"day": 1.0, "sg": 1.004}
    usual, said = (choose_priors(known(*NINE, row, finish_sg=f))[-1] for f in (None, 1.004))
    assert said.centre == pytest.approx(4.0)
    assert said.spread < usual.spread


def test_readings_with_counts_between_teach_the_size_of_a_bubble():
    # 1 point frees 0.56 L of gas a litre: 15 points in 4.5 L, in 20,160 bubbles, are 1.9 mL each
    before = [{"day": 0.5 * d, "bubbles": 7} for d in range(5)]
    peak = [{"day": 2.5, "bubbles": 40}, {"day": 2.6, "bubbles": 41}, {"day": 3.0, "bubbles": 38}]
    read = [{"day": 0.0, "sg": 1.080}, {"day": 2.0, "sg": 1.065}]
    guessed = known(*before, *peak).bubble_ml
    told = known(*sorted([*before, *read], key=lambda row: row["day"]), *peak).bubble_ml
    assert (guessed.ml, guessed.learnt) == (pytest.approx(1.25), False)
    assert told.learnt
    assert 1.5 < told.ml < 1.8
    assert told.spread < guessed.spread


@pytest.mark.parametrize("litres", [0.0, -4.5, np.nan])
def test_litres_that_cannot_be_are_refused(litres):
    with pytest.raises(ValueError, match="litres must be above 0"):
        known(*NINE, litres=litres)


def some(table, size=4):
    rng = np.random.default_rng(1)
    centre = [p.centre if p.linear else np.log(p.centre) for p in table]
    return to_theta(centre + 0.3 * rng.standard_normal((size, len(table))), table)


def test_the_prior_is_the_sum_of_normals():
    table = choose_priors(known(*NINE, {"day": 1.0, "sg": 1.004}))
    theta = some(table)
    c = as_curve(theta, column_names(table))
    mixed = {"gas": c.log_per_point, "finish": c.finish}
    mixed |= {name: np.log(getattr(c, name)) for name in ("fall", "sugar", "second")}
    values = np.column_stack([mixed.get(p.name, theta[:, i]) for i, p in enumerate(table)])
    expected = sum(
        stats.norm.logpdf(values[:, i], p.centre if p.linear else np.log(p.centre), p.spread)
        for i, p in enumerate(table)
    )
    differences = log_prior(theta, c, table) - expected
    np.testing.assert_allclose(differences, differences[0])


def test_the_gravity_term_is_a_student_t_around_the_finish_and_the_sugar_left():
    read = known(
        *NINE, {"day": 4.0, "sg": 1.012}, {"day": 6.0, "bubbles": 2}, {"day": 9.0, "sg": 1.003}
    )
    table = choose_priors(read)
    c = as_curve(some(table), column_names(table))
    thermal = np.array([[0.0, 6.0]] * 4)
    t = np.array([4.0, 9.0])
    left = points_left(t, **c.ferment) + c.second * np.exp(-c.pace * t)
    student = stats.t(GRAVITY_FREEDOM, loc=c.finish + left, scale=READING_SD_POINTS)
    differences = log_gravity(c, thermal, read) - student.logpdf(np.array([12.0, 3.0])).sum(axis=1)
    np.testing.assert_allclose(differences, differences[0])


def test_terms_add_up():
    read = known(*NINE, {"day": 6.0, "bubbles": 2}, {"day": 9.0, "sg": 1.003})
    table = choose_priors(read)
    theta = some(table)
    c, thermal = as_curve(theta, column_names(table)), np.array([[0.0, 6.0]] * 4)
    parts = (
        log_prior(theta, c, table) + log_tallies(c, thermal, read) + log_gravity(c, thermal, read)
    )
    np.testing.assert_allclose(log_density(theta, read, table), parts)


def likelihood_of(bubbles, seconds):
    of_it = known(*({"day": float(d), "bubbles": bubbles, "seconds": seconds} for d in range(3)))
    table = choose_priors(of_it)
    theta = to_theta(np.log([[p.centre for p in table]]), table)
    theta[0, 0] = np.log(5.0)
    return log_tallies(as_curve(theta, column_names(table)), np.arange(3.0)[None], of_it)[0]


def test_a_longer_count_weighs_more_and_a_zero_is_data():
    assert likelihood_of(0, 600.0) < likelihood_of(0, 60.0) < 0.0


def test_a_count_ten_times_too_large_costs_little_more_than_one_a_hundred_times():
    # any number of a slip is about as likely as its half: it hardly pulls at the curve
    sound, ten, hundred = (likelihood_of(n, 60.0) for n in (5, 50, 500))
    assert sound - ten > 5.0
    assert ten - hundred < 9.0


def test_an_earlier_stretch_has_its_own_bubble():
    rows = [
        {"day": 0.0, "bubbles": 2},
        {"day": 1.0, "event": "airlock"},
        {"day": 4.0, "bubbles": 1},
    ]
    of_it = known(*rows)
    table = choose_priors(of_it)
    theta = some(table, 1)
    finer = theta.copy()
    finer[:, column_names(table).index("bubbles 0")] += 0.5
    change = [
        log_tallies(as_curve(x, column_names(table)), np.array([[0.0, 4.0]]), of_it)
        for x in (theta, finer)
    ]
    assert change[0] != change[1]
    assert list(of_it.tail.stretch) == [1, 0]


def test_time_between_the_counts_is_interpolated_and_runs_on_after_them():
    thermal = thermal_days_at(np.array([0.5, 3.0]), np.array([[0.0, 1.5]]), np.array([0.0, 1.0]))
    np.testing.assert_allclose(thermal, [[0.75, 3.5]])


def test_a_warm_evening_counts_for_more_time():
    days, temp_offset_10c = np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.0, 1.0])
    thermal = thermal_days(days, temp_offset_10c, np.array([[2.0], [1.0]]))
    np.testing.assert_allclose(thermal, [[0.0, 1.5, 3.5], [0.0, 1.0, 2.0]])


def test_evenings_close_together_share_their_scatter_and_say_less():
    many = [{"day": d, "bubbles": 30} for d in range(6)]
    daily = evening_weights(find_tail(visits(*many)))
    weekly = evening_weights(find_tail(visits(*({**v, "day": 7 * v["day"]} for v in many))))
    assert np.all(daily < 0.8)
    assert np.all(weekly > 0.97)


def test_few_bubbles_are_mostly_chance_and_keep_their_say():
    few = find_tail(visits(*({"day": d, "bubbles": 1} for d in range(6))))
    assert np.all(evening_weights(few) > 0.85)


def test_counting_twice_an_evening_never_says_less():
    once = find_tail(visits(*({"day": float(d), "bubbles": 30} for d in range(8))))
    rows = [{"day": d + e, "bubbles": 30} for d in range(8) for e in (0.0, 0.005)]
    twice = find_tail(visits(*rows))
    assert evening_weights(twice).sum() > evening_weights(once).sum()


def test_counts_at_the_same_moment_do_no_harm():
    twice = find_tail(
        visits({"day": 0, "bubbles": 9}, {"day": 0, "bubbles": 8}, {"day": 1, "bubbles": 7})
    )
    assert np.all(np.isfinite(evening_weights(twice)))
    assert np.all(evening_weights(twice) > 0.0)
