from itertools import pairwise

import pytest
from matplotlib.lines import Line2D

from bubblerate.show.pictures.layout import panels, settle
from bubblerate.show.pictures.page import page

KEY = ("threshold, 1.0 a minute", "forecast, usual warmth", "none counted", "counted")


def boxes(figure):
    """What stands on a page, from the top: title, panels with all their words, key."""
    figure.draw_without_rendering()
    shown = [figure._suptitle, *figure.axes, *figure.legends]
    return [
        one.get_tightbbox() if hasattr(one, "lines") else one.get_window_extent() for one in shown
    ]


@pytest.mark.parametrize("width_cm", [9, 16, 19])
@pytest.mark.parametrize("heights", [[2.0], [2.0, 1.0]])
def test_title_panels_and_key_stay_on_the_page_and_off_each_other(width_cm, heights):
    with page(width_cm, 3) as figure:
        rows = panels(figure, heights, shared=True)
        for label in KEY:
            rows[0][0].plot([1e-4, 2], label=label)
        rows[-1][0].set_xlabel("days")
        rows[0][0].set_ylabel("bubbles a minute")
        settle(figure, rows, "the vessel with a name of " + "very " * 9 + "many words\nand more")
        found = boxes(figure)
        assert all(box.x0 >= 0 and box.x1 <= figure.bbox.x1 for box in found)
        assert all(box.y0 >= 0 and box.y1 <= figure.bbox.y1 for box in found)
        for above, below in pairwise(found):
            assert below.y1 <= above.y0 + 1.0


@pytest.mark.parametrize("columns", [1, 3])
def test_panels_have_the_size_asked_for_and_fill_the_width(columns):
    with page(19, 9) as figure:
        rows = panels(figure, [1.5, 0.5], columns)
        settle(figure, rows, "a title", key=False)
        for row, height in zip(rows, (1.5, 0.5), strict=True):
            assert len(row) == columns
            for ax in row:
                assert ax.get_window_extent().height / figure.dpi == pytest.approx(height)
        assert 0.9 * figure.bbox.x1 < rows[0][-1].get_window_extent().x1 <= figure.bbox.x1


def test_a_line_of_a_title_that_is_too_long_ends_first_at_its_tab():
    for width_cm, shown in ((19, "one part and another"), (3, "one part and\nanother")):
        with page(width_cm, 2) as figure:
            settle(figure, panels(figure, [1.0]), "one part and\tanother", key=False)
            assert figure.get_suptitle() == shown


def test_what_belongs_to_a_mark_lies_under_it_in_the_key_and_has_no_entry():
    with page(9, 2) as figure:
        rows = panels(figure, [1.0])
        rows[0][0].fill_between([0, 1], [0, 1], label="_curve")
        rows[0][0].plot([0, 1], label="curve")
        settle(figure, rows, "")
        (key,) = figure.legends
        assert [text.get_text() for text in key.get_texts()] == ["curve"]
        assert len(key.get_patches()) == 1
        assert len(key.findobj(Line2D)) == 1
