"""What a label says."""

from datetime import date

import pytest

from bubblerate.course.label import finings_in, label
from bubblerate.course.standing import standing
from bubblerate.diary.settings import Hydrometer, VesselSettings
from bubblerate.physics.alcohol import abv_from_sg

from scenes import diary

PITCHED = {"day": 0, "event": "pitched", "sg": 1.085, "litres": 4.5}
BOTTLED = {"day": 60, "event": "bottled", "litres": 4.0}
DRY = {"day": 40, "event": "sampled", "sg": 0.996}


def made(*rows, known=None, vessel="fig"):
    known = known if known is not None else VesselSettings()
    stands = standing(diary(*rows, vessel=vessel), known=known)
    return label(stands, known=known, hydrometer=Hydrometer())


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
