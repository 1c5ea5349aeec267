"""The public names as a user of pandas and notebooks meets them."""

import io
import re
from datetime import timedelta

import matplotlib as mpl
import matplotlib.pyplot as plt
import numpy as np
import pandas as pd
import pytest

import bubblerate
from bubblerate import BubbleRateError, Diary, Visit

from scenes import EXAMPLES, START

EXAMPLES_OF_ALL = "".join(
    found.__doc__ for found in (bubblerate, *(getattr(bubblerate, n) for n in bubblerate.__all__))
)


@pytest.fixture(scope="module")
def quince():
    return bubblerate.read(EXAMPLES / "quince.csv")


@pytest.fixture(scope="module")
def judged(quince):
    return bubblerate.judge(quince)


@pytest.fixture
def _closing():
    mpl.use("agg")
    yield
    plt.close("all")


@pytest.mark.parametrize("name", bubblerate.__all__)
def test_every_public_name_is_there_and_stands_in_an_example_that_runs(name):
    assert name in dir(bubblerate)
    assert ">>>" in getattr(bubblerate, name).__doc__ or re.search(
        rf">>> .*\bbubblerate\.{name}\b", EXAMPLES_OF_ALL
    )


def test_the_last_row_is_asked_about_unless_a_moment_is_given(quince, judged):
    assert judged.verdict.asked_at == quince.live[-1].when
    again = bubblerate.judge(quince, at=quince.live[-1].when)
    assert bubblerate.as_object(again) == bubblerate.as_object(judged)


@pytest.mark.parametrize(
    ("given", "advice"),
    [
        (pd.DataFrame({"when": []}), "not a DataFrame; make one of it: Diary.from_frame(frame, ve"),
        ("quince.csv", "not a str; read it: bubblerate.read(path)"),
        (EXAMPLES / "quince.csv", "read it: bubblerate.read(path)"),
        (None, "not a NoneType; give what bubblerate.read"),
        (
            Diary(path=EXAMPLES, vessel="fig", visits=()),
            "nothing has been written down yet; say the mo",
        ),
    ],
)
def test_what_is_no_diary_is_answered_with_one_sentence(given, advice):
    with pytest.raises(BubbleRateError) as refused:
        bubblerate.judge(given)
    assert advice in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_diary_alone_is_no_list_of_diaries(quince):
    with pytest.raises(BubbleRateError, match="give a list of diaries"):
        bubblerate.judge_many(quince)
    with pytest.raises(BubbleRateError, match="not a DataFrame"):
        bubblerate.judge_many([quince.to_frame()])


# --- draws ---------------------------------------------------------------------------------------


def test_draws_are_in_natural_units_and_weigh_one_in_all(judged):
    draws = judged.fit.to_frame()
    assert len(draws) == len(judged.fit.draws.weights)
    assert draws["weight"].sum() == pytest.approx(1.0)
    assert draws.notna().all(axis=None)
    assert (draws["rate_per_min"] > 0.0).all()
    mean = (draws["finish_sg"] * draws["weight"]).sum()
    assert mean == pytest.approx(0.996, abs=0.002)  # as its maker read at the end


def test_resampled_draws_weigh_the_same_and_tell_the_same(judged):
    draws, rows = judged.fit.to_frame(), judged.fit.resample(4000, seed=3)
    assert rows.shape == (4000, draws.shape[1] - 1)
    for name in rows:
        mean = (draws[name] * draws["weight"]).sum()
        spread = np.sqrt(((draws[name] - mean) ** 2 * draws["weight"]).sum())
        assert abs(rows[name].mean() - mean) < 0.05 * spread + 1e-9
    assert judged.fit.resample(9, seed=3).equals(judged.fit.resample(9, seed=3))
    with pytest.raises(ValueError, match="one draw or more"):
        judged.fit.resample(0)


def test_predicted_counts_hold_what_was_counted(quince):
    first = bubblerate.judge(quince, at=START + timedelta(days=24))
    later = [v for v in quince.live if v.bubbles is not None and v.when > first.verdict.asked_at]
    found = bubblerate.predict_counts(first.fit, [v.when for v in later], seconds=60.0, draws=2000)
    assert found.shape == (2000, len(later))
    low, high = found.quantile(0.025), found.quantile(0.975)
    per_min = np.array([v.per_min for v in later])
    assert np.mean((per_min >= low - 1.0) & (per_min <= high + 1.0)) > 0.8


