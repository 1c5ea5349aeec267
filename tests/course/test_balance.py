"""Strength and sugar through feeding, topping up, joining and sweetening: by hand and by tables."""

import pytest

from bubblerate.course.balance import Sweetness, Told, balance, blended, sweetness
from bubblerate.diary.outcomes import Opened
from bubblerate.diary.settings import Settings, VesselSettings
from bubblerate.physics.alcohol import abv_from_sg
from bubblerate.physics.extract import extract_g_per_litre, must_sg
from bubblerate.physics.scales import sg_from_g_per_litre

from scenes import diary, evening

START = {"day": 0, "event": "pitched", "sg": 1.080, "litres": 4.5}
DRY = {"day": 40, "sg": 0.995}
PLAIN = abv_from_sg(1.080, 0.995)


def jar(*rows, vessel="fig", style=None, litres=None):
    said = VesselSettings(style=style, litres=litres)
    return Opened(diary(*rows, vessel=vessel), Settings(vessels={vessel: said}), ())


def held(*rows, others=(), day=99, **more):
    known = {one.diary.vessel: one for one in others}
    return balance(jar(*rows, **more), at=evening(day), of=known.get)


def test_two_readings_give_the_strength_of_the_tables_with_the_error_of_the_stem():
    found = held(START, DRY)
    assert found.abv_pct.middle == pytest.approx(PLAIN)
    assert found.abv_pct.middle == pytest.approx(131 * 0.085, abs=0.4)  # ABV = 131 x drop, (7)
    _, middle, high = found.abv_pct
    assert 0.2 < high - middle < 0.5  # 1.3 points each, 0.13 % vol a point: 0.24 at 80 %
    assert (found.start, found.end, found.unknown) == (Told.READ, Told.READ, ())


# By hand: 4.5 L of 11.3 % and 0.5 L of water are 5 L of 10.2 %.
def test_water_thins_the_wine_by_volume():
    found = held(START, DRY, {"day": 41, "event": "diluted", "added_l": 0.5, "litres": 5.0})
    assert found.abv_pct.middle == pytest.approx(PLAIN * 4.5 / 5.0)
    assert found.sg.middle == pytest.approx(1.0 - 0.005 * 0.9)


# By hand: 4.5 L at 1.080 weigh 4.851 kg; with 0.3 kg that fill 0.186 L, 5.151 kg in 4.686 L: 1.101.
def test_sugar_that_was_fed_ferments_too():
    fed = {"day": 20, "event": "fed", "sugar_g": 300.0, "sg": 1.010}
    found = held(START, fed, DRY)
    assert found.abv_pct.middle == pytest.approx(abv_from_sg(1.101, 0.995), abs=0.15)


def test_the_strength_is_the_same_whenever_the_sugar_came():
    early = held(START, {"day": 2, "event": "fed", "sugar_g": 300.0}, DRY)
    late = held(START, {"day": 30, "sg": 1.0}, {"day": 31, "event": "fed", "sugar_g": 300.0}, DRY)
    assert early.abv_pct.middle == pytest.approx(late.abv_pct.middle, abs=0.1)


def test_sugar_that_was_not_weighed_is_told_by_the_reading_after_it():
    rows = [
        START,
        {"day": 20, "sg": 1.000},
        {"day": 21, "event": "fed"},
        {"day": 21.1, "sg": 1.015},
    ]
    found = held(*rows, DRY)
    weighed = must_sg(abv_from_sg(1.080, 1.000), 1.015)
    assert found.abv_pct.middle == pytest.approx(abv_from_sg(weighed, 0.995), abs=0.01)
    assert found.unknown == ("fed",)


# By hand: (4.5 x 11.3 + 1.5 x 0) / 6.
def test_juice_brings_sugar_and_no_alcohol():
    found = held(START, {"day": 10, "event": "fed", "added_l": 1.5, "litres": 6.0}, DRY)
    low, _, high = found.abv_pct
    assert low < PLAIN * 0.97
    assert high - low > 0.5  # nobody said how sweet the juice was


