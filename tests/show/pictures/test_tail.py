import ast
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from functools import cache
from pathlib import Path

import matplotlib.dates as mdates
import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

import bubblerate
from bubblerate.course.judgement import Judgement, judge
from bubblerate.diary.reading import read
from bubblerate.errors import InputError
from bubblerate.show.pictures import tail as module
from bubblerate.show.pictures.gravity import plot_gravity
from bubblerate.show.pictures.page import picture_bytes
from bubblerate.show.pictures.residuals import plot_residuals
from bubblerate.show.pictures.shelf import save_shelf
from bubblerate.show.pictures.tail import plot_tail, save_tail

from drawings import handle, judged, labels
from scenes import EXAMPLES, diary

TINY = {
    "nothing": diary(),
    "one count": diary({"day": 0, "bubbles": 9}),
    "one zero": diary({"day": 0, "bubbles": 0}),
    "zeros only": diary(*({"day": d, "bubbles": 0, "seconds": 300.0} for d in range(5))),
    "gravity only": diary({"day": 0, "sg": 1.08}, {"day": 20, "sg": 1.002}),
    "an event only": diary({"day": 0, "event": "pitched"}),
    "two rows at once": diary({"day": 0, "bubbles": 9}, {"day": 0, "bubbles": 8}),
}


@cache
def example(name: str) -> Judgement:
    return judged(read(EXAMPLES / f"{name}.csv"))


@pytest.fixture
def quince() -> Judgement:
    return example("quince")


@pytest.fixture
def mead() -> Judgement:
    return example("chestnut-honey-mead")


def tail_axes(judgement: Judgement, **options) -> Axes:
    ax = Figure().subplots()
    assert plot_tail(judgement, ax, **options) is ax
    return ax


def points(container) -> dict[float, float]:
    """What an errorbar shows, by time."""
    return dict(container[0].get_xydata().tolist())


def reach(container) -> list[tuple[float, float]]:
    """Lower and upper end of each bar."""
    return [(path[0][1], path[1][1]) for path in container[2][0].get_segments()]


def texts(ax: Axes) -> list[str]:
    return [text.get_text() for text in ax.texts]


# --- the counts ----------------------------------------------------------------------------------


def test_every_axis_says_what_it_shows_and_in_what_unit(quince):
    assert tail_axes(quince).get_ylabel() == "bubbles a minute"
    assert plot_gravity(quince, Figure().subplots()).get_ylabel() == "gravity, SG"


def test_every_live_count_is_drawn_once_and_no_struck_one(quince):
    ax, drawn = tail_axes(quince), {}
    for label in labels(ax):
        if label.startswith(("counted", "none", "cold")):
            drawn |= points(handle(ax, label))
    counted = [v for v in quince.diary.live if v.bubbles is not None]
    assert sorted(drawn) == pytest.approx(mdates.date2num([v.when for v in counted]))
    assert max(drawn.values()) < 31.0  # the struck row
    for visit in counted:
        if visit.bubbles:
            assert drawn[float(mdates.date2num(visit.when))] == pytest.approx(visit.per_min)


def test_bars_are_the_exact_limits_of_a_poisson_count():
    # Garwood's 80 % limits after a count of 10 are half of two quantiles of chi-squared, printed in
    # any table: 0.10 at 20 degrees of freedom, 12.443, and 0.90 at 22, 30.813 (from memory).
    # After a count of 0 the upper one is log(10), since exp(-log(10)) = 0.10.
    rows = ({"day": d, "bubbles": n} for d, n in enumerate((10, 10, 10, 0)))
    ax = tail_axes(judged(diary(*rows)), axis="linear")
    assert reach(handle(ax, "counted"))[0] == pytest.approx((12.443 / 2, 30.813 / 2), abs=1e-3)
    assert reach(handle(ax, "none counted"))[0] == pytest.approx((0.0, np.log(10)), abs=1e-9)


def test_a_count_of_none_stands_at_the_foot_of_a_log_axis_as_a_triangle():
    zero = {"day": 44, "bubbles": 0, "seconds": 300.0}
    rows = ({"day": d, "bubbles": 40 - 2 * d} for d in range(0, 20, 2))
    ax = tail_axes(judged(diary(*rows, zero)))
    marks = handle(ax, "none counted")
    assert marks[0].get_marker() == "^"
    assert [*points(marks).values()] == [pytest.approx(ax.get_ylim()[0])]
    assert reach(marks)[0][1] == pytest.approx(np.log(10) / 5.0)  # what five silent minutes allow