@pytest.mark.parametrize(
    ("when", "more", "why"),
    [
        (START - timedelta(days=9), {}, "before the first count"),
        (START.replace(tzinfo=None), {}, "UTC offset"),
        (START + timedelta(days=50), {"seconds": 0.0}, "more than 0 s"),
        (START + timedelta(days=50), {"draws": 0}, "one draw or more"),
    ],
)
def test_what_cannot_be_predicted_is_refused(judged, when, more, why):
    with pytest.raises(ValueError, match=why):
        bubblerate.predict_counts(judged.fit, [when], **more)


def test_a_made_up_ferment_is_a_diary_and_its_truth():
    made = bubblerate.simulate("exponential", 2)
    assert made.csv == bubblerate.simulate("exponential", 2).csv
    assert made.diary.vessel == "exponential-2"
    assert bubblerate.judge(made.diary).forecast is not None
    with pytest.raises(ValueError, match="one of kinetic, two_sugars"):
        bubblerate.simulate("wild", 1)


# --- pictures ------------------------------------------------------------------------------------


@pytest.mark.usefixtures("_closing")
@pytest.mark.parametrize("plot", ["plot_tail", "plot_gravity", "plot_residuals"])
def test_a_picture_makes_its_own_axes_or_takes_those_given(judged, plot):
    draw = getattr(bubblerate, plot)
    own = draw(judged)
    assert own.figure is plt.gcf()
    _, ax = plt.subplots()
    assert draw(judged, ax) is ax


@pytest.mark.usefixtures("_closing")
@pytest.mark.parametrize("number", [1, 2, 5])
def test_a_shelf_makes_a_panel_for_each(judged, number):
    axes = bubblerate.plot_shelf([judged] * number)
    assert len(axes) == len(plt.gcf().axes) == number


@pytest.mark.parametrize(("form", "begins"), [("png", b"\x89PNG"), ("svg", b"<?xml")])
def test_a_picture_goes_into_an_open_file_too(judged, form, begins):
    kept = io.BytesIO()
    assert bubblerate.save_tail(judged, kept, form=form, width_cm=8) is None
    assert kept.getvalue().startswith(begins)
    assert not plt.get_fignums()  # nothing is left open


# --- what is shown -------------------------------------------------------------------------------


def test_what_is_shown_at_a_prompt_is_one_short_line(quince, judged):
    for value in (quince, judged, judged.fit, quince.visits[0]):
        assert len(repr(value)) < 150
        assert "\n" not in repr(value)
    assert repr(Visit(when=START, bubbles=0)) == (
        "Visit(when=2026-10-01T21:00:00+00:00, bubbles=0, seconds=60.0)"
    )


def test_what_a_notebook_shows_obeys_no_text_of_a_diary():
    bad = "<script>alert(1)</script>\x1b[31m"
    visits = tuple(
        Visit(when=START + timedelta(days=n), bubbles=20 - n, note=bad, event="tasted")
        for n in range(8)
    )
    diary = Diary(path=EXAMPLES / "x.csv", vessel=bad, visits=visits)
    for value in (diary, bubblerate.judge(diary)):
        for shown in (repr(value), value._repr_html_()):
            assert "\x1b" not in shown
        assert "<script" not in value._repr_html_()
    assert "pressure_hpa" not in diary._repr_html_()  # which holds nothing


@pytest.mark.parametrize("name", ["=1+1", "+fig", "@fig", "-fig", "fig\t=1", "fig\x1b[31m"])
def test_no_table_of_many_becomes_a_formula_or_moves_a_cursor(name, quince):
    visits = quince.visits[:6]
    jars = [Diary(path=EXAMPLES / "x.csv", vessel=name, visits=visits)]
    jars.append(bubblerate.Unread(vessel=name, error=f"{name}: torn"))
    for many in (bubblerate.judge_many, bubblerate.forecast_many):
        for line in many(jars).to_csv(index=False).splitlines()[1:]:
            assert "\x1b" not in line
            assert not re.search(r"(?:^|[,\"\t])[=+@-](?![0-9])", line), line