# By hand: (4.2 x 11.3 + 0.3 x 14.2) / 4.5 = 11.5 % vol.
def test_wine_topped_up_from_a_jar_brings_the_strength_of_that_jar():
    spare = jar(
        {"day": 0, "event": "pitched", "sg": 1.100, "litres": 1.0},
        {"day": 30, "sg": 0.993},
        vessel="spare",
    )
    rows = [START | {"litres": 4.2}, DRY]
    topped = {"day": 41, "event": "topped-up", "added_l": 0.3, "litres": 4.5, "other": "spare"}
    found = held(*rows, topped, others=[spare])
    wanted = (4.2 * PLAIN + 0.3 * abv_from_sg(1.100, 0.993)) / 4.5
    assert found.abv_pct.middle == pytest.approx(wanted, abs=0.01)
    assert held(*rows, topped).unknown == ("spare",)  # its diary is gone: taken as like wine
    assert held(*rows, topped).abv_pct.middle == pytest.approx(PLAIN, abs=0.01)


# By hand: 4.5 L at 0.995 and 9 L at 1.001 are 13.5 L at 0.999.
def test_joined_wines_are_weighed_by_their_litres():
    big = jar(START | {"litres": 9.0}, {"day": 40, "sg": 1.001}, vessel="big")
    found = blended(jar(START, DRY), big, at=evening(99), of=lambda _: None)
    assert found.litres == 13.5
    assert found.sg.middle == pytest.approx(0.999, abs=1e-6)
    wanted = (4.5 * PLAIN + 9.0 * abv_from_sg(1.080, 1.001)) / 13.5
    assert found.abv_pct.middle == pytest.approx(wanted)


def poured_together(one, other):
    return blended(one, other, at=evening(99), of=lambda _: None)


def test_of_two_wines_the_less_sure_tells_what_it_rests_on():
    guessed = jar({"day": 0, "event": "pitched", "litres": 9.0}, DRY, vessel="big")
    unread = jar(START | {"litres": 9.0}, vessel="big")
    for pair in ((jar(START, DRY), guessed), (guessed, jar(START, DRY))):
        assert (poured_together(*pair).start, poured_together(*pair).end) == (Told.USUAL, Told.READ)
    for pair in ((jar(START, DRY), unread), (unread, jar(START, DRY))):
        assert (poured_together(*pair).start, poured_together(*pair).end) == (Told.READ, Told.USUAL)


def test_two_wines_are_unknown_where_either_is():
    nothing = jar({"day": 0, "event": "pitched"}, vessel="big")
    assert poured_together(nothing, jar(START, DRY)) is None
    assert poured_together(jar(START, DRY), nothing) is None


def test_what_is_not_known_of_either_wine_is_said_of_both():
    fed = {"day": 20, "event": "fed"}
    dosed = {"day": 41, "event": "sulphited"}
    one = jar(START | {"litres": None}, fed, DRY, dosed)
    other = jar(START, {"day": 30, "event": "topped-up"}, DRY, dosed, vessel="big")
    for pair in ((one, other), (other, one)):
        found = poured_together(*pair)
        assert found.litres is None
        assert {*found.unknown} == {"litres", "fed", "topped-up"}
        assert {dose.vessel for dose in found.unweighed} == {"fig", "big"}


def test_a_joined_diary_holds_the_same_as_the_sum():
    big = jar(START | {"litres": 9.0}, {"day": 40, "sg": 1.001}, vessel="big")
    own = jar(START, DRY, vessel="fig")
    rows = [
        *(START, DRY),
        {"day": 50, "event": "joined", "litres": 4.5, "other": "fig"},
        {"day": 50, "event": "joined", "litres": 13.5, "added_l": 9.0, "other": "big"},
    ]
    found = held(*rows, others=[big, own], vessel="new")
    wanted = blended(own, big, at=evening(99), of=lambda _: None)
    assert found.abv_pct.middle == pytest.approx(wanted.abv_pct.middle)
    assert found.sg.middle == pytest.approx(wanted.sg.middle)


# --- where the start was never read --------------------------------------------------------------


# By hand: 1000 g in 4.5 L are 222 g/L, with 10 to 60 g/L of fruit 257 g/L: SG 1.098.
def test_the_sugar_of_the_recipe_stands_in_for_the_start():
    found = held({"day": 0, "event": "pitched", "sugar_g": 1000.0, "litres": 4.5}, DRY)
    assert found.start is Told.RECIPE
    wanted = abv_from_sg(sg_from_g_per_litre(1000.0 / 4.5 + 35.0), 0.995)
    assert found.abv_pct.middle == pytest.approx(wanted)
    assert found.abv_pct.low < wanted - 0.5 < wanted + 0.5 < found.abv_pct.high


