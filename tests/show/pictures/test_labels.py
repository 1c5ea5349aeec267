import numpy as np
import pytest
from matplotlib.figure import Figure

from bubblerate.show.pictures.labels import Labels
from bubblerate.show.pictures.page import page


@pytest.fixture
def ax():
    with page(9, 3) as figure:
        found = figure.add_axes((0.1, 0.1, 0.8, 0.8))
        found.set_xlim(0.0, 10.0)
        found.set_ylim(0.0, 10.0)
        yield found


def box(text):
    return text.get_window_extent().transformed(text.axes.transData.inverted())


def test_an_upright_line_is_named_high_on_its_right(ax):
    ax.axvline(4.0)
    found = box(Labels(ax).beside_upright(4.0, "today"))
    assert found.x0 > 4.0
    assert found.y0 > 8.0


def test_near_the_right_edge_or_beside_a_curve_it_is_named_on_the_left(ax):
    ax.axvline(9.9)
    found = box(Labels(ax).beside_upright(9.9, "today"))
    assert found.x1 < 9.9
    ax.axvline(4.0)
    for y in np.linspace(0, 10, 30):
        ax.plot([4.2, 9.0], [y, y])
    assert box(Labels(ax).beside_upright(4.0, "today")).x1 < 4.0


def test_a_level_line_is_named_where_no_curve_is(ax):
    ax.axhline(5.0)
    ax.plot([0.0, 6.0], [5.2, 5.6])
    found = box(Labels(ax).along_level(5.0, "threshold"))
    assert found.x0 > 6.0 or found.y1 < 5.2


def test_where_long_words_find_no_room_the_short_ones_are_taken(ax):
    ax.axhline(5.0)
    for x in (2.0, 4.0, 6.0, 9.9):
        ax.axvline(x)
    said = Labels(ax).along_level(5.0, "threshold, one bubble a minute or so", "threshold")
    assert said.get_text() == "threshold"


def test_words_do_not_lie_on_each_other_and_a_mark_may_go_unnamed(ax):
    ax.plot([5.0, 5.1], [5.0, 5.0], "o")
    labels = Labels(ax)
    first, second = labels.by_mark(5.0, 5.0, "1.020 read"), labels.by_mark(5.1, 5.0, "1.010 read")
    assert not box(first).overlaps(box(second))
    for y in np.linspace(0, 10, 60):
        ax.axhline(y)
    assert Labels(ax).by_mark(5.0, 5.0, "1.020 read", must=False) is None


def test_words_stay_on_the_panel():
    ax = Figure(figsize=(3, 2)).subplots()
    ax.plot([1.0, 2.0], [1.0, 2.0])
    low, high = ax.get_xlim()
    for x in (low, high):
        found = box(Labels(ax).by_mark(x, 1.0, "a mark at the edge"))
        assert low <= found.x0
        assert found.x1 <= high
