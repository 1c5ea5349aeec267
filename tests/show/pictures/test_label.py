from dataclasses import replace
from itertools import pairwise

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from bubblerate.errors import InputError
from bubblerate.show.pictures import letters as lettering
from bubblerate.show.pictures.label import draw_label, save_label
from bubblerate.show.pictures.letters import fonts_for

from drawings import FULL_LABEL

LONG = "The very long name of a quince and medlar melomel from the end tree by the wall 2"
NAMES = ["quince", LONG, "x" * 80, "W" * 80, "Айва из сада бабушки", "Κυδώνι του κήπου", "a $5$ _b"]


def named(name):
    return replace(FULL_LABEL, name=name)


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_clipped_and_nothing_overlaps(name):
    figure = Figure(figsize=(90 / 25.4, 70 / 25.4))
    assert draw_label(named(name), figure) == ""
    renderer = FigureCanvasAgg(figure).get_renderer()
    boxes = [text.get_window_extent(renderer) for text in figure.texts]
    inside = figure.bbox.padded(-0.01 * figure.bbox.width)
    assert all(inside.x0 <= box.x0 and box.x1 <= inside.x1 for box in boxes)
    assert all(inside.y0 <= box.y0 and box.y1 <= inside.y1 for box in boxes)
    for above, below in pairwise(boxes):
        assert below.y1 <= above.y0 + 1.0  # a descender may touch


@pytest.mark.parametrize("name", NAMES)
def test_the_whole_name_is_drawn(name):
    figure = Figure(figsize=(90 / 25.4, 70 / 25.4))
    draw_label(named(name), figure)
    drawn = "".join(text.get_text() for text in figure.texts).replace(" ", "")
    assert drawn.startswith(name.replace(" ", ""))


def test_a_short_name_is_larger_than_a_long_one():
    sizes = []
    for name in ("quince", LONG):
        figure = Figure(figsize=(90 / 25.4, 70 / 25.4))
        draw_label(named(name), figure)
        sizes.append(figure.texts[0].get_fontsize())
    assert sizes[0] > sizes[1]


def test_letters_that_no_font_has_are_told_of_and_drawn_as_question_marks(monkeypatch):
    monkeypatch.setattr(lettering, "_installed", list)
    figure = Figure(figsize=(90 / 25.4, 70 / 25.4))
    assert draw_label(named("梅酒 梅 2026"), figure) == "梅酒"
    assert figure.texts[0].get_text() == "?? ? 2026"


def test_a_letter_that_the_first_font_lacks_is_looked_for_in_others():
    families, lacking = fonts_for("Айва", first="cmr10")  # comes with matplotlib, and is Latin
    assert lacking == ""
    assert families[0] == "cmr10"
    assert len(families) >= 2
    assert fonts_for("quince") == (["DejaVu Sans"], "")


@pytest.mark.parametrize(
    ("suffix", "head"), [("svg", b"<?xml"), ("pdf", b"%PDF"), ("png", b"\x89PNG")]
)
def test_a_label_is_saved(tmp_path, suffix, head):
    path, lacking = save_label(FULL_LABEL, tmp_path / f"label.{suffix}")
    assert path.read_bytes().startswith(head)
    assert lacking == ""


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("l.txt", r"l\.txt: a picture ends in \.png, \.svg, \.pdf"),
        ("no/l.svg", "cannot be written"),
    ],
)
def test_a_label_that_cannot_be_saved_is_one_line(tmp_path, name, message):
    with pytest.raises(InputError, match=message):
        save_label(FULL_LABEL, tmp_path / name)
