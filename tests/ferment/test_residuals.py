from dataclasses import replace

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from scipy.stats import kstest, nbinom, norm

from bubblerate.diary.reading import read
from bubblerate.errors import InputError
from bubblerate.ferment.fit import fit_curve
from bubblerate.ferment.residuals import residuals
from bubblerate.ferment.sampling import Draws
from bubblerate.show.pictures.residuals import plot_residuals, save_residuals

from drawings import handle, judged, labels
from scenes import EXAMPLES, diary, known


@pytest.fixture(scope="module")
def damson():
    return judged(read(EXAMPLES / "damson.csv"))


@pytest.fixture(scope="module")
def one_draw():
    """A fit of which only one draw is left: its prediction is a plain negative binomial."""
    found = fit_curve(
        known(*({"day": d, "bubbles": 40 - 2 * d} for d in range(18))),
        rng=np.random.default_rng(1),
    )
    best = int(np.argmax(found.draws.weights))
    draws = Draws(theta=found.draws.theta[[best]], weights=np.ones(1))
    return replace(found, draws=draws)


def axes(judgement) -> Axes:
    ax = Figure().subplots()
    assert plot_residuals(judgement, ax) is ax
    return ax


def test_ends_are_those_of_the_negative_binomial_of_another_library(one_draw):
    found = residuals(one_draw, rng=np.random.default_rng(2))
    c = one_draw.curve
    mean = np.exp(c.log_per_min(one_draw.tail.days))[0]
    size = float(c.overdispersion[0, 0]) ** -2
    n = one_draw.tail.bubbles
    p = size / (size + mean)
    assert norm.cdf(found.high) == pytest.approx(nbinom.cdf(n, size, p), abs=1e-9)
    assert norm.cdf(found.low) == pytest.approx(nbinom.cdf(n - 1, size, p), abs=1e-9)


def test_a_score_lies_between_what_the_whole_count_leaves_open(damson):
    found = residuals(damson.fit, rng=np.random.default_rng(1))
    assert np.all((found.low <= found.score) & (found.score <= found.high))
    none = damson.tail.bubbles == 0
    assert none.any()
    assert np.all(found.low[none] < -6.0)  # nothing lies below a count of none


def test_scores_of_counts_that_the_curve_made_are_standard_normal(one_draw):
    c, rng = one_draw.curve, np.random.default_rng(3)
    tail = one_draw.tail
    mean, size = np.exp(c.log_per_min(tail.days))[0], float(c.overdispersion[0, 0]) ** -2
    scores = []
    for _ in range(50):
        drawn = rng.negative_binomial(size, size / (size + mean)).astype(float)
        seen = replace(one_draw.evidence, tail=replace(tail, bubbles=drawn))
        scores.append(residuals(replace(one_draw, evidence=seen), rng=rng).score)
    assert kstest(np.concatenate(scores), "norm").pvalue > 0.01


def test_a_digit_too_many_is_marked_as_a_slip_and_stands_at_the_edge():
    rows = [{"day": d, "bubbles": round(60 * 0.9**d)} for d in range(20)]
    rows[12]["bubbles"] = 1700
    ax = axes(judged(diary(*rows)))
    (x,) = handle(ax, "likely a mistake").get_xdata()
    assert x == pytest.approx(handle(ax, "counted").get_xdata()[11] + 1.0)
    assert [line.get_xdata()[0] for line in ax.lines if line.get_marker() == "^"] == [x]


def test_what_hardly_weighs_is_open(damson):
    ax = axes(damson)
    assert handle(ax, "cold or disturbed").get_markerfacecolor() == "white"
    shown = sum(len(handle(ax, name).get_xdata()) for name in labels(ax)[-2:])
    assert shown == len(damson.tail)


def test_bands_hold_what_they_say_of_a_normal(damson):
    ax = axes(damson)
    for share in (80, 95):
        (low, *_, high) = sorted(handle(ax, f"should hold {share} %").get_corners()[:, 1])
        assert norm.cdf(high) - norm.cdf(low) == pytest.approx(share / 100)


def test_drawing_again_gives_the_same_marks(damson):
    one, other = (handle(axes(damson), "counted").get_xydata() for _ in range(2))
    np.testing.assert_array_equal(one, other)


def test_without_a_fit_there_is_no_picture_but_a_line(tmp_path):
    few = judged(diary({"day": 0, "bubbles": 9}, {"day": 1, "bubbles": 8}))
    assert len(axes(few).lines) == 1
    with pytest.raises(InputError, match="fig: too few counts since its peak"):
        save_residuals(few, tmp_path / "a.png")
