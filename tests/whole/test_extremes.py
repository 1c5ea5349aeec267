"""Extreme diaries get a sensible answer, and failed sums never a confident one.

What must be true for every judgement is in `faults`; a bench tries hundreds more.
"""

import json
import time
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np
import pytest

from bubblerate.course.judgement import judge
from bubblerate.diary.settings import Settings
from bubblerate.ferment.fit import FitError, fit_curve
from bubblerate.ferment.likelihood import terms
from bubblerate.ferment.modes import Modes, climb
from bubblerate.ferment.sampling import Draws, importance_draws

from bench.trust.extremes import faults, trial
from cases import PITCHED, SLOWED
from scenes import START, diary, evening, known, written


def nightly(*bubbles, first=0.0, step=1.0, **more):
    return [{"day": first + step * i, "bubbles": n, **more} for i, n in enumerate(bubbles)]


SLOW = (60, 50, 40, 30, 20, 12)
EXTREMES = [
    # diary                          rows                                          racking, for
    ("no row", [], "wait", "no-counts"),
    ("only the start", [PITCHED], "wait", "no-counts"),
    ("one tally", nightly(7), "wait", "few-counts"),
    ("one tally of none", nightly(0), "wait", "few-counts"),
    ("all zeros", nightly(*[0] * 40), "wait", "never-seen-working"),
    ("three zeros", nightly(0, 0, 0), "wait", "never-seen-working"),
    ("one bubble a day, counted all day", nightly(*[1] * 9, seconds=86400.0), "wait", "never-seen-working"),
    ("a million every minute", nightly(*[10**6] * 8), "wait", "above-curve"),
    ("a million in a second", nightly(*[10**6] * 5, seconds=1.0), "wait", "above-curve"),
    ("a million, then none", nightly(10**6, 0, 0, 0, 0), "wait", "sudden-quiet"),
    ("a million every other night", nightly(*[0, 10**6] * 10), "wait", "few-counts"),
    ("doubling every night", nightly(*(2**i for i in range(16))), "wait", "few-counts"),
    ("the same for two months", nightly(*[5] * 60), "wait", "above-threshold"),
    ("a year's gap, then as before", [*nightly(60, 50, 40), *nightly(30, 20, 10, first=400)], "wait", "above-curve"),
    ("a year's gap, then silence", [*nightly(*SLOW), *nightly(0, 0, 0, first=370)], "wait", "course"),
    ("tallies of one moment", nightly(9, 8, 7, 6, 5, step=0.0), "wait", "above-threshold"),
    ("two tallies of each moment", sorted([*nightly(*SLOW), *nightly(*SLOW)], key=lambda r: r["day"]), "wait", "above-threshold"),
    ("tallies a microsecond apart", nightly(9, 8, 7, 6, 5, step=2e-11), "wait", "above-threshold"),
    ("one tally in ten years", nightly(*range(9, 1, -1), step=3650.0), "wait", "just-quiet"),
    ("frost and heat every other night", [{"day": i, "bubbles": 40 - i, "temp_c": t} for i, t in enumerate([-10.0, 50.0] * 10)], "wait", "few-counts"),
    ("the highest gravity there is", [PITCHED, *nightly(9, 8, 7, first=1), {"day": 4.0, "sg": 1.3}], "wait", "gravity-high"),
    ("the lowest gravity there is", [PITCHED, *nightly(9, 8, 7, first=1), {"day": 4.0, "sg": 0.7}], "wait", "gravity-impossible"),
    ("a thimble", [{**PITCHED, "litres": 0.05}, *nightly(*SLOW, 9, 7, 6, first=1)], "wait", "above-curve"),
    ("a vat", [{**PITCHED, "litres": 10_000.0}, *nightly(*SLOW, 9, 7, 6, first=1), {"day": 9.5, "sg": 1.01}], "wait", "above-threshold"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("rows", "answer", "code"), [e[1:] for e in EXTREMES], ids=[e[0] for e in EXTREMES]
)
def test_an_extreme_diary_has_a_sensible_answer(rows, answer, code):
    last = rows[-1]["day"] if rows else 0.0
    for question, later in (("racking", 0.0), ("racking", 400.0), ("bottling", 0.2)):
        judged = judge(diary(*rows), at=evening(last + later), question=question)
        assert not [*faults(judged)]
        if question == "bottling" or later > 1.0:
            assert judged.verdict.answer == "wait"
        else:
            codes = [reason.code for reason in judged.verdict.reasons]
            assert (judged.verdict.answer, code in codes) == (answer, True), codes


@pytest.mark.parametrize(
    "name", ["all zeros", "a million every minute", "a year's gap, then silence"]
)
def test_the_command_line_answers_an_extreme_diary_too(run, tmp_path, name):
    (rows,) = (e[1] for e in EXTREMES if e[0] == name)
    path, last = written(tmp_path / "fig.csv", *rows), evening(rows[-1]["day"]).isoformat()
    for on in ("racking", "bottling"):
        code, out, err = run("verdict", str(path), "--json", "--on", on, "--at", last)
        found = json.loads(out)
        assert (code, err, found["question"]) == (0, "", on)
        crossing = found["crossing"]
        assert crossing["low80"] is None or crossing["low80"] < crossing["high80"]


def test_ten_thousand_tallies_are_answered():
    rng = np.random.default_rng(0)
    days = np.arange(10_000) / 240.0
    counts = zip(days, rng.poisson(40.0 * 0.5 ** (days / 5.0)), strict=True)
    judged = judge(diary(*({"day": d, "bubbles": n} for d, n in counts)), at=evening(41.7))
    assert not [*faults(judged)]
    assert judged.forecast is not None
    # one a minute is reached after 5 log2(40) days; a lone minute weighs little, 10,000 weigh much
    crossing = judged.forecast.crossing
    assert crossing.low95 < evening(5.0 * np.log2(40.0)) < crossing.high95
    assert crossing.high80 - crossing.low80 < timedelta(days=2)


def test_a_crossing_before_the_first_count_has_no_lower_limit(run, tmp_path):
    path = written(tmp_path / "fig.csv", *nightly(*[30] * 9, seconds=3600.0))
    words = ("verdict", str(path), "--at", evening(9).isoformat())
    crossing = json.loads(run(*words, "--json").out)["crossing"]
    assert (crossing["low95"], crossing["low80"]) == (None, None)
    assert crossing["median"] == crossing["high95"] == evening(0).isoformat()
    assert "Below 1.0 a minute since 1 Oct or earlier" in run(*words, "--more").out


def test_rows_out_of_order_are_answered_as_if_in_order(run, tmp_path):
    rows = [PITCHED, *SLOWED, {"day": 15.1, "sg": 0.996}, {"day": 18.1, "sg": 0.996}]
    at = evening(18.5).isoformat()
    mixed = [rows[i] for i in np.random.default_rng(3).permutation(len(rows))]
    said = [
        run("verdict", str(written(tmp_path / folder / "fig.csv", *some)), "--json", "--at", at)
        for folder, some in (("sorted", sorted(rows, key=lambda r: r["day"])), ("mixed", mixed))
    ]
    assert said[0] == said[1]
    assert json.loads(said[0].out)["verdict"] == "go"


# In this zone the clock goes back from 3:00 to 2:00 on 25 October 2026 and on from 2:00 to 3:00 on
# 28 March 2027 (European Union Directive 2000/84/EC: the last Sundays of October and March).
@pytest.mark.parametrize(
    "evenings",
    [
        ["24T21:00+02:00", "25T02:30+02:00", "25T02:30+01:00", "25T21:00+01:00"],
        ["24T21:00", "25T02:15", "25T02:45", "25T21:00"],
    ],
    ids=["with offsets", "local"],
)
@pytest.mark.skipif(not hasattr(time, "tzset"), reason="the zone can be set on POSIX only")
def test_the_night_the_clock_changes_is_a_night_as_others(run, tmp_path, monkeypatch, evenings):
    monkeypatch.setenv("TZ", "CET-1CEST,M3.5.0,M10.5.0/3")
    time.tzset()
    try:
        days = [f"2026-10-{day}T21:00" for day in range(16, 24)]
        whens = [*days, *(f"2026-10-{when}" for when in evenings), "2027-03-28T02:30"]
        rows = nightly(*(max(40 - 4 * i, 0) for i in range(len(whens))), seconds=300.0)
        rows = [{name: row[name] for name in ("bubbles", "seconds")} for row in rows]
        lines = [f"{when},{row['bubbles']},300" for when, row in zip(whens, rows, strict=True)]
        path = tmp_path / "fig.csv"
        path.write_text("\n".join(["when,bubbles,seconds", *lines, ""]))
        for at in ("2026-10-25T22:00", "2027-03-28T12:00"):
            code, out, err = run("verdict", str(path), "--json", "--at", at)
            assert (code, err) == (0, "")
            here = datetime.fromisoformat(at).astimezone()
            later = [datetime.fromisoformat(when).astimezone() for when in whens]
            seen = [
                {"day": (when - START) / timedelta(days=1), **row}
                for when, row in zip(later, rows, strict=True)
                if when <= here
            ]
            judged = judge(diary(*seen), at=evening((here - START) / timedelta(days=1)))
            assert json.loads(out)["verdict"] == judged.verdict.answer
            assert judged.forecast is not None
            assert json.loads(out)["rate"]["per_min"] == pytest.approx(
                judged.forecast.per_min.median
            )
    finally:
        monkeypatch.undo()
        time.tzset()


@pytest.mark.parametrize("seed", range(12))
def test_a_diary_at_random_is_answered_without_a_warning(seed):
    assert trial(seed)[0] == []


# --- sums that fail ------------------------------------------------------------------------------

CLEAN = [PITCHED, *SLOWED]  # a go by bubbles alone, where all is well


def priors_at(theta, evidence, priors, off):
    found = terms(theta, evidence, priors)
    return replace(found, off_priors=np.full_like(found.off_priors, off))


def nowhere(theta, evidence, priors):
    return priors_at(theta, evidence, priors, np.inf)


def no_number(theta, evidence, priors):
    return priors_at(theta, evidence, priors, np.nan)


def lost(*args, **more):
    found = climb(*args, **more)
    return replace(found, at=np.full_like(found.at, np.nan))


def broken(*_, **__):
    raise np.linalg.LinAlgError("Singular matrix")


def bent(*args, **more):
    found = climb(*args, **more)
    return replace(found, covariance=-1e-6 * np.abs(found.covariance))


def flat(*args, **more):
    found = climb(*args, **more)
    return replace(found, covariance=np.zeros_like(found.covariance))


def weighted(weights, density, peaks, rng):
    theta = peaks.at[0] + 0.1 * rng.standard_normal((2400, peaks.at.shape[1]))
    density(theta)
    return Draws(theta=theta, weights=weights / weights.sum()), np.arange(2400)


def one_draw(density, peaks, *, rng):
    return weighted(np.eye(1, 2400)[0], density, peaks, rng)


def fifty_draws(density, peaks, *, rng):
    return weighted(np.repeat([1.0, 0.0], [50, 2350]), density, peaks, rng)


def heavy_draws(density, peaks, *, rng):
    return weighted(np.arange(1.0, 2401.0) ** -0.95 + 0.05, density, peaks, rng)


FAILURES = [
    ("a density that is nowhere finite", "bubblerate.ferment.fit.terms", nowhere),
    ("a density that is never a number", "bubblerate.ferment.fit.terms", no_number),
    ("a search that ends at no number", "bubblerate.ferment.starts.climb", lost),
    ("a search that breaks", "bubblerate.ferment.starts.climb", broken),
    ("a covariance that is not positive", "bubblerate.ferment.starts.climb", bent),
    ("a covariance that is zero", "bubblerate.ferment.starts.climb", flat),
    ("draws of which one outweighs all", "bubblerate.ferment.fit.importance_draws", one_draw),
]


def test_all_is_well_with_the_diary_of_these_tests():
    judged = judge(diary(*CLEAN), at=evening(18.4))
    assert judged.forecast is not None
    assert (judged.verdict.answer, judged.forecast.distrust) == ("go", "")


@pytest.mark.parametrize(
    ("name", "instead"), [f[1:] for f in FAILURES], ids=[f[0] for f in FAILURES]
)
def test_sums_that_fail_end_in_a_wait_that_says_so(monkeypatch, run, tmp_path, name, instead):
    monkeypatch.setattr(name, instead)
    with pytest.raises(FitError):
        fit_curve(known(*SLOWED), rng=np.random.default_rng(1))
    path = written(tmp_path / "fig.csv", *CLEAN)
    last = evening(CLEAN[-1]["day"] + 0.4).isoformat()
    code, out, err = run("verdict", str(path), "--json", "--at", last)
    found = json.loads(out)
    assert (code, err, found["verdict"], found["crossing"]) == (0, "", "wait", None)
    assert "no-curve" in [reason["code"] for reason in found["reasons"]]


@pytest.mark.parametrize(
    ("name", "instead", "word"),
    [
        ("bubblerate.ferment.fit.importance_draws", fifty_draws, "only 50 effective draws"),
        ("bubblerate.ferment.fit.importance_draws", heavy_draws, "a few draws weigh too much"),
    ],
    ids=["few draws", "heavy draws"],
)
def test_sums_in_doubt_say_so_and_say_no_go_alone(monkeypatch, name, instead, word):
    monkeypatch.setattr(name, instead)
    judged = judge(diary(*CLEAN), at=evening(18.4))
    assert judged.forecast is not None
    assert word in judged.forecast.distrust
    assert judged.verdict.answer == "wait"


def test_counts_that_fit_no_curve_leave_no_trust_in_it():
    judged = judge(diary(*nightly(*[10**6] * 8)), at=evening(8))
    assert judged.forecast is not None
    assert judged.forecast.distrust == "most of the counts fit no curve"


ORIGIN = Modes(at=np.zeros((1, 2)), log_density=np.zeros(1), covariance=np.eye(2)[None])


def test_draws_where_the_density_is_nowhere_finite_are_refused():
    with pytest.raises(ArithmeticError, match="finite at none"):
        importance_draws(
            lambda theta: np.full(len(theta), -np.inf), ORIGIN, rng=np.random.default_rng(1)
        )


def test_draws_that_are_impossible_are_left_out():
    def half(theta):
        return np.where(theta[:, 0] > 0.0, -0.5 * np.sum(theta**2, axis=1), -np.inf)

    draws, _ = importance_draws(half, ORIGIN, rng=np.random.default_rng(1))
    assert np.all(draws.theta[:, 0] > 0.0)
    # mean of a half normal: sqrt(2 / pi)
    assert draws.weights @ draws.theta[:, 0] == pytest.approx(np.sqrt(2.0 / np.pi), abs=0.06)


def test_a_threshold_at_either_end_of_what_may_be_asked_is_answered():
    for per_min in (0.001, 1000.0):
        judged = judge(
            diary(*CLEAN), at=evening(18.4), settings=Settings(threshold_per_min=per_min)
        )
        assert not [*faults(judged)]
        assert judged.verdict.answer == "wait"
