"""Compares lots of counts, and a fit that starts with them, with the sums over every count."""

from dataclasses import replace

import numpy as np
import pytest

from bubblerate.ferment import fit as engine
from bubblerate.ferment.crossing import crossing_days
from bubblerate.ferment.curve import as_curve
from bubblerate.ferment.fit import fit_curve
from bubblerate.ferment.likelihood import log_density, terms
from bubblerate.ferment.lots import Expected, in_lots, smoothed
from bubblerate.ferment.priors import choose_priors

from scenes import known


def counted(n, *, slips=()):
    """So many counts over 20 days, halving four times, evenings of their own warmth."""
    rng = np.random.default_rng(n)
    days = np.arange(n) * 20.0 / n
    rate = 300.0 * 0.5 ** (days / 6.0) * np.exp(0.1 * rng.standard_normal(21))[days.astype(int)]
    bubbles = rng.poisson(rate)
    bubbles[list(slips)] *= 10
    return known(
        *(
            {"day": float(d), "bubbles": int(b), "temp_c": 18.0 + int(d) % 3}
            for d, b in zip(days, bubbles, strict=True)
        ),
        {"day": 20.0, "sg": 1.006},
    )


@pytest.fixture(scope="module")
def long():
    """A tail of 240 counts, and its fit."""
    evidence = counted(240, slips=[70, 160])
    return evidence, fit_curve(evidence, rng=np.random.default_rng(1))


def test_lots_say_of_curves_near_the_one_given_what_all_counts_say(long):
    evidence, fit = long
    table = choose_priors(evidence)
    best = fit.draws.theta[[np.argmax(fit.draws.weights)]]
    found = terms(best, evidence, table)
    expected = Expected(
        bubbles=np.exp(found.log_mean[0]),
        sound=1.0 / (1.0 + np.exp(-found.log_odds[0])),
        overdispersion=float(found.curve.overdispersion[0, 0]),
    )
    few = in_lots(evidence, expected)
    assert len(few.tail) < len(evidence.tail) / 5
    near = best + 0.3 * (fit.draws.theta[:200] - best)
    off = log_density(near, evidence, table) - log_density(near, few, table)
    assert np.std(off) < 0.5
    assert np.std(off) < 0.25 * np.std(log_density(near, evidence, table))


def test_a_lot_keeps_the_sum_of_its_weights_and_never_counts_below_0():
    evidence = counted(150)
    few = in_lots(evidence, smoothed(evidence))
    assert few.weights.sum() == pytest.approx(evidence.weights.sum())
    assert few.tail.bubbles.min() >= 0.0
    assert np.all(np.diff(few.tail.days) >= 0.0)
    assert (few.tail.days[0], few.tail.days[-1]) == (evidence.tail.days[0], evidence.tail.days[-1])


def test_a_wild_count_says_little_before_a_curve_is_known():
    evidence = counted(150, slips=[40])
    assert np.flatnonzero(smoothed(evidence).sound < 1.0).tolist() == [40]


def crossings(fits):
    """Days at which some fits together fall to 20 bubbles a minute, and the weight of each."""
    found = []
    for fit in fits:
        curve = as_curve(fit.draws.theta, fit.names)
        found.append(crossing_days(20.0 / np.exp(curve.log_per_point), **curve.gas)[:, 0])
    return np.concatenate(found), np.concatenate([fit.draws.weights for fit in fits]) / len(fits)


def test_fits_by_lots_have_the_quantiles_of_those_by_all_counts(long, monkeypatch):
    evidence, _ = long
    seeds = range(3)
    few = [fit_curve(evidence, rng=np.random.default_rng(seed)) for seed in seeds]
    monkeypatch.setattr(engine, "_MANY", 10_000)
    every = [fit_curve(evidence, rng=np.random.default_rng(seed)) for seed in seeds]
    (days, weights), (all_days, all_weights) = crossings(few), crossings(every)
    order = np.argsort(days)
    found = np.interp([0.1, 0.5, 0.9], np.cumsum(weights[order]), days[order])
    shares = [all_weights[all_days <= day].sum() for day in found]
    assert shares == pytest.approx([0.1, 0.5, 0.9], abs=0.09)
    for fit in few:
        assert np.flatnonzero(fit.outlier_chance > 0.5).tolist() == [63, 153]  # of the tail


def test_lots_that_mislead_give_way_to_all_counts(long, monkeypatch):
    evidence, _ = long

    def misled(some, expected):
        few = in_lots(some, expected)
        other = few.tail.bubbles * np.linspace(0.2, 5.0, len(few.tail))
        return replace(few, tail=replace(few.tail, bubbles=other))

    monkeypatch.setattr(engine, "in_lots", misled)
    found = fit_curve(evidence, rng=np.random.default_rng(1))
    assert found.draws.enough
    assert len(found.draws.weights) == engine._KEPT