def test_counts_before_the_tail_are_drawn_apart(quince):
    ax = tail_axes(quince)
    assert quince.tail is not None
    start = float(mdates.date2num(quince.tail.start))
    assert max(points(handle(ax, "counted, earlier"))) < start
    assert min(points(handle(ax, "counted"))) == pytest.approx(start)


def test_the_threshold_is_a_line_right_across_named_at_the_line(quince):
    ax = tail_axes(quince)
    assert [1.0, 1.0] in [[*line.get_ydata()] for line in ax.lines if [*line.get_xdata()] == [0, 1]]
    (name,) = (text for text in ax.texts if text.get_text().startswith("threshold"))
    at = ax.transAxes.inverted().transform(
        ax.transData.transform((mdates.date2num(quince.tail.start), 1.0))
    )
    assert abs(name.get_position()[1] - at[1]) < 0.1
    other = judge(quince.diary, at=quince.verdict.asked_at, threshold_per_min=0.5)
    assert "threshold, 0.50 a minute" in texts(tail_axes(other))


@pytest.mark.parametrize("axis", ["log", "linear"])
def test_the_rate_is_drawn_to_the_scale_asked_for(quince, axis):
    ax = tail_axes(quince, axis=axis)
    assert ax.get_yscale() == axis
    assert (ax.get_ylim()[0] == 0.0) == (axis == "linear")
    rates = [v.per_min for v in quince.diary.live if v.per_min]
    assert ax.get_ylim()[0] < min(rates)
    assert ax.get_ylim()[1] > max(rates)


# --- the forecast --------------------------------------------------------------------------------


def test_the_window_of_the_crossing_lies_on_the_threshold(mead):
    ax = tail_axes(mead)
    assert mead.forecast is not None
    crossing = mead.forecast.crossing
    days, rates = handle(ax, "falls below, 80 and 95 %").get_data()
    assert [*days] == pytest.approx(mdates.date2num([crossing.low80, crossing.high80]))
    assert [*rates] == [1.0, 1.0]
    ticks = [line for line in ax.lines if line.get_marker() == "|"]
    assert [line.get_xdata()[0] for line in ticks] == [mdates.date2num(crossing.median)]


def test_the_fit_runs_on_past_the_last_count_with_both_bands(mead):
    ax = tail_axes(mead)
    assert {"curve, 50 and 80 %", "forecast, usual warmth"} <= {*labels(ax)}
    bands = [band.get_label() for band in ax.collections]
    assert bands.count("_curve, 50 and 80 %") == 2
    last = mdates.date2num(mead.diary.live[-1].when)
    assert handle(ax, "curve, 50 and 80 %").get_xdata().max() == pytest.approx(last)
    expected = handle(ax, "forecast, usual warmth")
    assert expected.get_xdata().min() == pytest.approx(last)
    per_min = expected.get_ydata()
    assert np.all(np.diff(per_min) < 0.0)
    assert per_min[-1] < 0.5 * per_min[0]


def test_before_a_fit_the_rates_of_other_ferments_are_drawn_from_the_last_count_on():
    young = judged(
        diary(
            {"day": -2.0, "event": "pitched", "sg": 1.085, "litres": 4.5},
            *({"day": d, "bubbles": n} for d, n in enumerate((4, 15, 22))),
        )
    )
    ax = tail_axes(young)
    assert "forecast, by other ferments" in labels(ax)
    assert "curve, 50 and 80 %" not in labels(ax)
    last = mdates.date2num(young.diary.live[-1].when)
    assert handle(ax, "forecast, by other ferments").get_xdata().min() == pytest.approx(last)


def test_the_picture_reaches_from_the_first_row_to_the_end_of_the_window(mead):
    low, high = tail_axes(mead).get_xlim()
    assert mead.forecast is not None
    assert low < mdates.date2num(mead.diary.live[0].when)
    assert high > mdates.date2num(mead.forecast.crossing.high95)


@pytest.mark.parametrize("latest_days", [50.0, 90.0])
def test_a_window_too_wide_does_not_crush_the_counts(latest_days):
    young = judged(diary(*({"day": d, "bubbles": n} for d, n in enumerate((20, 22, 19, 20)))))
    assert young.forecast is not None
    crossing = replace(young.forecast.crossing, draws=np.linspace(1.0, latest_days, 9))
    wide = replace(young, forecast=replace(young.forecast, crossing=crossing))
    low, high = tail_axes(wide).get_xlim()
    assert high - low < 3.0 * 4.0


