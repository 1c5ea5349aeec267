import xml.etree.ElementTree as ET
from dataclasses import replace as changed

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from bubblerate.errors import InputError
from bubblerate.shelf.coverage import in_hindsight
from bubblerate.show.pictures.backtest import plot_coverage, plot_errors, save_backtest

from hindsight import asked, vessel


def errors_axes(*evenings) -> Axes:
    ax = Figure().subplots()
    assert plot_errors(evenings, ax) is ax
    return ax


def marks(ax: Axes) -> set[tuple[float, float]]:
    return {
        (round(float(x), 3), round(float(y), 3))
        for line in ax.lines[:-1]
        if line.get_marker() in {"o", "^", "v"}
        for x, y in line.get_xydata()
    }


def test_each_evening_stands_at_its_lead_and_its_error():
    ax = errors_axes(asked(6, error=1), asked(2, error=-0.5))
    assert {(6.0, 1.0), (2.0, -0.5)} <= marks(ax)


def test_time_runs_to_the_right_to_the_fall():
    low, high = errors_axes(asked(6), asked(20)).get_xlim()
    assert low > 20 > 0.5 > high > 0


def test_bars_are_the_eighty_per_cent_interval():
    (bars,) = errors_axes(asked(6, error=1, reach=1.5)).collections
    (bar,) = bars.get_segments()  # type: ignore[attr-defined]
    assert bar[:, 1] == pytest.approx([-0.5, 2.5])


def test_what_held_and_what_did_not_differ_without_colour():
    ax = errors_axes(asked(6), asked(5, error=3))
    handles, labels = ax.get_legend_handles_labels()
    fills = {label: line.get_markerfacecolor() for label, line in zip(labels, handles, strict=True)}  # type: ignore[attr-defined]
    assert fills["it did not"] == "white"
    assert fills["80 % interval held the day"] != "white"


def test_dates_that_were_not_given_stand_at_the_edge():
    far = changed(asked(6), low80=None, median=None, high80=None, high95=None)
    ax = errors_axes(asked(6), far)
    edge = max(y for _, y in marks(ax))
    assert edge == pytest.approx(ax.get_ylim()[1] / 1.04)
    assert np.isfinite(ax.get_ylim()).all()


def test_only_dates_that_were_not_given_can_be_drawn():
    far = changed(asked(6), low95=None, low80=None, median=None, high80=None, high95=None)
    assert np.isfinite(errors_axes(far).get_ylim()).all()


def test_shares_stand_over_their_leads_beside_what_is_stated():
    found = in_hindsight([vessel("fig", asked(2)), vessel("pear", asked(2, error=5), asked(9))])
    ax = Figure().subplots()
    assert plot_coverage(found.rows, ax) is ax
    handles, labels = ax.get_legend_handles_labels()
    shown = dict(zip(labels, handles, strict=True))
    assert shown["80 % interval, seen"][0].get_ydata().tolist() == [1.0, 0.5]  # longest lead first
    assert shown["80 % stated"].get_ydata()[0] == 0.8
    assert [text.get_text() for text in ax.get_xticklabels()] == [
        "7-15 d\n1 vessel",
        "1-3 d\n2 vessels",
    ]


@pytest.mark.parametrize("suffix", [".png", ".svg", ".pdf"])
def test_the_picture_is_saved_without_a_warning(tmp_path, suffix):
    found = in_hindsight([vessel("fig", asked(2), asked(1, error=4), asked(9, error=-30))])
    assert save_backtest(found, tmp_path / f"trust{suffix}").stat().st_size > 1000


def test_the_title_says_how_much_it_rests_on(tmp_path):
    found = in_hindsight([vessel("fig", asked(2), asked(1)), vessel("pear", asked(1))])
    path = save_backtest(found, tmp_path / "trust.svg")
    ET.parse(path)
    assert "2 vessels, 3 evenings" in path.read_text(encoding="utf-8")


def test_another_suffix_is_refused(tmp_path):
    with pytest.raises(InputError, match="a picture ends in"):
        save_backtest(in_hindsight([vessel("fig", asked(2))]), tmp_path / "trust.doc")
