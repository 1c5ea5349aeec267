"""What a label says, and how it is drawn."""

from datetime import date
from itertools import pairwise

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from bubblerate.course.label import Label, as_lines, finings_in, label
from bubblerate.course.standing import standing
from bubblerate.diary.settings import Hydrometer, VesselSettings
from bubblerate.errors import InputError
from bubblerate.physics.alcohol import abv_from_sg
from bubblerate.show.pictures import fonts as lettering
from bubblerate.show.pictures.fonts import fonts_for
from bubblerate.show.pictures.label import draw_label, save_label

from scenes import diary, evening

PITCHED = {"day": 0, "event": "pitched", "sg": 1.085, "litres": 4.5}
BOTTLED = {"day": 60, "event": "bottled", "litres": 4.0}
DRY = {"day": 40, "event": "sampled", "sg": 0.996}

FULL = Label(
    name="quince",
    year=2026,
    style="plum wine",
    litres=4.0,
    abv_pct=11.7,
    bottled_on=date(2026, 11, 30),
    drink_from=date(2027, 5, 30),
    best_by=date(2028, 11, 30),
    contains=("sulphite", "fish"),
    doubtful=(),
)


def made(*rows, known=None, vessel="fig"):
    known = known if known is not None else VesselSettings()
    stands = standing(diary(*rows, vessel=vessel), on=evening(70).date(), known=known)
    return label(stands, known=known, hydrometer=Hydrometer())


def named(name):
    return Label(**{**{f: getattr(FULL, f) for f in FULL.__slots__}, "name": name})


# --- what it says --------------------------------------------------------------------------------


def test_a_label_gathers_what_the_diary_knows():
    rows = [PITCHED, DRY, {"day": 41, "event": "fined", "note": "isinglass"}]
    rows += [{"day": 45, "event": "sulphited"}, BOTTLED]
    found = made(*rows, known=VesselSettings(style="cider", best_by_months=24))
    assert (found.name, found.year, found.style, found.litres) == ("fig", 2026, "cider", 4.0)
    assert found.abv_pct == pytest.approx(abv_from_sg(1.085, 0.996))
    assert (found.bottled_on, found.drink_from) == (date(2026, 11, 30), date(2027, 2, 28))
    assert found.best_by == date(2028, 11, 30)
    assert found.contains == ("sulphite", "fish")


def test_the_text_of_a_label():
    assert as_lines(FULL, width=60) == [
        "2026, plum wine",
        "Strength about 12 % vol (an estimate)",
        "Batch of 4.0 L (0.88 UK gal, 1.06 US gal)",
        "Bottled 30 Nov 2026",
        "Drink from May 2027",
        "Best by Nov 2028",
        "Contains sulphite, fish",
    ]


def test_what_is_not_known_is_not_made_up():
    found = made({"day": 0, "bubbles": 3})
    assert as_lines(found, width=60) == ["2026", "Strength not known", "Not bottled yet"]


@pytest.mark.parametrize(
    "rows",
    [
        [PITCHED],  # nothing read since
        [{"day": 0, "event": "pitched"}, DRY],  # no start
        [{"day": 5, "sg": 1.040}, {"day": 6, "sg": 1.050}],  # the start was not the highest
        [PITCHED, {"day": 9, "event": "fed"}, DRY],  # sugar that no reading shows
        [{"day": 0, "event": "pitched", "sg": 1.200}, DRY],  # no must
    ],
)
def test_the_strength_is_not_guessed(rows):
    assert made(*rows).abv_pct is None


def test_topping_up_with_wine_does_not_hide_the_start():
    topped = {"day": 20, "event": "topped-up"}
    assert made(PITCHED, topped, DRY).abv_pct == made(PITCHED, DRY).abv_pct


# Common practice, no source, and the allergens of EU 1169/2011, annex II (from memory).
@pytest.mark.parametrize(
    ("notes", "contains", "doubtful"),
    [
        (["Egg white, one"], ("egg",), ()),
        (["isinglass"], ("fish",), ()),
        (["silica then chitosan"], ("shellfish",), ()),
        (["two-part finings"], ("shellfish",), ()),
        (["casein"], ("milk",), ()),
        (["gelatine 2 g", "Bentonite"], ("gelatine",), ()),
        (["bentonite", "pectic enzyme"], (), ()),
        (["milk and isinglass", "fish"], ("milk", "fish"), ()),
        (["Auntie's powder"], (), ("Auntie's powder",)),
        (["", ""], (), ("not noted which",)),
        (["y" * 70], (), ("y" * 57 + "...",)),
        ([], (), ()),
    ],
)
def test_finings_are_known_by_the_note_of_their_row(notes, contains, doubtful):
    assert finings_in(notes) == (contains, doubtful)


def test_a_fining_that_is_not_known_is_said_to_be_so():
    text = "\n".join(as_lines(made(PITCHED, {"day": 9, "event": "fined"}), width=80))
    assert "Allergens not known: finings not noted which" in text


# --- how it is drawn -----------------------------------------------------------------------------

LONG = "The very long name of a quince and medlar melomel from the end tree by the wall 2"
NAMES = ["quince", LONG, "x" * 80, "W" * 80, "Айва из сада бабушки", "Κυδώνι του κήπου", "a $5$ _b"]


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
    path, lacking = save_label(FULL, tmp_path / f"label.{suffix}")
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
        save_label(FULL, tmp_path / name)
