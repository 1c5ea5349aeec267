"""Sheets drawn: on one page if they nearly fit, on several if not."""

import pytest

from bubblerate.errors import InputError
from bubblerate.show.blocks import Banner, Boxes, Grid, Heading, Line, Pairs, Paper
from bubblerate.show.pictures.paper import draw_paper, save_paper

BLOCKS = (
    Heading("First"),
    Line("A line with a $ that is no formula.", small=True),
    Banner("Not tonight."),
    Boxes(("torch",)),
    Pairs((("wine", "plum"),)),
    Grid(("jar", "left"), (("plum", "6"), ("", "")), (1, 2)),
)


def words(page):
    return [text.get_text() for text in page.texts]


def test_all_words_of_a_sheet_are_on_its_page():
    (page,), lacking = draw_paper(Paper(title="plum", blocks=BLOCKS))
    assert lacking == ""
    for word in ("plum", "First", "Not tonight.", "torch", "jar", "6"):
        assert word in words(page)


def test_nothing_is_drawn_outside_the_margins():
    long = " ".join(["word"] * 300) + "w" * 300
    pages, _ = draw_paper(Paper(title=long, blocks=(Line(long), Boxes((long,)))))
    for page in pages:
        for text in page.texts:
            x, y = text.get_position()
            assert 0.0 < x < 0.95
            assert 0.0 < y < 1.0


def test_a_sheet_that_nearly_fits_is_set_smaller_and_one_that_does_not_takes_more_pages():
    lines = tuple(Line(f"line {n}") for n in range(58))
    assert len(draw_paper(Paper(title="plum", blocks=lines))[0]) == 1
    many = tuple(Line(f"line {n}") for n in range(160))
    pages, _ = draw_paper(Paper(title="plum", blocks=many))
    assert len(pages) > 1
    assert f"1 of {len(pages)}" in words(pages[0])
    assert {f"line {n}" for n in range(160)} <= {word for page in pages for word in words(page)}


def test_a_table_over_two_pages_repeats_its_head():
    grid = Grid(("jar", "left"), tuple((f"jar {n}", "6") for n in range(90)), (1, 1))
    pages, _ = draw_paper(Paper(title="plum", blocks=(grid,)))
    assert all("left" in words(page) for page in pages)


def test_a_pdf_holds_all_pages_and_a_picture_one(tmp_path):
    paper = Paper(title="plum", blocks=BLOCKS)
    path, _ = save_paper([paper, paper], tmp_path / "sheet.pdf")
    assert path.read_bytes().startswith(b"%PDF")
    with pytest.raises(InputError, match=r"2 pages; a file ending in \.pdf holds them"):
        save_paper([paper, paper], tmp_path / "sheet.png")
    assert not (tmp_path / "sheet.png").exists()


def test_letters_that_no_font_has_are_named():
    assert draw_paper(Paper(title="梅", blocks=()))[1] in ("", "梅")


def test_an_address_becomes_a_code():
    pytest.importorskip("segno")
    (page,), _ = draw_paper(Paper(title="plum", blocks=(), link="http://192.0.2.1:8080/k/abc"))
    assert len(page.artists) > 150  # its dots


def test_a_table_as_wide_as_the_page_stands_below_the_code():
    pytest.importorskip("segno")
    table = Grid(("jar", "left"), (("plum", "6"),), (1, 2))
    paper = Paper(title="All jars", blocks=(table,), link="http://192.0.2.1:8080/")
    (page,), _ = draw_paper(paper)
    boxes = [box.get_window_extent() for box in page.artists]
    dot = min(box.width for box in boxes)
    dots = [box for box in boxes if box.width < 2.0 * dot]
    cells = [box for box in boxes if box.width > 10.0 * dot]
    assert dots
    assert cells
    assert max(box.y1 for box in cells) <= min(box.y0 for box in dots)