def test_too_few_counts_are_drawn_without_a_fit_or_a_window():
    found = labels(tail_axes(judged(diary({"day": 0, "bubbles": 9}, {"day": 1, "bubbles": 8}))))
    assert found == ["counted"]


# --- events and gravity --------------------------------------------------------------------------


def test_events_are_named_where_they_happened_and_readings_are_not():
    known = read(EXAMPLES / "medlar.csv")
    ax = tail_axes(judged(known))
    assert texts(ax)[:4] == ["pitched", "racked", "clear", "still"]
    racked = next(v.when for v in known.live if v.event == "racked")
    assert ax.texts[1].xy[0] == pytest.approx(mdates.date2num(racked))  # type: ignore[attr-defined]


def test_gravity_is_drawn_corrected_with_the_finish_expected_and_forecast(quince):
    warm = replace(quince.diary.visits[-1], sample_c=30.0)
    known = replace(quince.diary, visits=(*quince.diary.visits[:-1], warm))
    judgement = judged(known)
    ax = plot_gravity(judgement, Figure(figsize=(8, 4)).subplots())
    assert judgement.gravity is not None
    (marks,) = (line for line in ax.lines if line.get_marker() == "D")
    read_off = [*marks.get_ydata()]
    assert read_off == [reading.sg for reading in judgement.gravity.readings]
    assert read_off[-1] > warm.sg + 0.001  # read 0.996 in a warm, thin sample
    assert [0.996, 0.996] in [[*line.get_ydata()] for line in ax.lines]
    said = {"today", "finish, as you set it", "forecast, 80 %", "by fit, 80 %"}
    assert {*texts(ax)} == said | {"1.086 read", "0.997 read", "0.998 read"}


def test_a_finish_nobody_named_is_called_likely_and_a_leak_forecasts_none():
    known = replace(read(EXAMPLES / "russet-cider.csv"), vessel="other")
    ax = plot_gravity(judged(known), Figure(figsize=(8, 4)).subplots())
    assert [text for text in texts(ax) if "read" not in text] == ["today", "finish, likely"]


# --- today, and how counts take part -------------------------------------------------------------


def test_today_is_a_line_with_its_name_on_both_panels(quince):
    for ax in (tail_axes(quince), plot_gravity(quince, Figure().subplots())):
        asked_at = float(mdates.date2num(quince.verdict.asked_at))
        assert asked_at in [line.get_xdata()[0] for line in ax.lines if len(line.get_xdata()) == 2]
        assert texts(ax).count("today") == 1


@pytest.mark.parametrize("name", ["sloe", "quince"])
def test_the_same_counts_weigh_little_in_the_tail_and_in_the_residuals(name):
    judgement = example(name)
    open_marks = []
    for ax in (tail_axes(judgement), plot_residuals(judgement, Figure().subplots())):
        marks = (line for line in ax.lines if line.get_marker() in ("o", "^"))
        hollow = (line for line in marks if line.get_markerfacecolor() == "white")
        open_marks.append(sorted(x for line in hollow for x in line.get_xdata()))
    assert len(open_marks[0]) > 0
    assert open_marks[0] == pytest.approx(open_marks[1])


def test_a_likely_slip_is_crossed_and_named_at_the_mark():
    rows = [{"day": d, "bubbles": round(60 * 0.9**d)} for d in range(24)]
    rows[15]["bubbles"] = 130
    ax = tail_axes(judged(diary(*rows)))
    (slip,) = (line for line in ax.lines if line.get_marker() == "X")
    assert [*slip.get_ydata()] == [130.0]
    assert "likely a mistake" in texts(ax)
    assert "likely a mistake" not in labels(ax)


def test_many_counts_taken_together_are_each_what_their_neighbours_are():
    rows = ({"day": d / 20, "bubbles": round(60 * 0.9 ** (d / 20))} for d in range(500))
    ax = tail_axes(judged(diary(*rows)))
    drawn = [
        x for line in ax.lines if line.get_marker() in ("o", "^", "X") for x in line.get_xdata()
    ]
    assert len(drawn) == 500


# --- the whole picture ---------------------------------------------------------------------------


@pytest.fixture
def drawn(monkeypatch) -> list[Figure]:
    """Figures as they were saved."""
    kept: list[Figure] = []
    save = picture_bytes

    def keep(figure, *words, **options):
        kept.append(figure)
        return save(figure, *words, **options)

    monkeypatch.setattr(module, "picture_bytes", keep)
    return kept


