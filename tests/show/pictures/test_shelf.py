import re
import weakref
import xml.etree.ElementTree as ET

import pytest
from matplotlib.figure import Figure

from bubblerate.diary.reading import read
from bubblerate.show.pictures.shelf import MOST_PANELS, plot_shelf, save_shelf

from drawings import judged
from scenes import EXAMPLES, diary, evening

ROWS = "when,bubbles\n" + "".join(f"2026-10-{d:02}T21:00Z,{30 - d}\n" for d in range(1, 4))


@pytest.fixture(scope="module")
def jars():
    return [judged(read(EXAMPLES / f"{name}.csv")) for name in ("quince", "sloe")]


def drawn_texts(path):
    """Comments in an SVG file hold the texts that are drawn as shapes."""
    ET.parse(path)
    return path.read_text(encoding="utf-8")


def test_each_vessel_has_its_panel_with_name_and_verdict(jars):
    axes = list(Figure(figsize=(9, 3)).subplots(1, 2))
    assert plot_shelf(jars, axes) is axes
    assert [ax.get_title(loc="left") for ax in axes] == ["quince: GO", "sloe: WAIT"]
    for ax, days in zip(
        axes, (r"below 1\.0/min \d+ days ago", r"below 1\.0/min in \d+ days?"), strict=True
    ):
        names = ax.get_legend_handles_labels()[1]
        assert {"counted", "curve, 50 and 80 %", "falls below, 80 and 95 %"} <= {*names}
        told = {text.get_text() for text in ax.texts}
        assert {"today", "threshold"} <= told
        assert any(re.fullmatch(days, one) for one in told)
        assert ax.get_yscale() == "log"


def test_a_long_name_is_cut_and_the_verdict_is_not():
    named = judged(diary({"day": 0, "bubbles": 9}, vessel="the one behind the " + "old " * 9))
    (ax,) = plot_shelf([named], [Figure(figsize=(3, 2)).subplots()])
    assert ax.get_title(loc="left").endswith("..: WAIT")


def test_bottled_wine_is_called_so():
    rows = ({"day": 0, "bubbles": 9}, {"day": 60, "event": "bottled"})
    (ax,) = plot_shelf([judged(diary(*rows))], [Figure().subplots()])
    assert ax.get_title(loc="left") == "fig: bottled"


def test_judgements_are_held_one_at_a_time():
    draws = []

    def made():
        for name in ("quince", "sloe", "medlar"):
            assert sum(one() is not None for one in draws) <= 1
            found = judged(read(EXAMPLES / f"{name}.csv"))
            draws.append(weakref.ref(found.fit.draws.theta))
            yield found

    plot_shelf(made(), list(Figure().subplots(1, 3)))
    assert len(draws) == 3


@pytest.mark.parametrize("vessels", [1, 2, 5])
def test_no_panel_stands_empty(tmp_path, vessels):
    few = [judged(diary({"day": 0, "bubbles": 9}, vessel=f"jar {i}")) for i in range(vessels)]
    path = save_shelf(few, tmp_path / "a.svg", vessels=vessels, at=evening(0))
    assert drawn_texts(path).count(": WAIT") == vessels


def test_what_is_not_drawn_is_named(tmp_path, jars):
    left = [f"jar {i}" for i in range(20)]
    path = save_shelf(jars, tmp_path / "a.svg", vessels=2, at=evening(0), left_out=left)
    assert "2 of 22" in drawn_texts(path)
    assert "jar 11 and 8 more" in drawn_texts(path).replace(" -->\n", " ")


# --- the command ---------------------------------------------------------------------------------


@pytest.fixture
def clock():
    return lambda: evening(3)


@pytest.fixture
def folder(tmp_path):
    found = tmp_path / "shelf"
    found.mkdir()
    return found


def test_the_shelf_is_drawn_beside_its_table(run, folder, tmp_path):
    (folder / "fig.csv").write_text(ROWS)
    (folder / "odd.csv").write_text("when,bubbles\n2026-10-01T21:00,a few\n")
    path = tmp_path / "shelf.svg"
    said = run("shelf", "-o", str(path))
    assert said.code == 0
    assert said.out.splitlines()[-1] == f"Picture saved as {path}"
    assert "not drawn: odd" in drawn_texts(path)


def test_a_large_shelf_is_drawn_as_far_as_a_page_goes(run, folder, tmp_path):
    for i in range(MOST_PANELS + 2):
        (folder / f"jar {i:02}.csv").write_text("when,bubbles\n2026-10-01T21:00Z,9\n")
    said = run("shelf", "--csv", "-o", str(tmp_path / "a.svg"), "--width", "9")
    assert said.code == 0
    assert "saved" not in said.out  # a table for programs
    assert "Picture saved" in said.err
    text = drawn_texts(tmp_path / "a.svg")
    assert f"{MOST_PANELS} of {MOST_PANELS + 2}" in text
    assert text.count(": WAIT") == MOST_PANELS


def test_a_shelf_that_cannot_be_drawn_says_so_in_one_line(run, folder, tmp_path):
    said = run("shelf", "-o", str(tmp_path / "a.svg"))
    assert said.code == 2
    assert said.err.count("\n") == 1
    assert "no diary" in said.err
    assert "a picture ends in" in run("shelf", "-o", "a.gif").err


def test_residuals_are_drawn_at_the_width_asked_for(run, folder, tmp_path):
    (folder / "fig.csv").write_text(ROWS)
    path = tmp_path / "a.svg"
    said = run("plot", "fig", "--show", "residuals", "--width", "9", "-o", str(path))
    assert (said.code, said.out) == (0, f"fig: picture saved as {path}\n")
    points = ET.parse(path).getroot().get("width")
    assert float(points.removesuffix("pt")) == pytest.approx(9 / 2.54 * 72, abs=0.1)
    assert "'--width'" in run("plot", "fig", "--width", "3").err