# By hand: 10 a minute for 20 days are 288 000 bubbles, at 1 mL 288 L: in 4.5 L, at 0.56 L of gas a
# point and litre, 115 points.
def test_all_bubbles_stand_in_where_no_recipe_does():
    rows = [{"day": d, "bubbles": 10, "seconds": 60.0} for d in range(21)]
    found = held({"day": 0, "event": "pitched", "litres": 4.5}, *rows, DRY | {"day": 20.5})
    assert found.start is Told.BUBBLES
    assert found.abv_pct.middle == pytest.approx(abv_from_sg(0.995 + 0.1146, 0.995), abs=0.2)
    assert found.abv_pct.high - found.abv_pct.low > 4.0  # a bubble is 0.64 to 1.7 mL


@pytest.mark.parametrize(
    ("style", "low", "high"), [("cider", 5.0, 9.0), ("mead", 10.0, 17.5), (None, 9.0, 14.0)]
)
def test_else_what_is_usual_of_the_style_and_never_not_known(style, low, high):
    found = held({"day": 0, "event": "pitched", "litres": 4.5}, DRY, style=style)
    assert found.start is Told.USUAL
    assert low < found.abv_pct.low < found.abv_pct.high < high


def test_where_neither_gravity_nor_bubbles_nor_sugar_is_noted_nothing_is_said():
    assert held({"day": 0, "event": "pitched", "litres": 4.5}) is None


# --- sugar ---------------------------------------------------------------------------------------


# Density classes of the EU methods of wine analysis, table wine of 10 to 13 % vol: under 0.997 dry,
# 0.997 to 1.005 is 5 to 25 g/L, 1.005 to 1.038 is 25 to 125 g/L.
@pytest.mark.parametrize(("sg", "low", "high"), [(0.992, 0, 8), (1.001, 5, 30), (1.020, 60, 90)])
def test_sugar_left_agrees_with_the_published_classes_of_density(sg, low, high):
    sugar = held(START | {"sg": 1.090}, DRY | {"sg": sg}).sugar_g_per_litre
    assert low <= sugar.middle <= high


# Common practice, no source: 15 to 30 g/L of the extract are no sugar; four parts in five of that
# are 12 g/L wide, and the readings add some.
def test_acids_glycerol_and_minerals_are_no_sugar():
    found = held(START | {"sg": 1.110}, DRY | {"sg": 1.030})
    low, middle, high = found.sugar_g_per_litre
    assert middle == pytest.approx(extract_g_per_litre(found.abv_pct.middle, 1.030) - 22.5)
    assert 12.0 < high - low < 20.0


# By hand: 4.5 L and 168 g of sugar: 36 g/L more.
def test_sweetening_shows_in_the_sugar_and_not_in_the_strength():
    rows = [START, DRY, {"day": 41, "event": "stabilised"}]
    before = held(*rows)
    after = held(*rows, {"day": 42, "event": "sweetened", "sugar_g": 168.0})
    gained = after.sugar_g_per_litre.middle - before.sugar_g_per_litre.middle
    assert gained == pytest.approx(168.0 / 4.6, abs=1.0)
    assert after.abv_pct.middle == pytest.approx(before.abv_pct.middle, rel=0.03)


# By hand: 900 g of sugar fill 0.555 L, so 4.5 L of 0.995, 4.469 kg, are 5.055 L of 5.369 kg, 1.064,
# with 178 g/L more, and the alcohol is thinned by as much. Such must would be beyond the tables.
@pytest.mark.parametrize("event", ["sweetened", "fed"])
def test_a_strong_wine_may_be_as_sweet_as_a_liqueur(event):
    rows = [START | {"sg": 1.150}, DRY, {"day": 50, "event": event, "sugar_g": 900.0}]
    found = held(*rows, {"day": 51, "sg": 1.064})
    assert found.abv_pct.middle == pytest.approx(abv_from_sg(1.150, 0.995) * 4.5 / 5.055, abs=0.1)
    was = held(*rows[:2]).sugar_g_per_litre.middle
    assert found.sugar_g_per_litre.middle == pytest.approx(was * 4.5 / 5.055 + 178.0, abs=2.0)


# No wine, but what a slip of the finger makes of one: as doubtful as it is, something is said.
@pytest.mark.parametrize(
    "rows",
    [
        [START | {"sg": 1.300}, {"day": 40, "sg": 1.300}],
        [START, {"day": 40, "sg": 1.250}, {"day": 41, "event": "sweetened", "sugar_g": 900.0}],
        [START, {"day": 40, "sg": 1.300}, {"day": 41, "event": "fed", "sugar_g": 2000.0}],
        [START, {"day": 40, "sg": 0.700}, {"day": 41, "event": "diluted", "added_l": 4.0}],
        [START, {"day": 40, "sg": 1.300}, {"day": 41, "event": "topped-up", "added_l": 1.0}],
    ],
)
def test_a_gravity_that_no_wine_has_ends_in_an_answer(rows):
    found = held(*rows)
    for low, middle, high in (found.abv_pct, found.sg, found.sugar_g_per_litre):
        assert 0.0 <= low <= middle <= high < 1000.0