def test_the_title_states_the_verdict_and_gravity_has_its_own_panel(quince, drawn, tmp_path):
    save_tail(quince, tmp_path / "a.png")
    (figure,) = drawn
    assert figure.get_suptitle() == (
        "quince fell below 1.0 a minute about 4 Nov (2 to 5 Nov).\n"
        "Rack it? Yes, by both bubbles and gravity. 14 Nov 2026 20:46"
    )
    assert [ax.get_ylabel() for ax in figure.axes] == ["bubbles a minute", "gravity, SG"]
    assert figure.axes[0].get_xlim() == figure.axes[1].get_xlim()
    save_tail(judged(diary({"day": 0, "bubbles": 9})), tmp_path / "b.png")
    assert len(drawn[1].axes) == 1


@pytest.mark.parametrize("name", ["chestnut-honey-mead", "perry-pear", "quince", "sloe"])
@pytest.mark.parametrize("width_cm", [9, 19])
def test_a_picture_has_seven_keys_at_most_and_nothing_is_cut_off(drawn, tmp_path, name, width_cm):
    save_tail(example(name), tmp_path / "a.png", width_cm=width_cm)
    (figure,) = drawn
    shown = [figure._suptitle, *figure.legends, *(t for ax in figure.axes for t in ax.texts)]
    for box in (one.get_window_extent() for one in shown):
        assert figure.bbox.x0 <= box.x0 <= box.x1 <= figure.bbox.x1
        assert figure.bbox.y0 <= box.y0 <= box.y1 <= figure.bbox.y1
    keys = [text.get_text() for legend in figure.legends for text in legend.get_texts()]
    assert len(keys) == len({*keys}) <= 7


@pytest.mark.parametrize("axis", ["log", "linear"])
@pytest.mark.parametrize("what", TINY)
def test_a_tiny_diary_is_drawn_without_complaint(tmp_path, what, axis):
    judgement = judged(TINY[what], day=22)
    path = save_tail(judgement, tmp_path / "tiny.png", axis=axis)
    assert path.read_bytes().startswith(b"\x89PNG")


def test_a_picture_can_be_svg_or_pdf_whatever_the_case_of_the_suffix(quince, tmp_path):
    svg = save_tail(quince, tmp_path / "a.svg")
    assert ET.parse(svg).getroot().tag.endswith("svg")
    assert save_tail(quince, str(tmp_path / "a.PDF")).read_bytes().startswith(b"%PDF")


def test_a_dollar_in_a_name_is_no_formula(quince, tmp_path, drawn):
    odd = replace(quince, verdict=replace(quince.verdict, vessel="x$^$"))
    save_tail(odd, tmp_path / "a.svg")
    assert drawn[0].get_suptitle().startswith("x$^$ fell below")


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("a.gif", "a.gif: a picture ends in .png, .svg, .pdf"),
        ("a", "a: a picture ends in"),
        ("nowhere/a.png", "cannot be written: No such file or directory"),
        ("folder.png", "is a folder; name a file in it"),
    ],
)
def test_a_picture_that_cannot_be_saved_is_refused_in_one_line(quince, tmp_path, name, words):
    (tmp_path / "folder.png").mkdir()
    with pytest.raises(InputError, match=re.escape(words)) as caught:
        save_tail(quince, tmp_path / name)
    assert "\n" not in str(caught.value)


def test_drawing_again_gives_the_same_picture(mead):
    first, second = tail_axes(mead), tail_axes(mead)
    assert first.get_xlim() == second.get_xlim()
    assert labels(first) == labels(second)
    for one, other in zip(first.lines, second.lines, strict=True):
        np.testing.assert_array_equal(one.get_xydata(), other.get_xydata())


def test_pyplot_is_named_only_where_a_caller_gives_no_axes():
    named = set()
    for path in Path(bubblerate.__file__).parent.rglob("*.py"):
        names = {n.name for n in ast.walk(ast.parse(path.read_text())) if isinstance(n, ast.alias)}
        if any("pyplot" in name for name in names):
            named.add(path.name)
    assert named == {"page.py"}


@pytest.mark.parametrize("vessel", ["梅酒", "айва", "ρόδι", "quince \u200b"])
def test_a_name_in_any_letters_is_drawn_without_a_word_of_complaint(tmp_path, quince, vessel):
    named = replace(quince, verdict=replace(quince.verdict, vessel=vessel))
    save_tail(named, tmp_path / "tail.png")
    save_shelf([named], tmp_path / "shelf.png", vessels=1, at=quince.verdict.asked_at)
