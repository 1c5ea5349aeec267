"""What a label says."""

from datetime import date

import pytest

from bubblerate.course.label import finings_in, label_of
from bubblerate.diary.outcomes import Opened
from bubblerate.diary.settings import Settings, VesselSettings
from bubblerate.physics.alcohol import abv_from_sg

from scenes import diary, evening

PITCHED = {"day": 0, "event": "pitched", "sg": 1.085, "litres": 4.5}
BOTTLED = {"day": 60, "event": "bottled", "litres": 4.0}
DRY = {"day": 40, "event": "sampled", "sg": 0.996}


def made(*rows, known=None, vessel="fig", others=(), title=""):
    said = Settings(vessels={vessel: known if known is not None else VesselSettings()})
    jar = Opened(diary(*rows, vessel=vessel), said, ())
    others = {other.diary.vessel: other for other in others}
    return label_of(jar, at=evening(99), of=others.get, title=title)


def test_a_label_says_if_the_verdict_says_stop():
    gushed = {"day": 70, "event": "gushed"}
    opened = {"day": 71, "event": "poured-back", "litres": 3.5}
    whole = BOTTLED | {"litres": None}
    assert made(PITCHED, DRY, whole, gushed).may_burst
    assert not made(PITCHED, DRY, whole, gushed, opened).may_burst


# --- what it says --------------------------------------------------------------------------------


def test_a_label_gathers_what_the_diary_knows():
    rows = [PITCHED, DRY, {"day": 41, "event": "fined", "note": "isinglass"}]
    rows += [{"day": 44, "bubbles": 3}, {"day": 45, "event": "sulphited"}, BOTTLED]
    found = made(*rows, known=VesselSettings(style="cider", best_by_months=24))
    assert (found.name, found.year, found.style, found.litres) == ("fig", 2026, "cider", 4.0)
    assert found.abv_pct.middle == pytest.approx(abv_from_sg(1.085, 0.996))
    assert (found.bottled_on, found.drink_from) == (date(2026, 11, 30), date(2027, 2, 28))
    assert found.best_by == date(2028, 11, 30)
    assert found.contains == ("sulphite", "fish")


@pytest.mark.parametrize(
    "rows",
    [
        [{"day": 0, "event": "pitched"}],
        [{"day": 0, "event": "pitched", "sg": 1.200}],  # no must
    ],
)
def test_the_strength_is_not_known_where_nothing_tells_of_it(rows):
    assert made(*rows, DRY).abv_pct is not None
    assert made(rows[0] | {"sg": None}).abv_pct is None


def test_the_strength_of_a_start_that_was_not_read_has_a_wide_range():
    low, middle, high = made({"day": 0, "event": "pitched"}, DRY).abv_pct
    assert high - low > 1.5
    assert low < middle < high


def test_topping_up_with_wine_does_not_hide_the_start():
    topped = {"day": 20, "event": "topped-up"}
    plain, full = made(PITCHED, DRY).abv_pct, made(PITCHED, topped, DRY).abv_pct
    assert full.middle == pytest.approx(plain.middle)


def test_what_the_wine_of_another_jar_holds_the_label_names():
    other = diary(PITCHED, {"day": 30, "event": "fined", "note": "isinglass"}, vessel="spare")
    topped = {"day": 35, "event": "topped-up", "added_l": 0.3, "other": "spare"}
    late = diary(PITCHED, {"day": 36, "event": "fined", "note": "egg"}, vessel="spare")
    jars = [Opened(one, Settings(), ()) for one in (other, late)]
    assert made(PITCHED, topped, DRY, others=jars[:1]).contains == ("fish",)
    assert made(PITCHED, topped, DRY, others=jars[1:]).contains == ()  # fined after it was poured


def test_two_part_finings_without_a_note_are_known_by_their_kind():
    row = {"day": 41, "event": "fined-two-part"}
    assert made(PITCHED, DRY, row).contains == ("shellfish",)


def test_finings_without_a_note_may_be_anything():
    found = made(PITCHED, DRY, {"day": 41, "event": "fined"})
    assert (found.contains, found.doubtful) == ((), ("unnamed finings",))


@pytest.mark.parametrize("event", ["sulphited", "stabilised"])
def test_whatever_brings_sulphite_is_named(event):
    assert made(PITCHED, DRY, {"day": 45, "event": event}).contains == ("sulphite",)


def test_a_note_beside_another_act_names_no_finings():
    row = {"day": 45, "event": "racked", "note": "as white as milk, egg on my shoe"}
    found = made(PITCHED, DRY, row)
    assert (found.contains, found.doubtful) == ((), ())


# By hand: 5 of 75 cl and 1 of 50 cl are 4.25 L; 3 of 33 cl more are 0.99.
@pytest.mark.parametrize(
    ("fillings", "litres"),
    [(["5x75+1x50"], 4.25), (["5x75+1x50", "3x33"], 5.24), ([], 4.5)],
)
def test_the_litres_are_those_of_the_bottles_filled(fillings, litres):
    rows = [
        {"day": 60 + day, "event": "bottled", "bottles": bottles}
        for day, bottles in enumerate(fillings)
    ]
    assert made(PITCHED, DRY, *rows).litres == pytest.approx(litres)


def test_a_jar_without_a_row_has_no_year():
    assert made().year is None


def test_a_title_goes_before_the_name_of_the_jar():
    assert made(PITCHED, title="Plum, north wall").name == "Plum, north wall"


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
        (["", ""], (), ("unnamed finings",)),
        (["y" * 60], (), ("y" * 60,)),
        (["y" * 61], (), ("y" * 57 + "...",)),
        (["whites: albumen", "albumin"], ("egg",), ()),
        (["milk powder"], ("milk",), ()),
        (["whey"], ("milk",), ()),
        (["fish glue"], ("fish",), ()),
        (["of shellfish"], ("shellfish",), ()),
        (["a two part kit"], ("shellfish",), ()),
        (["gelatin"], ("gelatine",), ()),
        (["clay", "silica", "pectin", "an enzyme", "agar"], (), ()),
        ([], (), ()),
    ],
)
def test_finings_are_known_by_the_note_of_their_row(notes, contains, doubtful):
    assert finings_in(notes) == (contains, doubtful)