# OIV, International Code of Oenological Practices I.3.2 (without its clause on acid).
@pytest.mark.parametrize(
    ("grams", "word"),
    [
        (4.0, Sweetness.DRY),
        (4.1, Sweetness.MEDIUM_DRY),
        (12.0, Sweetness.MEDIUM_DRY),
        (45.0, Sweetness.SEMI_SWEET),
        (46.0, Sweetness.SWEET),
    ],
)
def test_the_words_for_sweetness_are_those_of_the_code(grams, word):
    assert sweetness(grams) is word


def test_the_same_diary_gives_the_same_range():
    assert held(START, DRY) == held(START, DRY)


# --- sulphite and sorbate ------------------------------------------------------------------------

# A tablet of 0.44 g holds 0.44 x 2 x 64.064 / 222.32 = 0.2536 g of SO2: 56 mg/L in 4.5 L, as the
# "one tablet to a gallon, 50 to 75 ppm" of common practice has it (no source).
TABLET = {"day": 41, "event": "sulphited", "sulphite_g": 0.44}


def test_a_tablet_is_so_much_sulphur_dioxide_within_what_a_tablet_may_weigh():
    low, middle, high = held(START, DRY, TABLET).so2_mg_per_litre
    assert middle == pytest.approx(253.6 / 4.5, abs=0.1)
    assert 0.8 * middle < low < middle < high < 1.25 * middle


# By hand: 4.5 L at 56.4 mg/L and 9 L without any are 13.5 L at 18.8; from 2.25 L of it and 2.25 L
# of water 28.2; a second tablet into 4.5 L comes on top.
def test_doses_go_along_by_volume():
    big = jar(START | {"litres": 9.0}, {"day": 40, "sg": 1.001}, vessel="big")
    joined = blended(jar(START, DRY, TABLET), big, at=evening(99), of=lambda _: None)
    assert joined.so2_mg_per_litre.middle == pytest.approx(18.8, abs=0.1)
    assert joined.unweighed == ()
    parted = {"day": 42, "event": "split", "litres": 2.25, "other": "fig-2"}
    assert held(START, DRY, TABLET, parted).so2_mg_per_litre.middle == pytest.approx(56.4, abs=0.1)
    water = {"day": 43, "event": "diluted", "added_l": 2.25, "litres": 4.5}
    found = held(START, DRY, TABLET, parted, water, TABLET | {"day": 44})
    assert found.so2_mg_per_litre.middle == pytest.approx(28.2 + 56.4, abs=0.2)


# By hand: 4.2 L at 60.4 mg/L and 0.3 L at 253.6 are 4.5 L at 73.3.
def test_a_spare_brings_its_doses_along():
    spare = jar(START | {"litres": 1.0}, {"day": 30, "sg": 0.993}, TABLET, vessel="spare")
    rows = [START | {"litres": 4.2}, DRY, TABLET]
    topped = {"day": 42, "event": "topped-up", "added_l": 0.3, "litres": 4.5, "other": "spare"}
    found = held(*rows, topped, others=[spare])
    assert found.so2_mg_per_litre.middle == pytest.approx((4.2 * 60.4 + 0.3 * 253.6) / 4.5, abs=0.1)
    # of nobody knows where: between none and as much, and that is said
    unknown = held(*rows, topped)
    assert unknown.unknown == ("spare",)
    assert unknown.so2_mg_per_litre.middle == pytest.approx(60.4 * (4.2 + 0.15) / 4.5, abs=0.2)


# By hand: 1 g of the salt is 0.7464 g of sorbic acid, 166 mg/L in 4.5 L.
def test_sorbate_is_weighed_and_what_nobody_weighed_is_named():
    both = {"day": 41, "event": "stabilised", "sorbate_g": 1.0}
    found = held(START, DRY, both, {"day": 50, "event": "sulphited"})
    assert found.sorbic_mg_per_litre.middle == pytest.approx(165.9, abs=0.3)
    assert found.so2_mg_per_litre == (0.0, 0.0, 0.0)
    assert [(dose.what, dose.on.day) for dose in found.unweighed] == [
        ("sulphite", evening(41).day),
        ("sulphite", evening(50).day),
    ]
